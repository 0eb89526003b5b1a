package web

import (
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/uuid"

	"pryday/notify"
	"pryday/scheduler"
)

// atOnce posts the form of each phone at the same time.
func (c *testClub) atOnce(path string, phones []*browser, form func(phone int) url.Values) []*answer {
	got := make([]*answer, len(phones))
	begin := make(chan struct{})
	var all sync.WaitGroup
	for i, b := range phones {
		all.Go(func() {
			<-begin
			got[i] = b.post(path, form(i))
		})
	}
	close(begin)
	all.Wait()
	return got
}

func (c *testClub) phones(names ...string) (out []*browser) {
	for _, name := range names {
		out = append(out, c.as(name))
	}
	return out
}

func TestTwoPhonesRecordABoxAtOnce(t *testing.T) {
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	path := "/hive/" + itoa(h.ID) + "/record"
	phones := c.phones("Ansel", "Brida", "Corin")
	joints := []string{"1", "2", "3"}
	form := func(i int) url.Values { return recordForm(box, uuid.NewString(), "joint", joints[i]) }
	saved, asked := 0, 0
	for _, got := range c.atOnce(path, phones, form) {
		switch got.status {
		case http.StatusSeeOther:
			saved++
		default:
			asked++
			got.says(http.StatusUnprocessableEntity, "recorded for this day already")
			// Who is asked answers about the opening that stands.
			if _, box := c.boxNamed("Q13"); got.field("supersedes") != box.OpeningOn(today).ID {
				t.Error("the question is not about the opening that stands")
			}
		}
	}
	_, box = c.boxNamed("Q13")
	if saved != 1 || asked != 2 || len(box.Openings) != 2 {
		t.Errorf("%d saved, %d asked, %d openings", saved, asked, len(box.Openings))
	}
}

func TestTwoPhonesRecordAHiveAtOnce(t *testing.T) {
	c := serveClub(t)
	h, _ := c.boxNamed("Q13")
	path := "/hive/" + itoa(h.ID) + "/record"
	form := func(int) url.Values {
		return fields("whole", "yes", "hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString(), "scraped", "all")
	}
	for _, got := range c.atOnce(path, c.phones("Ansel", "Brida", "Corin"), form) {
		got.says(http.StatusSeeOther)
	}
	for _, box := range c.club().Apiary(c.visit("Quarry").ApiaryID).Hive(h.ID).Boxes {
		if n := len(box.Openings); n != 2 {
			t.Errorf("%s has %d openings, want 2", box.Name, n)
		}
	}
}

func TestCorrectingWhatWasCorrectedMeanwhile(t *testing.T) {
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	path := "/hive/" + itoa(h.ID) + "/record"
	a, b := c.as("Ansel"), c.as("Brida")
	b.follow(path, recordForm(box, uuid.NewString()))
	seen := a.get(path).field("supersedes") // by both
	correct := func(pairs ...string) url.Values {
		return recordForm(box, uuid.NewString(), append([]string{"supersedes", seen, "sure", "yes"}, pairs...)...)
	}
	stands := func(rows int, joint scheduler.Difficulty) {
		t.Helper()
		_, box := c.boxNamed("Q13")
		if o := box.OpeningOn(today); len(box.Openings) != rows || o == nil || o.Joint != joint {
			t.Errorf("%d openings, and %+v stands", len(box.Openings), o)
		}
	}
	a.follow(path, correct("joint", "3")).says(http.StatusOK, "Saved.")
	stands(3, scheduler.Hard)
	b.post(path, correct("joint", "1")).says(http.StatusConflict, "Somebody corrected this opening before you")
	stands(3, scheduler.Hard)
	b.follow(path, correct("joint", "3")).says(http.StatusOK, "Saved.") // as it stands by now
	stands(3, scheduler.Hard)

	seen = a.get(path).field("supersedes")
	a.follow(path, correct("void", "yes"))
	b.post(path, correct("joint", "1")).says(http.StatusConflict, "Somebody took this opening back before you")
	b.follow(path, correct("void", "yes")) // as both meant it
	if _, box := c.boxNamed("Q13"); box.OpeningOn(today) != nil || len(box.Openings) != 4 {
		t.Errorf("%d openings, and %+v stands", len(box.Openings), box.OpeningOn(today))
	}
}

// TestSavedIsToldOnce: what was due before is told by the next page alone, and
// stands in no address.
func TestSavedIsToldOnce(t *testing.T) {
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	path := "/hive/" + itoa(h.ID) + "/record"
	b := c.as("Brida")
	to := func(got *answer, status int) string {
		t.Helper()
		got.says(status)
		to := mustURL(t, got.header.Get("Location"))
		if keys := slices.Sorted(maps.Keys(to.Query())); !slices.Equal(keys, []string{"hive", "on"}) || to.Fragment != "box-"+itoa(box.ID) {
			t.Errorf("led to %s", to)
		}
		return to.String()
	}
	form := recordForm(box, uuid.NewString())
	next := to(b.post(path, form), http.StatusSeeOther)
	to(b.post(path, form), http.StatusSeeOther) // a second arrival takes nothing away
	b.get(next).says(http.StatusOK, "Saved. Next to be opened by", "until now: by")
	b.get(next).says(http.StatusOK, "two to four corners").hides("Saved.", "until now: by")

	// A script is told where to go instead of being shown a page.
	for _, name := range []string{"Q12", "Q11"} { // two that had waited for a signal
		_, box = c.boxNamed(name)
		minimal := map[string]string{"Prefer": "return=minimal"}
		next = to(b.send("POST", path, recordForm(box, uuid.NewString(), "sure", "yes"), minimal), http.StatusCreated)
	}
	if got := b.get(next).says(http.StatusOK); strings.Count(got.text(), "Saved. Next to be opened by") != 2 {
		t.Errorf("want both boxes told of: %s", got.text())
	}
	// Another day's form does not tell of today's.
	for i, joint := range []string{"1", "3"} {
		_, box = c.boxNamed("Q11")
		got := b.post(path, recordForm(box, uuid.NewString(), "joint", joint, "sure", "yes", "supersedes", box.OpeningOn(today).ID)).says(http.StatusSeeOther)
		if i == 0 {
			b.get(got.header.Get("Location"))
		}
	}
	b.get(path + "?on=" + (today - 3).String()).says(http.StatusOK).hides("Saved.")

	// Whoever comes by a mailed address is told too.
	v := c.visit("Orchard")
	mailed, stranger := c.act(notify.RecordDeed, "Ansel", v), c.stranger()
	_, box = c.boxNamed("O13")
	stranger.follow(mailed, recordForm(box, uuid.NewString())).says(http.StatusOK, "Saved. Next to be opened by", "until now: by")
}
