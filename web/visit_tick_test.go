package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// TestTicksStayWithTheVisit: steps of the checklist are ticked on the form of a
// hive, with its boxes or alone, or on the visit's page; who ticked them and when
// stands on both, and on paper.
func TestTicksStayWithTheVisit(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	h, box := c.boxNamed("Q13")
	visit := visitPath(v.UID)
	path := visit + "/record"
	ansel, brida := c.as("Ansel"), c.as("Brida")
	hive := func(step scheduler.Step) string { return "hive/" + itoa(h.ID) + "/" + string(step) }
	lid, brood, outside := hive(scheduler.StepLid), hive(scheduler.StepBrood), "apiary/"+string(scheduler.StepOutside)
	ticks := func() (out []scheduler.Step) {
		for _, t := range c.visitByUID(v.UID).Ticks {
			out = append(out, t.Step)
		}
		return out
	}
	stands := func(want ...scheduler.Step) {
		t.Helper()
		if got := ticks(); !slices.Equal(got, want) {
			t.Errorf("ticked %v, want %v", got, want)
		}
	}

	ansel.get(path+"?hive="+itoa(h.ID)).says(http.StatusOK, "Checklist:", "0 done").holds(`name="tick" value="` + lid + `">`)
	form := fields("hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString(), "was", "", "tick", lid)
	for range 2 { // taps
		ansel.follow(path, form).says(http.StatusOK, "1 done", "Ticked by Ansel").holds(`value="` + lid + `" checked`)
	}
	stands(scheduler.StepLid)
	if got := c.visitByUID(v.UID).Ticks[0]; got.HiveID != h.ID || got.By != c.member["Ansel"] || got.On != today {
		t.Errorf("ticked %+v", got)
	}

	// A form that cannot be saved keeps the ticks in it, and saves none.
	form = fields("hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString(), "was", lid, "tick", brood, fieldsOf(box.ID)+"note", "sticky")
	got := brida.post(path, form).says(http.StatusUnprocessableEntity, "Not saved yet.").holds(`value="` + brood + `" checked`)
	if got.field("was") != lid || strings.Contains(got.body, `value="`+lid+`" checked`) {
		t.Error("the ticks did not come back as they were")
	}
	stands(scheduler.StepLid)
	// With the box it goes in; the lid is taken back by the same form.
	form.Set(fieldsOf(box.ID)+"joint", "1")
	brida.follow(path, form).says(http.StatusOK, "Ticked by Brida").hides("Ticked by Ansel")
	stands(scheduler.StepBrood)
	if _, b := c.boxNamed("Q13"); b.OpeningOn(today) == nil {
		t.Error("the box was not recorded")
	}

	// On the visit's page, of what another ticked since nothing is taken back.
	brida.follow(path, fields("hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString(), "was", brood, "tick", brood, "tick", lid))
	both := fields("on", today.String(), "base", uuid.NewString(), "was", brood)
	both["tick"] = []string{brood, outside, "hive/" + itoa(h.ID) + "/box/" + itoa(box.ID) + "/" + string(scheduler.StepScrape)}
	ansel.follow(visit, both).says(http.StatusOK, "Ticked by Ansel", "Ticked by Brida").holds(`value="` + outside + `" checked`)
	stands(scheduler.StepOutside, scheduler.StepBrood, scheduler.StepLid, scheduler.StepScrape)
	if paper := ansel.get(visit + "/sheet").says(http.StatusOK); strings.Count(paper.body, "tickbox on") != 3 {
		t.Errorf("%d ticks on paper, want 3", strings.Count(paper.body, "tickbox on"))
	}

	for name, key := range map[string]string{
		"a hive of another apiary": "hive/999999/lid", "no step": "hive/" + itoa(h.ID) + "/dance", "no place": "lid", "a box that is gone": "hive/1/box/999999/joint",
	} {
		brida.post(visit, fields("on", today.String(), "was", "", "tick", key)).says(http.StatusConflict, "not here any more")
		if len(ticks()) != 4 {
			t.Errorf("%s: ticked %v", name, ticks())
		}
	}
	brida.post(visit, fields("on", today.String(), "was", "", "who", itoa(c.member["Ansel"]), "tick", hive(scheduler.StepClose))).says(http.StatusForbidden)

	// The phone's queue of earlier builds says nothing of ticks: they stay.
	_, other := c.boxNamed("Q12")
	brida.follow(path, fields("hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString(), "late", "yes", fieldsOf(other.ID)+"joint", "1")).says(http.StatusOK)
	stands(scheduler.StepOutside, scheduler.StepBrood, scheduler.StepLid, scheduler.StepScrape)
}

// tickWithoutSignal ticks a step on the form of a hive, with no box of it and no
// signal: it waits on the phone as records do, and arrives.
func tickWithoutSignal(t *testing.T, browser context.Context) {
	c := serveClub(t)
	v := c.visit("Quarry")
	h, _ := c.boxNamed("Q13")
	b := c.open(t, browser, "Brida")
	b.goTo(visitPath(v.UID) + "/record?hive=" + itoa(h.ID))
	c.line.noSignal.Store(true)
	b.tap("details.checklist > summary")
	b.tap(fmt.Sprintf("input[name=tick][value='hive/%d/lid']", h.ID))
	b.tap(".save-bar button")
	b.shows("1 record waits on this phone to be sent")
	b.shows("1 step ticked")
	if got := c.visitByUID(v.UID).Ticks; len(got) != 0 {
		t.Fatalf("sent without a signal: %+v", got)
	}
	c.line.noSignal.Store(false)
	b.sendNow()
	b.until(`document.querySelector("input[name=tick]:checked") && !document.getElementById("waiting")`)
	if got := c.visitByUID(v.UID).Ticks; len(got) != 1 || got[0].Step != scheduler.StepLid || got[0].HiveID != h.ID || got[0].By != c.member["Brida"] {
		t.Errorf("ticked %+v", got)
	}
}
