package web

import (
	"net/http"
	"slices"
	"testing"

	"github.com/google/uuid"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/store"
)

// partlyDone brings in a club whose visit of yesterday was written down for one
// box of three, by Edda, and returns it with the visit.
func (c *testClub) partlyDone() (*testClub, *store.VisitRecord) {
	c.t.Helper()
	old := scheduler.Opening{On: scheduler.NewDate(2026, 5, 9), Joint: scheduler.Light, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedPart}
	box := func(id int64, name string, also ...scheduler.Opening) scheduler.Box {
		b := scheduler.Box{ID: id, Name: name, Kind: "deep", SetUpOn: scheduler.NewDate(2025, 4, 10), Openings: append([]scheduler.Opening{old}, also...)}
		for i := range b.Openings {
			b.Openings[i].ID, b.Openings[i].By = uuid.NewString(), 1
		}
		return b
	}
	yesterday := scheduler.Opening{On: today - 1, Joint: scheduler.Firm, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedAll}
	of := *c
	of.id = c.importClub(&scheduler.Club{
		Name: "Sandpit Bees", Rules: scheduler.DefaultRules(),
		Apiaries: []scheduler.Apiary{{
			ID: 1, Name: "Sandpit", Latitude: 47.5, Longitude: 15, ElevationM: 300, Timezone: "UTC", Keepers: []int64{1},
			Hives: []scheduler.Hive{
				{ID: 1, Name: "Gorse", Boxes: []scheduler.Box{box(1, "G1"), box(2, "G2", yesterday)}},
				{ID: 2, Name: "Heather", Boxes: []scheduler.Box{box(3, "H1")}},
			},
		}},
		Members: []scheduler.Member{
			{ID: 1, Name: "Edda Marrow", Email: "edda@example.org", Role: scheduler.Keeper},
			{ID: 2, Name: "Falk Tanner", Email: "falk@example.org", Role: scheduler.Keeper},
		},
		Visits: []scheduler.Visit{{
			ID: 1, UID: uuid.NewString(), ApiaryID: 1, On: today - 1, Status: scheduler.Confirmed, Who: []int64{1}, Taken: []int64{1},
			Boxes: []scheduler.VisitBox{{BoxID: 2}, {BoxID: 1}, {BoxID: 3}},
		}},
	})
	of.in(func(tx *store.Tx) error { _, err := tx.ReplanAll(c.t.Context(), today); return err })
	for _, v := range of.club().Visits {
		if v.Status == scheduler.Done {
			return &of, of.visitByUID(v.UID)
		}
	}
	c.t.Fatalf("no visit is done: %+v", of.club().Visits)
	return nil, nil
}

// openedOn is what is recorded of a box on the day of the visit.
func (c *testClub) openedOn(name string, on scheduler.Date) *scheduler.Opening {
	c.t.Helper()
	_, b := c.boxNamed(name)
	return b.OpeningOn(on)
}

// TestOpenedToo: who was there is asked on home and on the visit's page about
// the boxes without a word, and answers with one tap. Second taps say what is
// true, and record nothing twice.
func TestOpenedToo(t *testing.T) {
	t.Parallel()
	c, v := serveClub(t).partlyDone()
	b, path := c.as("Edda"), visitPath(v.UID)
	home := b.get("/").says(http.StatusOK, "Opened too?", "Gorse: G1; Heather: H1", "nobody wrote down these 2 boxes")
	b.get(path).says(http.StatusOK, "Opened too?", "Gorse: G1; Heather: H1")
	c.as("Falk").get("/").says(http.StatusOK).hides("Opened too?")
	form := fields("base", home.field("base"))
	for _, name := range []string{"G1", "H1"} {
		_, box := c.boxNamed(name)
		form.Add("box", itoa(box.ID))
	}
	b.follow(path+"/also-opened", form).says(http.StatusOK, "Recorded: 2 boxes opened", "How hard they were, nobody said").hides("Opened too?")
	for _, name := range []string{"G1", "H1"} {
		o := c.openedOn(name, v.On)
		if o == nil || o.Difficulty() != scheduler.NotTried || o.Scraped != "" || o.By != c.memberOf("edda@example.org") {
			t.Errorf("%s: %+v", name, o)
		}
	}
	b.follow(path+"/also-opened", form).says(http.StatusOK, "Nothing is left to say")
	b.follow(path+"/not-opened", form).says(http.StatusOK, "Nothing is left to say")
	if now := c.visitByUID(v.UID); len(now.NotOpened) > 0 {
		t.Errorf("a second tap said that %v were not opened", now.NotOpened)
	}
	if _, box := c.boxNamed("H1"); len(box.Openings) != 2 {
		t.Errorf("%d openings of H1", len(box.Openings))
	}
	// How hard it was can be said afterwards, without being asked whether to.
	h, box := c.boxNamed("H1")
	again := recordForm(box, uuid.NewString(), "joint", "3")
	again.Set("on", v.On.String())
	again.Set("supersedes", c.openedOn("H1", v.On).ID)
	again.Del("scraped")
	b.get("/hive/"+itoa(h.ID)).says(http.StatusOK, "Opened; nobody said how hard")
	b.follow("/hive/"+itoa(h.ID)+"/record", again)
	if o := c.openedOn("H1", v.On); o.Difficulty() != scheduler.Hard || o.Scraped != "" {
		t.Errorf("H1: %+v", o)
	}
}

// TestNotOpenedToo: boxes of which somebody says so are not asked about again,
// and a stale tab answers only for what it showed.
func TestNotOpenedToo(t *testing.T) {
	t.Parallel()
	c, v := serveClub(t).partlyDone()
	b, path := c.as("Edda"), visitPath(v.UID)
	_, g1 := c.boxNamed("G1")
	b.follow(path+"/not-opened", fields("box", itoa(g1.ID))).says(http.StatusOK, "Noted: 1 box was not opened: Gorse: G1", "Heather: H1")
	if now := c.visitByUID(v.UID); !slices.Equal(now.NotOpened, []int64{g1.ID}) {
		t.Errorf("not opened: %v", now.NotOpened)
	}
	b.follow(path+"/also-opened", fields("box", itoa(g1.ID))).says(http.StatusOK, "Nothing is left to say")
	if c.openedOn("G1", v.On) != nil || c.openedOn("H1", v.On) != nil {
		t.Error("a stale tab recorded what it did not show")
	}
	c.as("Brida").post(path+"/not-opened", fields()).says(http.StatusNotFound)
}

// TestOpenedTooByMail: the addresses in the mail ask first, answer without
// signing in, and then say what is true.
func TestOpenedTooByMail(t *testing.T) {
	t.Parallel()
	for _, do := range []notify.Deed{notify.AlsoOpenedDeed, notify.NotOpenedDeed} {
		t.Run(string(do), func(t *testing.T) {
			t.Parallel()
			c, v := serveClub(t).partlyDone()
			c.member["Edda"] = c.memberOf("edda@example.org")
			path := c.act(do, "Edda", v.Visit)
			for range 2 {
				c.stranger().get(path).says(http.StatusOK, "Opened too?", "Gorse: G1; Heather: H1", "Say how hard")
			}
			if c.openedOn("H1", v.On) != nil || len(c.visitByUID(v.UID).NotOpened) > 0 {
				t.Fatal("following an address changed records")
			}
			said, later := "Recorded: 2 boxes opened", "recorded as done"
			if do == notify.NotOpenedDeed {
				said, later = "Noted: 2 boxes were not opened", "Noted: 2 boxes were not opened"
			}
			c.stranger().post(path, fields("base", uuid.NewString())).says(http.StatusOK, said)
			c.stranger().post(path, fields("base", uuid.NewString())).says(http.StatusOK, later)
			c.stranger().get(path).says(http.StatusOK, later)
			if opened := c.openedOn("H1", v.On) != nil; opened != (do == notify.AlsoOpenedDeed) {
				t.Errorf("H1 is recorded: %v", opened)
			}
			if n := len(c.visitByUID(v.UID).NotOpened); (n == 2) != (do == notify.NotOpenedDeed) {
				t.Errorf("%d boxes were not opened", n)
			}
		})
	}
}
