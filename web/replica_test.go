package web

import (
	"net/http"
	"strings"
	"testing"

	"pryday/store/storetest"
)

// TestWritersAreToldHowFarTheDatabaseIs: where there is a replica, whoever changed
// something reads no less from then on; nobody else gets the cookie. A replica that
// follows nobody is not read from, and the primary answers.
func TestWritersAreToldHowFarTheDatabaseIs(t *testing.T) {
	t.Parallel()
	database := storetest.From(t, "served", fillServed)
	c := serveFrom(t, database, storetest.Serving(database))
	b := c.as("Ansel")
	month := b.get("/month")
	if month.status != http.StatusOK || strings.Contains(month.header.Get("Set-Cookie"), seenCookie) {
		t.Errorf("the month: %d, %q", month.status, month.header.Get("Set-Cookie"))
	}
	saved := b.post("/links", fields("label", "phone", "kind", "club"))
	cookies := strings.Join(saved.header.Values("Set-Cookie"), "; ")
	if saved.status != http.StatusOK || !strings.Contains(cookies, seenCookie+"=") || !strings.Contains(cookies, "Max-Age=60") {
		t.Errorf("after a change: %d, cookies %q", saved.status, cookies)
	}
	for _, path := range []string{"/month", "/year", "/find?q=a", "/records/file"} {
		if got := b.get(path); got.status != http.StatusOK {
			t.Errorf("%s: %d", path, got.status)
		}
	}
	state := c.store.ReplicaState()
	if !state.Configured || state.Used || state.Reads != 0 || state.PrimaryReads == 0 {
		t.Errorf("a server that follows nobody is read from: %+v", state)
	}
}

// TestAStopIsToldBefore: what stands before the service hears that it stops
// while it still answers.
func TestAStopIsToldBefore(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	stranger := c.stranger()
	if got := stranger.get("/readyz"); got.status != http.StatusOK {
		t.Fatalf("ready is %d", got.status)
	}
	c.server.Drain()
	if got := stranger.get("/readyz"); got.status != http.StatusServiceUnavailable || !strings.Contains(got.body, "stops") {
		t.Errorf("ready is %d, %q", got.status, got.body)
	}
	for _, path := range []string{"/healthz", "/guide", "/sign-in"} {
		if got := stranger.get(path); got.status != http.StatusOK {
			t.Errorf("%s: %d", path, got.status)
		}
	}
}
