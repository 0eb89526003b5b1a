package web

import (
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// recordedOf counts the boxes of a hive that are recorded today.
func (c *testClub) recordedOf(hive int64) (n int) {
	for _, a := range c.club().Apiaries {
		if h := a.Hive(hive); h != nil {
			n += len(recordedOn(h, today))
		}
	}
	return n
}

// TestRecordAHive: the answers about all boxes of a hive go in together; where
// one is in doubt nothing is saved, and all comes back as it was filled in.
func TestRecordAHive(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, _ := c.boxNamed("Q13")
	b := c.as("Brida")
	path := "/hive/" + itoa(h.ID) + "/record"
	base := b.get(path).field("base")
	field := func(name, field string) string {
		_, box := c.boxNamed(name)
		return fieldsOf(box.ID) + field
	}
	form := fields("hive", itoa(h.ID), "on", today.String(), "base", base, "scraped", "all",
		field("Q13", "joint"), "2", field("Q12", "joint"), "shut", field("Q12", "note"), "wax at the\nfront", field("Q11", "joint"), "4", field("Q11", "scraped"), "none")

	got := b.post(path, form).says(http.StatusUnprocessableEntity, "Not saved yet.", "Q11 was loose last time", "wax at the")
	if c.recordedOf(h.ID) != 0 {
		t.Error("something was saved of a form in doubt")
	}
	if got.field("base") != base {
		t.Error("the form came back with other ids")
	}
	for _, checked := range []string{field("Q13", "joint") + `" value="2" checked`, field("Q12", "joint") + `" value="shut" checked`, field("Q11", "joint") + `" value="4" checked`, field("Q11", "scraped") + `" value="none" checked`} {
		got.holds(checked)
	}
	form.Set("sure", "yes")
	for range 2 { // taps
		b.follow(path, form).says(http.StatusOK, "Left shut.", "measure its gaps now")
	}
	for name, want := range map[string]scheduler.Opening{
		"Q13": {Joint: scheduler.Firm, Scraped: scheduler.ScrapedAll},
		"Q12": {Joint: scheduler.Stuck, Scraped: scheduler.ScrapedNone, LeftShut: true, Note: "wax at the\nfront"},
		"Q11": {Joint: scheduler.Stuck, Scraped: scheduler.ScrapedNone},
	} {
		want.On, want.Frames = today, scheduler.NotTried
		if _, box := c.boxNamed(name); len(box.Openings) != 2 || !box.OpeningOn(today).SameAnswers(&want) {
			t.Errorf("%s: %+v, want %+v", name, box.OpeningOn(today), want)
		}
	}

	// The back button and another answer: it corrects.
	form.Set(field("Q13", "joint"), "1")
	b.follow(path, form)
	if _, box := c.boxNamed("Q13"); len(box.Openings) != 3 || box.OpeningOn(today).Joint != scheduler.Light {
		t.Errorf("%d openings, and %+v stands", len(box.Openings), box.OpeningOn(today))
	}
}

// Somebody else was faster with one box of the hive: the others are saved, and
// of that one it is asked.
func TestRecordAHiveThatSomebodyBegan(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	path := "/hive/" + itoa(h.ID) + "/record"
	b := c.as("Brida")
	base := b.get(path).field("base")
	c.as("Ansel").follow(path, recordForm(box, uuid.NewString(), "joint", "3", "sure", "yes"))
	_, other := c.boxNamed("Q12")
	form := fields("hive", itoa(h.ID), "on", today.String(), "base", base, fieldsOf(box.ID)+"joint", "2", fieldsOf(other.ID)+"joint", "1")
	got := b.post(path, form).says(http.StatusUnprocessableEntity, "Q13 is recorded for this day already: hard")
	form.Set("sure", "yes")
	form.Set(fieldsOf(box.ID)+"supersedes", got.field(fieldsOf(box.ID)+"supersedes"))
	b.follow(path, form)
	_, box = c.boxNamed("Q13")
	if o := box.OpeningOn(today); o.Joint != scheduler.Firm || o.By != c.member["Brida"] || len(box.Openings) != 3 {
		t.Errorf("%d openings, and %+v stands", len(box.Openings), o)
	}
	// "No trouble" leaves what others recorded as it is.
	c.as("Corin").follow(path, fields("hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString(), "whole", "yes"))
	if _, box = c.boxNamed("Q13"); box.OpeningOn(today).Joint != scheduler.Firm {
		t.Errorf("%+v stands", box.OpeningOn(today))
	}
}

func TestRecordAHiveRefuses(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	elsewhere, _ := c.boxNamed("O13")
	path, of := "/hive/"+itoa(h.ID)+"/record", fieldsOf(box.ID)
	b := c.as("Brida")
	for name, row := range map[string]struct {
		pairs  []string
		status int
		says   string
	}{
		"nothing":                 {nil, http.StatusUnprocessableEntity, "Nothing is chosen"},
		"a note alone":            {[]string{of + "note", "sticky"}, http.StatusUnprocessableEntity, "Say how the joint came open"},
		"frames of a shut box":    {[]string{of + "joint", "shut", of + "frames", "2"}, http.StatusUnprocessableEntity, "has no frames to answer for"},
		"a gap in words":          {[]string{of + "joint", "2", of + "gap-at-0", "entrance", of + "gap-size-0", "a finger"}, http.StatusUnprocessableEntity, "a finger"},
		"another apiary's hive":   {[]string{"hive", itoa(elsewhere.ID), "whole", "yes"}, http.StatusNotFound, "does not exist"},
		"a day that is to come":   {[]string{"on", (today + 1).String(), "whole", "yes"}, http.StatusUnprocessableEntity, "days up to today"},
		"a note beyond the limit": {[]string{of + "joint", "2", of + "note", strings.Repeat("ä", maxNote+1)}, http.StatusUnprocessableEntity, "Not saved yet."},
	} {
		t.Run(name, func(t *testing.T) {
			form := fields("hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString())
			for i := 0; i < len(row.pairs); i += 2 {
				form.Set(row.pairs[i], row.pairs[i+1])
			}
			got := b.post(path, form).says(row.status, row.says)
			if note := form.Get(of + "note"); note != "" {
				got.holds(note) // nothing typed is lost
			}
		})
	}
	if n := c.recordedOf(h.ID); n != 0 {
		t.Errorf("%d boxes are recorded", n)
	}
}
