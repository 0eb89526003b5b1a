package web

import (
	"context"
	"errors"
	"net/url"
	"slices"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/storetest"
)

// empty is an installation without any club.
func serveNobody(t *testing.T) (c *testClub, setup string) {
	t.Helper()
	c = serveClub(t)
	for _, id := range []int64{c.id, c.other} {
		if err := c.store.DeleteClub(context.Background(), id); err != nil {
			t.Fatal(err)
		}
	}
	address, err := c.server.SetupAddress(context.Background())
	if err != nil || address == "" {
		t.Fatalf("set-up address %q, %v", address, err)
	}
	again, err := c.server.SetupAddress(context.Background())
	if err != nil || again != address {
		t.Fatalf("the second start prints %q, the first %q", again, address)
	}
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	return c, u.Path
}

func setupForm(pairs ...string) url.Values {
	f := fields("club", "Larch Lane Bees", "your_name", "Gwen Ashdown", "email", "gwen@example.org", "units", "in",
		"name", "Orchard", "latitude", "44,1", "longitude", "-79.9", "elevation_m", "310", "timezone", "America/Toronto",
		"hives", "3", "boxes", "2", "lowest", "deep", "upper", "medium", "set_up_on", "2026-09-01")
	for i := 0; i < len(pairs); i += 2 {
		f.Set(pairs[i], pairs[i+1])
	}
	return f
}

func TestFromNothingToTheFirstVisit(t *testing.T) {
	t.Parallel()
	c, setup := serveNobody(t)
	b := c.stranger()
	b.get(setup).says(200, "Welcome", "Your first apiary")
	b.get("/setup/" + strings.Repeat("a", 32)).says(404)

	wrong := b.post(setup, setupForm("email", "gwen", "latitude", "144", "timezone", "Mars/Base", "hives", "41", "club", `<b>"Bees"</b>`)).
		says(422, "is not an e-mail address", "a number from -90 to 90", "is not a time zone", "a whole number from 1 to 40")
	if !strings.Contains(wrong.body, `value="&lt;b&gt;&#34;Bees&#34;&lt;/b&gt;"`) || !strings.Contains(wrong.body, `value="144"`) {
		t.Errorf("what was typed is lost: %s", wrong.body)
	}
	if ids, err := c.store.ClubIDs(context.Background()); err != nil || len(ids) != 0 {
		t.Fatalf("a refused form made clubs %v, %v", ids, err)
	}

	b.follow(setup, setupForm()).says(200, "Larch Lane Bees is here, and you are signed in.", "The first visit is on", "Make an address")
	ids, err := c.store.ClubIDs(context.Background())
	if err != nil || len(ids) != 1 {
		t.Fatalf("clubs %v, %v", ids, err)
	}
	c.id = ids[0]
	club := c.club()
	if len(club.Members) != 1 || club.Members[0].Role != scheduler.Organiser || club.Members[0].Units != text.Inches {
		t.Fatalf("members: %+v", club.Members)
	}
	a := club.Apiaries[0]
	if a.Latitude != 44.1 || len(a.Keepers) != 1 || len(a.Hives) != 3 || len(a.Hives[2].Boxes) != 2 {
		t.Fatalf("apiary: %+v", a)
	}
	if boxes := a.Hives[1].Boxes; boxes[0].Kind != "deep" || boxes[1].Kind != "medium" || boxes[1].Name != "2-2" {
		t.Errorf("boxes: %+v", boxes)
	}
	made := b.post("/links", fields("label", "phone", "kind", "club")).says(200)
	if feed := b.get(calendarAddress.FindStringSubmatch(made.body)[1]); !strings.Contains(feed.body, "LOCATION:Orchard") {
		t.Errorf("the calendar: %.300s", feed.body)
	}
	// The way in is closed, to whoever has the address as well.
	b.get(setup).says(410, "Set up already")
	c.stranger().post(setup, setupForm("club", "Second")).says(410)
	c.stranger().get("/setup/"+strings.Repeat("a", 32)).says(410, "Set up already", "Sign in")
	if address, err := c.server.SetupAddress(context.Background()); err != nil || address != "" {
		t.Errorf("after that the address is %q, %v", address, err)
	}
}

func TestTheClubAloneAndTheApiaryLater(t *testing.T) {
	t.Parallel()
	c, setup := serveNobody(t)
	b := c.stranger()
	b.follow(setup, fields("club", "Larch Lane Bees", "your_name", "Gwen", "email", "gwen@example.org", "later", "yes")).
		says(200, "Larch Lane Bees is here", "Add an apiary")
	for _, path := range []string{"/apiaries", "/members", "/links", "/messages", "/rules", "/rules/history", "/records", "/audit", "/"} {
		b.get(path).says(200)
	}
}

func TestTwiceSentSetUpMakesOneClub(t *testing.T) {
	t.Parallel()
	c, setup := serveNobody(t)
	answers := make(chan int)
	for range 2 {
		go func() { answers <- c.stranger().post(setup, setupForm()).status }()
	}
	if a, b := <-answers, <-answers; a+b != 303+410 {
		t.Errorf("the answers are %d and %d", a, b)
	}
	if ids, err := c.store.ClubIDs(context.Background()); err != nil || len(ids) != 1 {
		t.Errorf("clubs %v, %v", ids, err)
	}
}

func TestSeveralHivesAtOnce(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	quarry := c.club().Apiaries[1].ID
	path := "/apiary/" + itoa(quarry) + "/hives"
	form := fields("hives", "2", "boxes", "3", "lowest", "deep", "upper", "shallow")
	brida := c.as("Brida")
	brida.get(path).says(200, "Hives for Quarry")
	brida.follow(path, form).says(200, "2 hives with 3 boxes each: Hive 1 to Hive 2", "The next visit is on")
	brida.follow(path, fields("hives", "1", "boxes", "1", "lowest", "deep", "upper", "deep", "set_up_on", today.String())).says(200, "1 hive with 1 box: Hive 3.")
	brida.post(path, fields("hives", "0", "boxes", "9", "lowest", "tin", "upper", "deep", "set_up_on", "2030-01-01")).
		says(422, "from 1 to 40", "from 1 to 8", "is no kind of box", "still to come")
	hives := c.club().Apiaries[1].Hives
	if len(hives) != 5 || hives[2].Boxes[0].SetUpOn != today-365 {
		t.Errorf("%d hives, set up on %s", len(hives), hives[2].Boxes[0].SetUpOn)
	}
	c.as("Corin").get(path).says(403)
	c.as("Corin").post(path, form).says(403)
	c.as("Dorrit").post(path, form).says(404)
	if got := brida.send("POST", path, form, map[string]string{"Origin": "https://elsewhere.example"}); got.status != 403 {
		t.Errorf("a foreign origin: %d", got.status)
	}
	c.in(func(tx *store.Tx) error {
		trail, err := tx.AuditTrail(context.Background(), 0, 0, 10)
		if err == nil && !slices.ContainsFunc(trail, func(e store.AuditEntry) bool { return e.Action == "add hives" && e.MemberID == c.member["Brida"] }) {
			t.Errorf("the trail: %+v", trail)
		}
		return err
	})
}

// A first club is there whole or not at all, wherever the line to the database
// breaks: no club, no person.
func TestSetUpIsWholeOrNotAtAll(t *testing.T) {
	t.Parallel()
	address, trips := storetest.Count(t, storetest.From(t, "served", fillServed))
	c := serveAt(t, address)
	ctx := context.Background()
	for _, id := range []int64{c.id, c.other} {
		if err := c.store.DeleteClub(ctx, id); err != nil {
			t.Fatal(err)
		}
	}
	member := scheduler.Member{Name: "Gwen Ashdown", Email: "gwen@example.org", Role: scheduler.Organiser}
	apiary := scheduler.Apiary{
		Name: "Orchard", Latitude: 44.1, Longitude: -79.9, Timezone: "America/Toronto",
		Hives: []scheduler.Hive{{Name: "1", Boxes: []scheduler.Box{{Name: "D1", Kind: "deep", SetUpOn: today - 200}}}},
	}
	for n := 1; n < 100; n++ {
		trips.Break(n)
		_, _, err := c.server.foundClub(ctx, "Larch Lane Bees", member, apiary, false)
		broke := trips.Broke()
		ids, err2 := c.store.ClubIDs(ctx)
		_, none := c.store.PersonByEmail(ctx, member.Email)
		if err2 != nil {
			t.Fatal(err2)
		}
		if err == nil && broke { // somebody else's line, such as that of the clean-up of sessions
			if err := c.store.DeleteClub(ctx, ids[0]); err != nil {
				t.Fatal(err)
			}
			n--
			continue
		}
		if err == nil {
			if len(ids) != 1 || none != nil || n < 10 {
				t.Errorf("done after %d trips, with clubs %v, %v", n, ids, none)
			}
			return
		}
		if len(ids) != 0 || !errors.Is(none, store.ErrNotFound) {
			t.Fatalf("broken at trip %d (%v), it left clubs %v, %v", n, err, ids, none)
		}
	}
	t.Error("it never came to an end")
}
