package web

import (
	"net/http"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// TestRecordedTodayByYou: what one recorded within a day stands on home and on
// the visit, and goes with one tap; the records keep it, and the plan follows.
func TestRecordedTodayByYou(t *testing.T) {
	t.Parallel()
	c, v := serveClub(t).stacks(2)
	b := c.as("Edda")
	b.get("/").says(http.StatusOK).hides("Recorded today by you")
	h, box := c.boxNamed("S12")
	b.follow("/hive/"+itoa(h.ID)+"/record", recordForm(box, uuid.NewString(), "joint", "2"))
	_, box = c.boxNamed("S12")
	o := box.OpeningOn(today)
	if o == nil {
		t.Fatal("nothing is recorded")
	}
	b.get("/").says(http.StatusOK, "Recorded today by you: 1 box", "S12 of Sandpit hive 1", "firm")
	b.get(visitPath(v.UID)).says(http.StatusOK, "Recorded today by you: 1 box")

	form := fields("box", itoa(box.ID), "opening", o.ID, "then", v.UID, "sure", "yes")
	path := "/hive/" + itoa(h.ID) + "/take-back"
	for range 2 { // taps
		b.follow(path, form).says(http.StatusOK, "Taken back: S12 of Sandpit hive 1").hides("Recorded today by you")
	}
	_, box = c.boxNamed("S12")
	last := box.Openings[len(box.Openings)-1]
	if box.OpeningOn(today) != nil || len(box.Openings) != 3 || !last.Void || last.Supersedes != o.ID || last.By != o.By {
		t.Errorf("%d openings, the last %+v", len(box.Openings), last)
	}
	planned := false
	for _, open := range c.club().Visits {
		for _, vb := range open.Boxes {
			planned = planned || open.Status.Open() && vb.BoxID == box.ID && open.On == v.On
		}
	}
	if !planned {
		t.Errorf("the visit of %s does not open the box again", v.On)
	}
}

// TestTakeBackFromAStaleTab says what is true by then, and takes nothing back
// that is another's.
func TestTakeBackFromAStaleTab(t *testing.T) {
	t.Parallel()
	c, _ := serveClub(t).partlyDone()
	h, box := c.boxNamed("G2")
	o := c.openedOn("G2", today-1)
	path, form := "/hive/"+itoa(h.ID)+"/take-back", fields("box", itoa(box.ID), "opening", o.ID, "sure", "yes")
	c.as("Falk").post(path, form).says(http.StatusForbidden)
	correct := recordForm(box, uuid.NewString(), "joint", "1")
	correct.Set("on", (today - 1).String())
	correct.Set("supersedes", o.ID)
	c.as("Edda").follow("/hive/"+itoa(h.ID)+"/record", correct)
	c.as("Edda").post(path, form).says(http.StatusConflict, "corrected")
	if now := c.openedOn("G2", today-1); now == nil || now.Difficulty() != scheduler.Light {
		t.Errorf("stands: %+v", now)
	}
	c.as("Edda").post(path, fields("box", itoa(box.ID), "opening", uuid.NewString())).says(http.StatusNotFound)
}
