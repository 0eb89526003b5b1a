package web

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// mailedLink is the path in the newest mail about a change of address: made as
// the mail's writer makes it.
func (c *testClub) mailedLink(kind scheduler.MessageKind) string {
	c.t.Helper()
	ctx := context.Background()
	var mailed []store.Message
	var change *store.AddressChange
	c.in(func(tx *store.Tx) (err error) {
		if mailed, err = tx.Messages(ctx, store.MessageFilter{Kind: kind, Limit: 1}); err == nil && len(mailed) == 0 {
			err = fmt.Errorf("no mail of the kind %s", kind)
		}
		if err == nil {
			change, err = tx.AddressChange(ctx, owed.ChangeOf(mailed[0].Key))
		}
		return err
	})
	path, do := notify.NewAddressPath, notify.NewAddressDeed
	if kind == scheduler.OldAddressMessage {
		path, do = notify.OldAddressPath, notify.OldAddressDeed
	}
	return path + c.notify.Signer().Sign(notify.Action{
		Do: do, Club: c.id, Member: mailed[0].MemberID, Change: owed.ChangeOf(mailed[0].Key), Expires: change.ExpiresAt,
	})
}

func (c *testClub) emailOf(name string) string {
	c.t.Helper()
	p, err := c.store.Person(context.Background(), c.person[name])
	if err != nil {
		c.t.Fatal(err)
	}
	return p.Email
}

func (c *testClub) goesTo(name, email string) {
	c.t.Helper()
	if got := c.emailOf(name); got != email {
		c.t.Errorf("mail for %s goes to %s, want %s", name, got, email)
	}
}

// later lets hours go by for mailed addresses.
func (c *testClub) later(hours int) {
	c.t.Helper()
	c.asOwner(`
		UPDATE address_change SET created_at = created_at - make_interval(hours => $1), expires_at = expires_at - make_interval(hours => $1)`, hours)
}

func TestAMemberChangesTheAddress(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida := c.as("Brida")
	feed := c.feedOf("Brida")
	brida.get("/preferences").says(200, "Change the address")
	brida.get("/preferences/address").says(200, "Mail for Brida Okonjo goes to brida@example.org.", "within 24 hours").hides("Take it back")
	brida.follow("/preferences/address", fields("email", "brida@new.example")).
		says(200, "A mail with a link is on its way to brida@new.example.", "goes to brida@example.org", "sent to brida@new.example", "Take it back")
	c.goesTo("Brida", "brida@example.org")

	// Whoever gets the mail needs no sign-in: the old address may be lost.
	link, anybody := c.mailedLink(scheduler.NewAddressMessage), c.stranger()
	for range 2 { // a mail scanner follows it, too
		anybody.get(link).says(200, "Is this your address?", "At Old Mill Beekeepers, mail for Brida Okonjo is to go to brida@new.example from now on.")
	}
	c.goesTo("Brida", "brida@example.org")
	anybody.post(link, fields()).says(200, "Mail for Brida Okonjo goes to brida@new.example from now on.")
	c.goesTo("Brida", "brida@new.example")
	anybody.post(link, fields()).says(200, "goes to brida@new.example from now on") // a double click
	anybody.get(link).says(200, "goes to brida@new.example from now on")

	// What is signed in and subscribed goes on.
	brida.get("/preferences").says(200, "brida@new.example")
	brida.get(feed).says(200)

	back := c.mailedLink(scheduler.OldAddressMessage)
	anybody.get(back).says(200, "Back to the old address?", "mail for Brida Okonjo is to go to brida@example.org again")
	c.goesTo("Brida", "brida@new.example")
	anybody.post(back, fields()).says(200, "Mail for Brida Okonjo goes to brida@example.org again.").hides("Every device is signed out")
	c.goesTo("Brida", "brida@example.org")
	brida.get("/preferences").says(200, "brida@example.org")
	anybody.post(back, fields("everywhere", "yes")).says(200, "goes to brida@example.org again").hides("Every device is signed out")
	anybody.post(link, fields()).says(http.StatusGone, "This link works no more")
	anybody.get(link).says(http.StatusGone, "This link works no more")
	brida.get("/preferences").says(200)
	brida.get(feed).says(200)
}

// feedOf is the path of a member's calendar.
func (c *testClub) feedOf(name string) string {
	c.t.Helper()
	var token string
	c.in(func(tx *store.Tx) (err error) {
		_, token, err = tx.CreateLink(context.Background(), store.MemberLink, c.member[name], 0, store.LinkOptions{})
		return err
	})
	return "/calendar/" + token + ".ics"
}

func TestBringingTheAddressBackSignsOut(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	thief := c.as("Brida")
	thief.follow("/preferences/address", fields("email", "thief@one.example"))
	c.stranger().post(c.mailedLink(scheduler.NewAddressMessage), fields()).says(200)
	back := c.mailedLink(scheduler.OldAddressMessage)
	thief.follow("/preferences/address", fields("email", "thief@two.example"))
	c.stranger().post(c.mailedLink(scheduler.NewAddressMessage), fields()).says(200)
	theirs := c.mailedLink(scheduler.OldAddressMessage)
	thief.follow("/preferences/address", fields("email", "thief@three.example"))
	waiting := c.mailedLink(scheduler.NewAddressMessage)

	c.stranger().post(back, fields("everywhere", "yes")).says(200, "goes to brida@example.org again", "Every device is signed out.")
	c.goesTo("Brida", "brida@example.org")
	if got := thief.get("/preferences"); got.status != http.StatusSeeOther {
		t.Errorf("whoever took the address is still signed in: %d", got.status)
	}
	for _, link := range []string{theirs, waiting} {
		c.stranger().post(link, fields("everywhere", "yes")).says(http.StatusGone, "This link works no more")
	}
	c.goesTo("Brida", "brida@example.org")
}

func TestAddressesThatAreRefused(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida := c.as("Brida")
	for _, test := range []struct {
		email  string
		status int
		says   string
	}{
		{"", 422, `is not an e-mail address`},
		{"brida", 422, `is not an e-mail address`},
		{"Brida <brida@new.example>", 422, `is not an e-mail address`},
		{strings.Repeat("b", 250) + "@new.example", 422, `is not an e-mail address`},
		{"BRIDA@example.org", 422, "Mail goes to this address already."},
	} {
		brida.post("/preferences/address", fields("email", test.email)).says(test.status, test.says)
	}
	for _, email := range []string{"a@new.example", "b@new.example", "c@new.example"} {
		brida.follow("/preferences/address", fields("email", email)).says(200)
	}
	brida.post("/preferences/address", fields("email", "d@new.example")).says(http.StatusTooManyRequests, "often enough for now").says(429, "c@new.example")
	brida.follow("/preferences/address", fields("withdraw", "yes")).says(200, "Taken back. Mail goes to brida@example.org as before.").hides("c@new.example")
	c.stranger().post(c.mailedLink(scheduler.NewAddressMessage), fields()).says(http.StatusGone, "This link works no more")
	c.goesTo("Brida", "brida@example.org")
}

// Nobody learns by asking who is a member; whoever can read the mail to the
// address learns it.
func TestAnAddressOfAnotherIsNotGivenAway(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida := c.as("Brida")
	ask := func(email string) string {
		page := brida.follow("/preferences/address", fields("email", email)).says(200, "A mail with a link is on its way to "+email)
		return strings.ReplaceAll(page.body, email, "ADDRESS")
	}
	if taken, free := ask("dorrit@example.org"), ask("nobody@example.org"); taken != free {
		t.Errorf("the answers differ:\n%s\n%s", taken, free)
	}
	ask("Corin@example.org")
	link := c.mailedLink(scheduler.NewAddressMessage)
	c.stranger().get(link).says(200, "Is this your address?")
	c.stranger().post(link, fields()).says(http.StatusConflict, "This address belongs to a member already")
	c.goesTo("Brida", "brida@example.org")
	c.goesTo("Corin", "corin@example.org")
}

func TestLinksOfAddressesEnd(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida := c.as("Brida")
	brida.follow("/preferences/address", fields("email", "brida@new.example"))
	c.later(24)
	link := c.mailedLink(scheduler.NewAddressMessage)
	c.stranger().get(link).says(http.StatusGone, "This link works no more")
	c.stranger().post(link, fields()).says(http.StatusGone, "This link works no more")
	c.goesTo("Brida", "brida@example.org")
	brida.get("/preferences/address").hides("brida@new.example")

	brida.follow("/preferences/address", fields("email", "brida@new.example"))
	c.stranger().post(c.mailedLink(scheduler.NewAddressMessage), fields()).says(200)
	c.later(7 * 24)
	c.stranger().post(c.mailedLink(scheduler.OldAddressMessage), fields()).says(http.StatusGone, "This link works no more")
	c.goesTo("Brida", "brida@new.example")
}

func TestForgedLinksOfAddresses(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	c.as("Brida").follow("/preferences/address", fields("email", "brida@new.example"))
	link := c.mailedLink(scheduler.NewAddressMessage)
	token := strings.TrimPrefix(link, notify.NewAddressPath)
	other := func(a notify.Action) string { a.Expires = time.Now().Add(time.Hour); return c.notify.Signer().Sign(a) }
	for name, path := range map[string]string{
		"cut short":        link[:len(link)-2],
		"the other way":    notify.OldAddressPath + token,
		"another deed":     "/new-address/" + other(notify.Action{Do: notify.UnsubscribeDeed, Club: c.id, Member: c.member["Brida"]}),
		"as another deed":  "/unsubscribe/" + token,
		"as a visit's":     "/act/" + token,
		"without a change": "/new-address/" + other(notify.Action{Do: notify.NewAddressDeed, Club: c.id, Member: c.member["Brida"], Change: "none"}),
	} {
		for _, got := range []*answer{c.stranger().get(path), c.stranger().post(path, fields())} {
			if got.status != http.StatusGone {
				t.Errorf("%s: %d", name, got.status)
			}
		}
	}
	c.goesTo("Brida", "brida@example.org")
}

func TestAnOrganiserChangesAMembersAddress(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	page := memberPath(c.member["Brida"]) + "/address"
	c.as("Corin").get(page).says(http.StatusForbidden)
	c.as("Corin").post(page, fields("email", "corin@new.example")).says(http.StatusForbidden)
	ansel := c.as("Ansel")
	ansel.get(memberPath(c.member["Brida"])).says(200, "Change the address")
	ansel.get(memberPath(c.member["Dorrit"]) + "/address").says(http.StatusNotFound)
	// Organisers see the addresses of their members anyway.
	ansel.post(page, fields("email", "CORIN@example.org")).says(422, "is a member already")
	ansel.follow(page, fields("email", "brida@new.example")).says(200, "A mail with a link is on its way")
	c.goesTo("Brida", "brida@example.org")
	c.stranger().post(c.mailedLink(scheduler.NewAddressMessage), fields()).says(200)
	c.goesTo("Brida", "brida@new.example")
	ansel.get("/audit").says(200, "ask for another address", "Brida Okonjo: brida@new.example", "change address", "Brida Okonjo: brida@example.org → brida@new.example")

	// Of whoever belongs to another club, too, no organiser of this one alone.
	c.importClub(&scheduler.Club{Name: "Far Bank", Rules: scheduler.DefaultRules(), Members: []scheduler.Member{
		{ID: 1, Name: "Corin T.", Email: "corin@example.org", Role: scheduler.Organiser},
	}})
	ansel = c.as("Ansel")
	page = fmt.Sprintf("/members/%d/address", c.memberOf("corin@example.org"))
	ansel.get(page).says(http.StatusForbidden, "Only the member can do this").hides("Far Bank")
	ansel.post(page, fields("email", "ansel@new.example")).says(http.StatusForbidden, "Only the member can do this")
}

// memberOf finds a member of the first club by address.
func (c *testClub) memberOf(email string) int64 {
	c.t.Helper()
	for _, m := range c.club().Members {
		if m.Email == email {
			return m.ID
		}
	}
	c.t.Fatalf("nobody has %s", email)
	return 0
}

func TestARefusedNewAddressIsShown(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida := c.as("Brida")
	brida.follow("/preferences/address", fields("email", "brida@typo.example"))
	ctx := context.Background()
	c.in(func(tx *store.Tx) error {
		mailed, err := tx.Messages(ctx, store.MessageFilter{Kind: scheduler.NewAddressMessage, Limit: 1})
		if err != nil {
			return err
		}
		return tx.Refused(ctx, mailed[0].ID, "550 no such domain")
	})
	brida.get("/preferences/address").says(200, "The mail to it was refused: 550 no such domain")
	brida.get("/preferences").says(200).hides("550 no such domain")
}

func TestAddressesInGerman(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	c.speaks("Brida", "de")
	brida := c.as("Brida")
	brida.get("/preferences/address").says(200, "Adresse für Post", "Neue Adresse").inGerman()
	brida.post("/preferences/address", fields("email", "x")).says(422, "Neue Adresse").inGerman()
	brida.follow("/preferences/address", fields("email", "brida@new.example")).says(200, "ist unterwegs an brida@new.example", "Zurücknehmen").inGerman()
	link := c.mailedLink(scheduler.NewAddressMessage)
	c.stranger().get(link).says(200, "Ist das deine Adresse?", "Bei Old Mill Beekeepers soll Post").inGerman()
	c.stranger().post(link, fields()).says(200, "geht ab jetzt an brida@new.example").inGerman()
	back := c.mailedLink(scheduler.OldAddressMessage)
	c.stranger().get(back).says(200, "Zurück zur alten Adresse?").inGerman()
	c.stranger().post(back, fields("everywhere", "yes")).says(200, "wieder an brida@example.org", "Alle Geräte sind abgemeldet").inGerman()
}
