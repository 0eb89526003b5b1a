package web

import (
	"context"
	"net/http"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// patterns are the addresses of all pages, as they stand in the code.
func patterns(t *testing.T) (out []string) {
	t.Helper()
	listed := regexp.MustCompile(`\b(?:page|member|lead|organiser)\("((?:GET|POST) [^"]+)"`)
	for _, file := range []string{"server.go", "club_routes.go"} {
		code, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range listed.FindAllStringSubmatch(string(code), -1) {
			out = append(out, m[1])
		}
	}
	if len(out) < 60 {
		t.Fatalf("only %d addresses found", len(out))
	}
	return out
}

// sessionsLeft says when the sessions end that are kept.
func (c *testClub) sessionsLeft() (ends []time.Time) {
	c.t.Helper()
	conn, err := pgx.Connect(context.Background(), c.database)
	if err != nil {
		c.t.Fatal(err)
	}
	defer conn.Close(context.Background())
	rows, err := conn.Query(context.Background(), `SELECT expiry FROM sessions`)
	if err != nil {
		c.t.Fatal(err)
	}
	ends, err = pgx.CollectRows(rows, pgx.RowTo[time.Time])
	if err != nil {
		c.t.Fatal(err)
	}
	return ends
}

// TestStrangersLeaveNothing: whatever is asked for without an account, nothing of
// it is stored; only a device that is asked for a key has minutes to answer.
func TestStrangersLeaveNothing(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	wild := regexp.MustCompile(`\{[^}]*\}`)
	for _, p := range patterns(t) {
		method, path, _ := strings.Cut(p, " ")
		path = wild.ReplaceAllStringFunc(path, func(w string) string {
			if w == "{$}" {
				return ""
			}
			return "x"
		})
		c.stranger().send(method, path, fields("email", "nobody@example.org"), nil)
		left := c.sessionsLeft()
		if p == "POST /sign-in/passkey/ask" {
			if len(left) != 1 || time.Until(left[0]) > ceremonyMinutes*time.Minute {
				t.Errorf("%s leaves sessions until %v", p, left)
			}
			c.asOwner(`DELETE FROM sessions`)
			continue
		}
		if len(left) > 0 {
			t.Fatalf("%s leaves a session until %s", p, left[0])
		}
	}
}

func TestSigningInLeadsWhereOneWantedToGo(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	goal := visitPath(c.visit("Quarry").UID) + "?club=" + itoa(c.id)
	token := func() string {
		t.Helper()
		token, err := c.store.NewSignIn(t.Context(), c.person["Brida"], time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		return "/sign-in/" + token
	}
	led := func(b *browser) string {
		t.Helper()
		got := b.post(token(), nil)
		got.says(http.StatusSeeOther)
		return got.header.Get("Location")
	}
	b := c.stranger()
	asked := b.get(goal)
	asked.says(http.StatusSeeOther)
	cookie := asked.header.Get("Set-Cookie")
	for _, part := range []string{"Path=/sign-in;", "Max-Age=3600;", "HttpOnly;", "SameSite=Lax"} {
		if !strings.Contains(cookie, part) {
			t.Errorf("the cookie lacks %s: %s", part, cookie)
		}
	}
	if got := led(b); got != goal {
		t.Errorf("led to %s, want %s", got, goal)
	}
	b.post("/sign-out", nil)
	if got := led(b); got != "/" {
		t.Errorf("led to %s once more", got)
	}
	b = c.stranger()
	b.get("/apiaries?q=" + strings.Repeat("a", longestGoal))
	if got := led(b); got != "/" {
		t.Errorf("led to %d characters", len(got))
	}
	b = c.stranger()
	b.post("/preferences", fields("name", "x"))
	if got := led(b); got != "/" {
		t.Errorf("led to the change %s", got)
	}
}

func TestForgedGoalsLeadNowhere(t *testing.T) {
	t.Parallel()
	key, old, now := []byte("a key"), []byte("the one before"), time.Now()
	sealed := seal(key, goalCookie, "/visit/1", now)
	for name, tt := range map[string]struct {
		value string
		at    time.Time
		want  string
	}{
		"its own":           {sealed, now, "/visit/1"},
		"of the key before": {seal(old, goalCookie, "/visit/1", now), now, "/visit/1"},
		"too late":          {sealed, now.Add(2 * time.Second), ""},
		"another key":       {seal([]byte("another"), goalCookie, "/visit/1", now), now, ""},
		"another cookie's":  {seal(key, knownCookie, "/visit/1", now), now, ""},
		"another end":       {encodeCookie([]byte("99999999999 /visit/1")) + sealed[strings.Index(sealed, "."):], now, ""},
		"unsigned":          {strings.TrimRight(sealed[:strings.Index(sealed, ".")], "."), now, ""},
		"no signature":      {sealed[:strings.Index(sealed, ".")+1], now, ""},
		"nothing":           {"", now, ""},
		"no base64":         {"!.!", now, ""},
	} {
		if got := unseal([][]byte{key, old}, goalCookie, tt.value, tt.at); got != tt.want {
			t.Errorf("%s: %q, want %q", name, got, tt.want)
		}
	}
}
