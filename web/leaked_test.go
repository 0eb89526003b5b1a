package web

import (
	"context"
	"errors"
	"net/http"
	netmail "net/mail"
	"net/url"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// leakedClub has something of everything that a leak could show.
func leakedClub(t *testing.T) (c *testClub, v scheduler.Visit) {
	c = serveClub(t)
	c.as("Brida").follow("/preferences", fields("name", "Brida Okonjo", "phone", "+43 1 555 0142", "units", "in")).says(http.StatusOK)
	return c, c.visit("Quarry")
}

// THREATS.md, "A calendar address": what it shows, and that nothing can be done
// with a club's.
func TestALeakedClubAddressShowsVisitsAlone(t *testing.T) {
	t.Parallel()
	c, _ := leakedClub(t)
	brida := c.as("Brida")
	address := calendarAddress.FindStringSubmatch(brida.post("/links", fields("label", "phone", "kind", "club")).body)[1]
	feed := unfolded(c.stranger().get(address).says(http.StatusOK).body)
	for _, shown := range []string{"LOCATION:Quarry", "Brida Okonjo", "Quarry hive 1"} {
		if !strings.Contains(feed, shown) {
			t.Errorf("it does not show %q, which THREATS.md says: %s", shown, feed)
		}
	}
	for _, hidden := range []string{"gate code", "4711", "example.org", "555 0142", "GEO:", "48.5", "/act/", "/sign-in/"} {
		if strings.Contains(feed, hidden) {
			t.Errorf("it shows %q: %s", hidden, feed)
		}
	}
}

// THREATS.md, "A calendar address": whoever has a member's own does what that
// member could with a mail's buttons, until it is revoked.
func TestALeakedOwnAddressActsUntilItIsRevoked(t *testing.T) {
	t.Parallel()
	c, _ := leakedClub(t)
	brida := c.as("Brida")
	address := calendarAddress.FindStringSubmatch(brida.post("/links", fields("label", "phone", "kind", "member")).body)[1]
	feed := unfolded(c.stranger().get(address).says(http.StatusOK).body)
	button := regexp.MustCompile(`http://[^/\s]+(/act/[A-Za-z0-9._~-]+)`).FindStringSubmatch(feed)
	if button == nil {
		t.Fatalf("it leads to no button: %s", feed)
	}
	for _, hidden := range []string{"gate code", "4711", "example.org", "555 0142", "GEO:", "48.5", "/sign-in/"} {
		if strings.Contains(feed, hidden) {
			t.Errorf("it shows %q: %s", hidden, feed)
		}
	}
	c.stranger().get(button[1]).says(http.StatusOK, "Quarry").hides("gate code", "4711", "example.org")
	brida.post("/links/"+itoa(c.links("Brida")[0].ID)+"/revoke", fields("sure", "yes")).says(http.StatusSeeOther)
	if got := c.stranger().get(button[1]); got.status != http.StatusGone && got.status != http.StatusNotFound {
		t.Errorf("the button works after the address was revoked: %d", got.status)
	}
	endedCalendar(t, brida, address, "This calendar address was withdrawn")
}

// THREATS.md, "A mail": its buttons show and do what is about its visit, until the
// member signs out everywhere.
func TestALeakedMailActsUntilItsMemberSignsOutEverywhere(t *testing.T) {
	t.Parallel()
	c, v := leakedClub(t)
	look, going := c.act(notify.LookDeed, "Brida", v), c.act(notify.GoDeed, "Brida", v)
	stranger := c.stranger()
	stranger.get(look).says(http.StatusOK, "Quarry").hides("gate code", "4711", "example.org")
	stranger.post(going, fields()).says(http.StatusOK)
	if taken := c.visitByUID(v.UID).Taken; !slices.Contains(taken, c.member["Brida"]) {
		t.Errorf("nobody goes: %v", taken)
	}
	stranger.get("/").says(http.StatusSeeOther) // it signs nobody in
	c.as("Brida").post("/sign-out-everywhere", fields("passkeys", "keep", "sure", "yes")).says(http.StatusSeeOther)
	for _, button := range []string{look, going} {
		if got := stranger.get(button); got.status != http.StatusGone && got.status != http.StatusNotFound {
			t.Errorf("a button answers %d after signing out everywhere", got.status)
		}
	}
}

// THREATS.md, "A dump of the database, or a backup": what opens something is kept as
// its hash alone, but for the keys that sign buttons.
func TestADumpHasNoAddressThatOpensAnything(t *testing.T) {
	t.Parallel()
	c, v := leakedClub(t)
	ctx := context.Background()
	brida := c.as("Brida")
	calendar := calendarAddress.FindStringSubmatch(brida.post("/links", fields("label", "phone", "kind", "member")).body)[1]
	signIn, err := c.store.NewSignIn(ctx, c.person["Corin"], 1<<40)
	if err != nil {
		t.Fatal(err)
	}
	u, err := url.Parse(c.http.URL)
	if err != nil {
		t.Fatal(err)
	}
	keys := map[string]string{
		"a calendar address": strings.Split(calendar, "/")[2], "an address to sign in": signIn, "a button": path.Base(c.act(notify.GoDeed, "Brida", v)),
	}
	for _, cookie := range brida.client.Jar.Cookies(u) {
		if cookie.Name == "pryday" {
			keys["a session"] = cookie.Value
		}
	}
	if len(keys) != 4 {
		t.Fatal("there is no session")
	}
	dump := c.dump()
	for what, key := range keys {
		if len(key) < 20 || strings.Contains(dump, key) {
			t.Errorf("%s stands in the database: %q", what, key)
		}
	}
	for _, there := range []string{"gate code 4711 at Quarry", "brida@example.org", "+43 1 555 0142", `"name":"mailed addresses"`} {
		if !strings.Contains(dump, there) {
			t.Errorf("%q is not in the database, which THREATS.md says", there)
		}
	}
}

// THREATS.md, "A dump of the database, or a backup": with its keys buttons can be
// forged, and with new ones those no longer work.
func TestNewKeysEndForgedButtons(t *testing.T) {
	t.Parallel()
	c, v := leakedClub(t)
	var key []byte
	owner := c.owner(t.Context())
	if err := owner.QueryRow(t.Context(), `SELECT value FROM secret WHERE name = 'mailed addresses'`).Scan(&key); err != nil {
		t.Fatal(err)
	}
	thief := notify.NewSigner(func() [][]byte { return [][]byte{key} })
	forged := thief.Sign(notify.Action{
		Do: notify.GoDeed, Club: c.id, Member: c.member["Brida"], VisitUID: v.UID, Sequence: v.Sequence, On: v.On, Expires: time.Now().Add(time.Hour),
	})
	c.stranger().get("/act/"+forged).says(http.StatusOK, "Quarry")
	if _, err := store.RotateKeys(t.Context(), c.database, 0, text.New("command.keys.ended")); err != nil {
		t.Fatal(err)
	}
	if err := c.store.ReloadKeys(t.Context()); err != nil {
		t.Fatal(err)
	}
	sender, err := notify.NewMaildir(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	again, err := notify.New(t.Context(), notify.Config{Store: c.store, Sender: sender, PublicURL: c.server.cfg.PublicURL, From: netmail.Address{Address: "bees@example.org"}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := again.Signer().Verify(forged, time.Now()); !errors.Is(err, notify.ErrForged) {
		t.Errorf("after a start with new keys: %v", err)
	}
}

// owner is a connection of the owner of the tables.
func (c *testClub) owner(ctx context.Context) *pgx.Conn {
	c.t.Helper()
	owner, err := pgx.Connect(ctx, c.database)
	if err != nil {
		c.t.Fatal(err)
	}
	c.t.Cleanup(func() { owner.Close(context.Background()) })
	return owner
}

// dump is every row of every table, as the owner of the database reads them.
func (c *testClub) dump() string {
	c.t.Helper()
	ctx := context.Background()
	owner := c.owner(ctx)
	rows, err := owner.Query(ctx, `SELECT relname FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'r'`)
	if err != nil {
		c.t.Fatal(err)
	}
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		c.t.Fatal(err)
	}
	var out strings.Builder
	for _, table := range tables {
		rows, err := owner.Query(ctx, `SELECT row_to_json(t)::text FROM `+pgx.Identifier{table}.Sanitize()+` t`)
		if err != nil {
			c.t.Fatal(err)
		}
		lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil {
			c.t.Fatal(err)
		}
		out.WriteString(strings.Join(lines, "\n"))
	}
	return out.String()
}

func unfolded(calendar string) string {
	return strings.ReplaceAll(strings.ReplaceAll(calendar, "\r\n ", ""), `\,`, ",")
}
