package web

import (
	"context"
	"fmt"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/store"
)

// stacks brings in a club of one apiary with stacks of some boxes, all of which
// its next visit opens, and returns it with that visit. Every joint was light
// last time.
func (c *testClub) stacks(boxes ...int) (*testClub, *store.VisitRecord) {
	c.t.Helper()
	apiary := scheduler.Apiary{ID: 1, Name: "Sandpit", Latitude: 47.5, Longitude: 15, Region: scheduler.Continental, ElevationM: 300, Timezone: "UTC", Keepers: []int64{1}}
	id := int64(0)
	for h, n := range boxes {
		hive := scheduler.Hive{ID: int64(h + 1), Name: fmt.Sprintf("Sandpit hive %d", h+1)}
		for b := range n {
			id++
			hive.Boxes = append(hive.Boxes, scheduler.Box{
				ID: id, Name: fmt.Sprintf("S%d%d", h+1, b+1), Kind: "deep", SetUpOn: scheduler.NewDate(2025, 4, 10),
				Openings: []scheduler.Opening{{ID: uuid.NewString(), On: scheduler.NewDate(2026, 5, 9), Joint: scheduler.Light, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedPart, By: 1}},
			})
		}
		apiary.Hives = append(apiary.Hives, hive)
	}
	of := *c
	of.id = c.importClub(&scheduler.Club{
		Name: "Sandpit Bees", Rules: scheduler.DefaultRules(), Apiaries: []scheduler.Apiary{apiary},
		Members: []scheduler.Member{{ID: 1, Name: "Edda Marrow", Email: "edda@example.org", Role: scheduler.Organiser}},
	})
	v := of.visit("Sandpit")
	if len(v.Boxes) != int(id) {
		c.t.Fatalf("the visit opens %d boxes of %d", len(v.Boxes), id)
	}
	return &of, of.visitByUID(v.UID)
}

// recorded counts the boxes of the club that are recorded today.
func (c *testClub) recorded() (n int) {
	for _, h := range c.club().Apiaries[0].Hives {
		n += len(recordedOn(&h, today))
	}
	return n
}

// Twelve boxes of four hives without trouble, from the page of what is due.
func recordInFewTaps(t *testing.T, browser context.Context) {
	c, v := serveClub(t).stacks(3, 3, 3, 3)
	b := c.open(t, browser, "Edda")
	b.goTo("/")
	b.tap(fmt.Sprintf("main a[href='%s']", visitPath(v.UID)))
	b.headed("Sandpit")
	b.tap(fmt.Sprintf("main .acts a[href='%s/record']", visitPath(v.UID)))
	for h := range 4 {
		b.headed(fmt.Sprintf("Sandpit hive %d", h+1))
		b.tap("button[name=whole]")
	}
	b.shows("All hives of this visit are recorded.")
	if n := c.recorded(); n != 12 {
		t.Errorf("%d boxes are recorded", n)
	}
	if b.taps > 8 {
		t.Errorf("%d taps, want 8 at most", b.taps)
	}
	t.Logf("%d taps", b.taps)
	b.quiet()
}

// Seven boxes, of which one was stuck, two stayed shut, one has a gap to tell by
// pegs and one a broken frame.
func recordTroubleInFewTaps(t *testing.T, browser context.Context) {
	c, v := serveClub(t).stacks(4, 3)
	b := c.open(t, browser, "Edda")
	row := func(name string) string {
		_, box := c.boxNamed(name)
		return fmt.Sprintf("#box-%d ", box.ID)
	}
	b.goTo("/")
	b.tap(fmt.Sprintf("main a[href='%s']", visitPath(v.UID)))
	b.headed("Sandpit")
	b.tap(fmt.Sprintf("main .acts a[href='%s/record']", visitPath(v.UID)))
	b.headed("Sandpit hive 1")
	b.tap("button[name=fill][value=last]")
	b.tap(row("S13") + ".degree:has(.j4)")
	b.tap(row("S12") + ".degree:has(.js)")
	b.tap(row("S11") + ".degree:has(.js)")
	b.tap(row("S13") + "details.more > summary")
	b.tap(row("S13") + "details.more details:has([name$=condition][value=frame-broken]) > summary")
	b.tap(row("S13") + "label:has([name$=condition][value=frame-broken])")
	b.tap(row("S13") + "details.more details:has(.pegs) > summary")
	ask[bool](b, fmt.Sprintf(`(document.querySelector(%q).value = "above-frames", true)`, row("S13")+"select"))
	b.taps += 2 // a list to choose from, and the choice
	b.tap(row("S13") + "label:has([name$=gap-peg-0][value=thick-goes])")
	b.tap(".save-bar button")
	b.shows("Not saved yet.") // it was light last time
	b.tap("main [role=alert] button[name=sure]")
	b.headed("Sandpit hive 2")
	b.tap("button[name=whole]")
	b.shows("All hives of this visit are recorded.")
	if n := c.recorded(); n != 7 {
		t.Errorf("%d boxes are recorded", n)
	}
	_, s13 := c.boxNamed("S13")
	o := s13.OpeningOn(today)
	if o == nil || o.Joint != scheduler.Stuck || o.LeftShut || len(o.Gaps) != 1 || o.Gaps[0].Peg != scheduler.ThickGoes || len(o.Condition) != 1 {
		t.Errorf("the stuck box: %+v", o)
	}
	for _, name := range []string{"S12", "S11"} {
		if _, box := c.boxNamed(name); box.OpeningOn(today) == nil || !box.OpeningOn(today).LeftShut {
			t.Errorf("%s: %+v", name, box.OpeningOn(today))
		}
	}
	if b.taps > 18 {
		t.Errorf("%d taps, want 18 at most", b.taps)
	}
	t.Logf("%d taps", b.taps)
}
