package web

import (
	"net/http"
	"net/url"
	"testing"
)

func TestPasskeysAreOfferedWhereBrowsersTakeThem(t *testing.T) {
	t.Parallel()
	for address, want := range map[string]bool{
		"https://bees.example.org":     true,
		"https://bees.example.org:444": true,
		"http://localhost:8080":        true,
		"http://bees.example.org":      false, // without TLS
		"http://127.0.0.1:8080":        false, // no name
		"https://[::1]:8080":           false,
	} {
		u, err := url.Parse(address)
		if err != nil {
			t.Fatal(err)
		}
		w, err := newPasskeys(u)
		if err != nil || (w != nil) != want {
			t.Errorf("%s: %v (%v), want %v", address, w != nil, err, want)
		}
	}
}

func TestPasskeysRefuseForgedAnswers(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Brida")
	forged := fields("id", "x")
	b.post("/passkeys", forged).says(http.StatusForbidden, "did not fit") // nothing was asked
	b.post("/passkeys/ask", nil).says(http.StatusOK, "challenge")
	b.post("/passkeys", forged).says(http.StatusForbidden, "did not fit")
	b.post("/passkeys", forged).says(http.StatusForbidden, "did not fit") // the question is used up
	s := c.stranger()
	s.post("/sign-in/passkey/ask", nil).says(http.StatusOK, "challenge").hides("brida", "allowCredentials\":[{")
	s.post("/sign-in/passkey", forged).says(http.StatusForbidden, "did not fit")
	s.get("/").says(http.StatusSeeOther)
	b.post("/passkeys/remove", fields("passkey", "999", "sure", "yes")).says(http.StatusNotFound)
}
