package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/store"
)

func TestVisitTellsWhatMattersBeforeGoing(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Orchard")
	got := c.as("Corin").get(visitPath(v.UID)).says(http.StatusOK,
		"Orchard", "Nobody is going yet", "I'll go", "Boxes to open", "O13", "hive tool", "veil", "Lift", "Checklist", "gate code 4711 at Orchard")
	got.hides("Rained off, or another day") // Corin neither keeps it nor goes
	c.as("Ansel").get(visitPath(v.UID)).says(http.StatusOK, "Rained off, or another day", "Cancel the visit")
	c.as("Corin").get(visitPath(v.UID)+"/sheet").says(http.StatusOK, "stack as drawn", "Worst frame", "two to four corners")
}

func TestTakeAndLeaveAVisit(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Orchard")
	b := c.as("Corin")
	seq := b.get(visitPath(v.UID)).field("sequence")
	got := b.follow(visitPath(v.UID)+"/take", fields("sequence", seq)).says(http.StatusOK, "You go to Orchard", "Take it back", "Rained off, or another day")
	if now := c.visitByUID(v.UID); !slices.Equal(now.Who, []int64{c.member["Corin"]}) {
		t.Fatalf("going: %v", now.Who)
	}
	// Ansel's page is older than that.
	c.as("Ansel").post(visitPath(v.UID)+"/take", fields("sequence", seq)).says(http.StatusConflict, "This visit has changed")
	b.follow(visitPath(v.UID)+"/leave", fields("sequence", got.field("sequence"))).says(http.StatusOK, "Nobody is going now")
	if now := c.visitByUID(v.UID); len(now.Who) != 0 {
		t.Errorf("going: %v", now.Who)
	}
}

func TestVisitChangesAndTheirUndo(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	path := visitPath(v.UID)
	b := c.as("Brida")
	sequence := func() string { return fmt.Sprint(c.visitByUID(v.UID).Sequence) }
	to := scheduler.RainedOff(c.club(), &v, today, 1)[0]

	moved := b.follow(path+"/move", fields("sequence", sequence(), "to", to.String())).says(http.StatusOK, "stays there", "Put it back on")
	if now := c.visitByUID(v.UID); now.On != to || !now.Pinned {
		t.Fatalf("on %v", now.On)
	}
	b.follow(path+"/move", fields("sequence", moved.field("sequence"), "to", v.On.String(), "sure", "yes"))
	if now := c.visitByUID(v.UID); now.On != v.On {
		t.Errorf("undone to %v, want %v", now.On, v.On)
	}
	b.follow(path+"/unpin", fields("sequence", sequence())).says(http.StatusOK, "Hold it on this day")
	b.follow(path+"/pin", fields("sequence", sequence())).says(http.StatusOK, "held on this day", "Let planning move it")

	_, box := c.boxNamed("Q13")
	b.follow(path+"/take-off", fields("sequence", sequence(), "box", itoa(box.ID))).says(http.StatusOK, "is off this visit", "was taken off")
	if now := c.visitByUID(v.UID); !slices.Contains(now.NotBoxes, box.ID) {
		t.Errorf("taken off: %v", now.NotBoxes)
	}
	b.follow(path+"/leave-in", fields("sequence", sequence(), "box", itoa(box.ID)))
	b.follow(path+"/who", fields("sequence", sequence(), "member", itoa(c.member["Corin"]), "member", itoa(c.member["Brida"]))).says(http.StatusOK, "Corin Tasker and Brida Okonjo")

	b.post(path+"/cancel", fields("sequence", sequence())).says(http.StatusUnprocessableEntity, "Nothing is planned for its boxes")
	b.follow(path+"/cancel", fields("sequence", sequence(), "sure", "yes")).says(http.StatusOK, "is cancelled")
	if now := c.visitByUID(v.UID); now.Status != scheduler.Cancelled {
		t.Errorf("status %s", now.Status)
	}
	var audit []store.AuditEntry
	c.in(func(tx *store.Tx) (err error) {
		audit, err = tx.AuditTrail(context.Background(), 0, 0, 20)
		return err
	})
	if len(audit) != 9 || audit[8].Action != "sign in with mail" || audit[0].Action != "cancel visit" || audit[0].MemberID != c.member["Brida"] {
		t.Errorf("audit: %+v", audit)
	}
}

func TestFinishAVisitWithoutOpenings(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	c.as("Brida").follow(visitPath(v.UID)+"/finish", fields("sequence", fmt.Sprint(v.Sequence), "sure", "yes")).says(http.StatusOK, "is done")
	if now := c.visitByUID(v.UID); now.Status != scheduler.Done || now.On > today {
		t.Errorf("%s on %v", now.Status, now.On)
	}
}

// TestHomeSaysWhatIsTooMuch: a keeper who can give less than a visit takes is
// asked for none; the page says so to the keeper, of their apiaries, and to
// organisers, and takes it back when the keeper can give more.
func TestHomeSaysWhatIsTooMuch(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b, corin := c.as("Brida"), c.as("Corin")
	give := func(hours string) *answer {
		return b.follow("/preferences", fields("name", "Brida", "units", "mm", "hours_a_day", hours, "visits_a_week", "3", "gives_on", "sat", "gives_on", "wed"))
	}
	b.post("/preferences", fields("name", "Brida", "units", "mm", "hours_a_day", "0,25")).says(http.StatusUnprocessableEntity, "0.5")
	give("2,5").says(http.StatusOK, "Quarry")
	v := c.visit("Quarry")
	if !v.NoTime || len(v.Who) != 0 {
		t.Fatalf("%v are asked to go", v.Who)
	}
	if page := b.get("/preferences"); page.field("hours_a_day") != "2.5" || page.field("visits_a_week") != "3" {
		t.Errorf("the page has %q hours and %q visits", page.field("hours_a_day"), page.field("visits_a_week"))
	}
	for _, who := range []*browser{b, c.as("Ansel")} {
		who.get("/").says(http.StatusOK, "More than people can give", "5 hours too many in early June: 1 visit needs somebody")
	}
	b.get(visitPath(v.UID)).says(http.StatusOK, "Nobody has time: for all who look after the apiary it would be more")
	corin.get("/").hides("More than people can give")
	give("").says(http.StatusOK)
	if v := c.visit("Quarry"); v.NoTime || len(v.Who) != 1 || v.On.Weekday() != time.Saturday && v.On.Weekday() != time.Wednesday {
		t.Errorf("on %s %v are asked to go", v.On.Format(time.RFC1123), v.Who)
	}
	b.get("/").hides("More than people can give")
}

func TestHomeShowsFirstWhatNobodyGoesTo(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Orchard")
	b := c.as("Corin")
	got := b.get("/").says(http.StatusOK, "About to lock, and nobody is going", "Orchard", "Overdue", "The year")
	got.hides("4711")
	b.follow(visitPath(v.UID)+"/take", fields("sequence", fmt.Sprint(v.Sequence), "then", "home")).says(http.StatusOK, "You go to Orchard", "You go, alone")
}
