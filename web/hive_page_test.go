package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"pryday/scheduler"
)

func TestBoxesMoveWithTheirHistory(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	to, _ := c.boxNamed("Q21")
	b := c.as("Brida")
	path := "/hive/" + itoa(h.ID)
	b.get(path).says(http.StatusOK, "Q13", "The chance of a hard opening", "How hard it was", "firm")
	b.get(path+"/change").says(http.StatusOK, "Change Quarry hive 1", "Add a box")

	b.follow(path+"/box-move", fields("box", itoa(box.ID), "to", "hive-"+itoa(to.ID), "where", "bottom", "on", today.String())).says(http.StatusOK, "other hive now")
	now, moved := c.boxNamed("Q13")
	if now.ID != to.ID || now.Boxes[0].ID != moved.ID || len(moved.Openings) != 1 {
		t.Errorf("Q13 stands on %s with %d openings", now.Name, len(moved.Openings))
	}
	b.post(path+"/box-move", fields("box", itoa(box.ID), "to", "store", "on", today.String())).says(http.StatusConflict, "stack has changed")

	back := "/hive/" + itoa(to.ID)
	b.follow(back+"/box-move", fields("box", itoa(box.ID), "to", "lent", "lent_to", "the neighbour", "on", today.String())).says(http.StatusOK, "lent out")
	b.get(path+"/change").says(http.StatusOK, "lent to the neighbour")
	b.follow(path+"/box-back", fields("box", itoa(box.ID), "where", "top", "on", today.String())).says(http.StatusOK, "on the hive")
	b.post(path+"/box-move", fields("box", itoa(box.ID), "to", "retired", "on", today.String())).says(http.StatusUnprocessableEntity, "for good?")
	b.follow(path+"/box-move", fields("box", itoa(box.ID), "to", "retired", "on", today.String(), "sure", "yes")).says(http.StatusOK, "is retired")
	for _, b := range c.club().Spare {
		if b.ID == box.ID && b.RetiredOn != today {
			t.Errorf("retired on %v", b.RetiredOn)
		}
	}
}

func TestStackIsDrawnAnew(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, _ := c.boxNamed("Q11")
	order := stackIDs(h)
	b := c.as("Brida")
	path := "/hive/" + itoa(h.ID)
	slices.Reverse(order)
	v := fields()
	for _, id := range order {
		v.Add("box", itoa(id))
	}
	b.follow(path+"/order", v).says(http.StatusOK, "drawn anew")
	now, _ := c.boxNamed("Q11")
	if !slices.Equal(stackIDs(now), order) {
		t.Errorf("order %v, want %v", stackIDs(now), order)
	}
	v.Del("box")
	v.Add("box", itoa(order[0]))
	b.post(path+"/order", v).says(http.StatusConflict, "stack has changed")

	b.follow(path+"/box-add", fields("name", `R"14" <b>`, "kind", "shallow", "where", "top", "set_up_on", today.String())).says(http.StatusOK, "R&#34;14&#34; &lt;b&gt;")
	b.post(path+"/box-add", fields("name", " ", "kind", "bucket", "set_up_on", "2031-01-01")).says(http.StatusUnprocessableEntity, "must not be empty", "no kind of box", "still to come")
	_, box := c.boxNamed("Q11")
	b.follow(path+"/repaired", fields("box", itoa(box.ID), "on", today.String())).says(http.StatusOK, "Repaired on 1 June 2027")
}

func stackIDs(h *scheduler.Hive) []int64 {
	var ids []int64
	for i := range h.Boxes {
		ids = append(ids, h.Boxes[i].ID)
	}
	return ids
}

func TestLeaveAloneDaysTakeAHiveOut(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, _ := c.boxNamed("Q11")
	b := c.as("Brida")
	path := "/hive/" + itoa(h.ID)
	until := today + 20
	b.post(path+"/leave", fields("from", today.String(), "until", (today-1).String(), "reason", "queen cells")).says(http.StatusUnprocessableEntity, "before the first")
	b.follow(path+"/leave", fields("from", today.String(), "until", until.String(), "reason", "queen cells")).says(http.StatusOK, "Added: leave the hive alone")
	b.get(path).says(http.StatusOK, "Leave alone: queen cells, until 21 June 2027")
	for _, v := range c.club().Visits {
		for _, vb := range v.Boxes {
			if v.Status.Open() && v.On <= until && slices.Contains(stackIDs(h), vb.BoxID) {
				t.Errorf("a box of it is still to be opened on %v", v.On)
			}
		}
	}
	b.follow(path+"/leave", fields("remove", "0", "from", today.String())).says(http.StatusOK, "Taken out")
	b.post(path+"/leave", fields("remove", "0", "from", today.String())).says(http.StatusConflict, "have changed")
}

func TestStandstillHoldsBoxes(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	apiary := c.visit("Quarry").ApiaryID
	b := c.as("Brida")
	b.follow(fmt.Sprintf("/apiary/%d/standstill", apiary), fields("from", today.String(), "reason", "order of the inspector")).says(http.StatusOK, "At a standstill: order of the inspector")
	b.post("/hive/"+itoa(h.ID)+"/box-move", fields("box", itoa(box.ID), "to", "store", "on", today.String())).says(http.StatusConflict, "at a standstill")
}

func TestNewApiaryToFirstVisit(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Ansel")
	b.post("/apiaries", fields("name", "", "latitude", "north", "longitude", "15", "elevation_m", "99999", "timezone", "Mars/Crater")).
		says(http.StatusUnprocessableEntity, "must not be empty", "north", "a number from -90 to 90", "from -430 to 6000", "no", "time zone")
	at := b.post("/apiaries", fields("name", "Weir <i>", "latitude", "47,6", "longitude", "15", "elevation_m", "320", "timezone", "Europe/Vienna", "weekday", "6", "weekday", "0", "travel_hours", "1.5")).
		says(http.StatusSeeOther).header.Get("Location")
	b.get(at).says(http.StatusOK, "Weir &lt;i&gt; is on the list")
	b.get(strings.TrimSuffix(at, "/hives")).says(http.StatusOK, "Weir &lt;i&gt;", "Looked after by Ansel Whitlow", "Add hives")
	var apiary *scheduler.Apiary
	club := c.club()
	for i := range club.Apiaries {
		if club.Apiaries[i].Name == "Weir <i>" {
			apiary = &club.Apiaries[i]
		}
	}
	if apiary == nil || apiary.Latitude != 47.6 || apiary.Weekdays != 0b1000001 || *apiary.TravelHours != 1.5 {
		t.Fatalf("saved %+v", apiary)
	}
	b.get("/apiaries").says(http.StatusOK, "Weir &lt;i&gt;", "Yours", "The others")
}

// The page of a hive says the day of its next visit once, above; its boxes' sentences
// leave it out, and say it of a later one.
func TestAHivePageSaysItsVisitsDayOnce(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, b := c.boxNamed("Q11")
	page := c.as("Brida").get("/hive/"+itoa(h.ID)).says(200, "Next opened on", "opened on that visit").hides("visit set for")
	if n := strings.Count(page.text(), "opened on that visit"); n < 2 {
		t.Errorf("%d sentences point to the visit above", n)
	}
	c.as("Brida").get(boxPath(b.ID)).says(200, "visit set for")
}
