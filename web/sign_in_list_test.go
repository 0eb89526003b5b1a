package web

import (
	"context"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"pryday/notify"
	"pryday/store"
)

const phoneBrowser = "Mozilla/5.0 (Android 14; Mobile; rv:128.0) Gecko/128.0 Firefox/128.0"

// signedInFrom signs somebody in with a browser that calls itself so, and asks once
// more where a machine with more to do than it can says that its database is away.
func (c *testClub) signedInFrom(name, agent string) *browser {
	c.t.Helper()
	b, headers := c.stranger(), map[string]string{}
	if agent != "" {
		headers["User-Agent"] = agent
	}
	for tries := 1; ; tries++ {
		token, err := c.store.NewSignIn(context.Background(), c.person[name], time.Hour)
		if err != nil {
			c.t.Fatal(err)
		}
		switch got := b.send("POST", "/sign-in/"+token, nil, headers); {
		case got.status == http.StatusSeeOther:
			return b
		case got.status != http.StatusServiceUnavailable || tries > 1:
			c.t.Fatalf("sign in as %s: %d", name, got.status)
		}
	}
}

var endsSignIn = regexp.MustCompile(`action="(/sign-ins/\d+/end)"`)

func TestDevicesAreListedAndEnded(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	lost, here := c.signedInFrom("Brida", phoneBrowser), c.as("Brida")
	page := here.get("/sign-ins").says(200, "Firefox, on Android", "this device", "with a mailed link", "at the address 127.0.0.1")
	ends := endsSignIn.FindAllStringSubmatch(page.body, -1)
	if len(ends) != 2 {
		t.Fatalf("%d devices listed", len(ends))
	}
	lostOne, sure := ends[1][1], fields("sure", "yes") // the last sign-in comes first
	c.as("Corin").post(lostOne, sure).says(404)
	lost.get("/").says(200)
	here.follow(lostOne, sure).says(200, "That device is signed out.").hides("Firefox, on Android")
	lost.get("/").says(303)
	here.post(lostOne, sure).says(404)
	here.post(ends[0][1], nil).says(303)
	here.get("/").says(303)
}

// Whatever was mailed before a sign-out everywhere, and stood in the own
// calendar, does nothing any more; what comes after it works.
func TestSignOutEverywhereEndsButtons(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	_, entries := c.ownEntries("Brida", store.MemberLink)
	mailed := []string{entries[0], c.act(notify.LookDeed, "Brida", v), c.act(notify.RecordDeed, "Brida", v), c.act(notify.CantGoDeed, "Brida", v)}
	b := c.stranger()
	for _, path := range mailed {
		b.get(path).says(200)
	}
	further := actAddress.FindStringSubmatch(b.get(entries[0]).body)[1]
	brida := c.as("Brida")
	brida.get("/sign-ins").says(200, "the buttons in mails and calendar entries")
	brida.post("/sign-out-everywhere", fields("sure", "yes")).says(303)
	for _, path := range append(mailed, further) {
		b.get(path).says(410, "does not work")
		b.post(path, fields("sequence", "0")).says(410, "does not work")
	}
	if _, entries = c.ownEntries("Brida", store.MemberLink); b.get(entries[0]).status != 200 {
		t.Error("what the calendar shows from now on does not work either")
	}
	b.get(c.act(notify.LookDeed, "Corin", v)).says(200) // others are not concerned
}

// An organiser ends for the own club alone.
func TestOrganiserSignsOutOfOneClub(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	c.alsoElsewhere("Brida")
	brida := c.as("Brida")
	brida.get("/members?club="+itoa(c.id)).says(200, "Old Mill Beekeepers you look at this one")
	mailed := c.act(notify.LookDeed, "Brida", c.visit("Quarry"))
	c.as("Ansel").follow("/members/"+itoa(c.member["Brida"])+"/sign-out", fields("sure", "yes")).says(200)
	c.stranger().get(mailed).says(410)
	brida.get("/members").says(200, "Dorrit Vane").hides("Old Mill")
	if got := brida.get("/members?club=" + itoa(c.id)).says(303); got.header.Get("Location") != "/sign-in" {
		t.Errorf("led to %s", got.header.Get("Location"))
	}
	c.as("Brida").get("/members?club="+itoa(c.id)).says(200, "Old Mill")
}

// TestKnownAndUnknownAddressesAreAlike: the answer does not wait for what is
// done about a known address, and says the same; also where too many were asked
// for.
func TestKnownAndUnknownAddressesAreAlike(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	c.server.stop() // nobody owes a mail from now on
	c.server.background.Wait()
	said := func(address string) string {
		got := c.stranger().post("/sign-in", fields("email", address)).says(200)
		if got.header.Get("Set-Cookie") != "" {
			t.Errorf("%s leaves a cookie", address)
		}
		return strings.ReplaceAll(got.body, address, "ADDRESS")
	}
	want := said("nobody@example.org")
	for range 10 {
		if got := said("brida@example.org"); got != want {
			t.Fatalf("a known address is told\n%s\nan unknown one\n%s", got, want)
		}
	}
	if n := len(c.server.asked); n != 1+4 {
		t.Errorf("%d requests wait, want one of nobody and the first four of one source and address", n)
	}
	// The owner's own browser is counted apart, behind the same connection too.
	brida := c.as("Brida")
	brida.post("/sign-out", nil)
	brida.post("/sign-in", fields("email", "Brida@example.org")).says(200)
	for len(c.server.asked) > 1 {
		if a := <-c.server.asked; a.known {
			t.Error("a stranger's browser is known")
		}
	}
	if a := <-c.server.asked; !a.known || a.person.ID != c.person["Brida"] {
		t.Errorf("the owner's browser asked as %+v", a)
	}
}

// What was asked for is owed before the daemon ends.
func TestAskedSignInsAreOwedBeforeTheEnd(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	c.stranger().post("/sign-in", fields("email", "brida@example.org")).says(200)
	c.server.stop()
	c.server.background.Wait()
	c.in(func(tx *store.Tx) error {
		all, err := tx.Messages(t.Context(), store.MessageFilter{Kind: "sign-in", Limit: 10})
		if len(all) != 1 {
			t.Errorf("%d mails owed", len(all))
		}
		return err
	})
}

// A session of an earlier version goes on, is listed, and can be ended.
func TestSessionsOfEarlierVersionsGoOn(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Brida")
	c.asOwner(`DELETE FROM sign_in`)
	b.get("/").says(303)
	ctx, err := c.server.sessions.Load(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	c.server.sessions.Put(ctx, keyPerson, c.person["Brida"])
	c.server.sessions.Put(ctx, keyBegan, time.Now().UnixMicro())
	token, _, err := c.server.sessions.Commit(ctx)
	if err != nil {
		t.Fatal(err)
	}
	old := c.stranger()
	cookie := map[string]string{"Cookie": "pryday=" + token}
	old.send("GET", "/sign-ins", nil, cookie).says(200, "with an earlier version", "this device")
	old.send("GET", "/", nil, cookie).says(200)
	c.as("Brida").post("/sign-out-everywhere", fields("sure", "yes")).says(303)
	old.send("GET", "/", nil, cookie).says(303)
}

// Whoever wants to go takes what is kept along, types the address, and is
// nowhere any more; others see what was done, as by a former member.
func TestErasingOneself(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida, ansel := c.as("Brida"), c.as("Ansel")
	brida.get("/preferences").says(200, "Your data", "Erase me from this service")
	data := brida.get("/preferences/data").says(200, "brida@example.org", "Old Mill Beekeepers")
	if got := data.header.Get("Content-Disposition"); got != `attachment; filename="pryday-about-me.json"` {
		t.Errorf("it comes as %s", got)
	}
	data.hides("corin@")
	brida.get("/preferences/erase").says(200, "Old Mill Beekeepers", "There is no way back.")
	brida.post("/preferences/erase", fields("address", "corin@example.org")).says(422, "This is not the address brida@example.org.")
	ansel.post("/preferences/erase", fields("address", "ansel@example.org")).says(409, "the last organiser of Old Mill Beekeepers")
	ansel.get("/members").says(200, "Brida Okonjo")
	ansel.follow("/members/"+itoa(c.member["Brida"])+"/role", fields("role", "organiser")).says(200)
	brida.post("/preferences/erase", fields("address", " Brida@example.org ")).says(200, "You are erased")
	brida.get("/").says(303)
	ansel.get("/members").says(200).hides("Brida", "brida@")
	ansel.get("/audit").says(200, "a former member").hides("Brida")
}
