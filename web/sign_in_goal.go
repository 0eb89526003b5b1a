package web

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"strconv"
	"strings"
	"time"
)

// A stranger is sent to sign in and then to the page that was asked for. The
// page is kept in a cookie and nowhere else: whoever asks for pages without an
// account leaves nothing behind here.
const (
	goalCookie  = "pryday-goal"
	goalPath    = "/sign-in"
	goalMinutes = 60
	longestGoal = 500 // characters
)

// keepGoal remembers where a stranger wanted to go.
func (s *Server) keepGoal(w http.ResponseWriter, r *http.Request) error {
	goal := r.URL.RequestURI()
	if r.Method != http.MethodGet || forPhone(r) || len(goal) > longestGoal {
		return nil
	}
	key, err := s.goalKey(r.Context())
	if err != nil {
		return err
	}
	until := time.Now().Add(goalMinutes * time.Minute)
	s.setGoal(w, sealGoal(key, goal, until), goalMinutes*60)
	return nil
}

// takeGoal returns where whoever signs in wanted to go, and forgets it.
func (s *Server) takeGoal(w http.ResponseWriter, r *http.Request) (string, error) {
	c, err := r.Cookie(goalCookie)
	if err != nil {
		return "/", nil //nolint:nilerr // there is none
	}
	key, err := s.goalKey(r.Context())
	if err != nil {
		return "", err
	}
	s.setGoal(w, "", -1)
	goal := openGoal(key, c.Value, time.Now())
	if !strings.HasPrefix(goal, "/") || strings.HasPrefix(goal, "//") {
		return "/", nil
	}
	return goal, nil
}

func (s *Server) setGoal(w http.ResponseWriter, value string, seconds int) {
	http.SetCookie(w, &http.Cookie{
		Name: goalCookie, Value: value, Path: goalPath, MaxAge: seconds,
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.cfg.PublicURL.Scheme == "https",
	})
}

// goalKey is the installation's, so that every daemon reads what another wrote.
func (s *Server) goalKey(ctx context.Context) ([]byte, error) {
	if key := s.goals.Load(); key != nil {
		return *key, nil
	}
	key, err := s.cfg.Store.Secret(ctx, "goal")
	if err == nil {
		s.goals.Store(&key)
	}
	return key, err
}

// sealGoal writes a goal, until when it holds, and a signature of both.
func sealGoal(key []byte, goal string, until time.Time) string {
	said := strconv.FormatInt(until.Unix(), 10) + " " + goal
	return encodeGoal([]byte(said)) + "." + encodeGoal(signGoal(key, said))
}

// openGoal returns what sealGoal wrote; empty for what it did not, or too long ago.
func openGoal(key []byte, value string, now time.Time) string {
	said, signature, _ := strings.Cut(value, ".")
	saidBytes, err := base64.RawURLEncoding.DecodeString(said)
	signed, err2 := base64.RawURLEncoding.DecodeString(signature)
	if err != nil || err2 != nil || !hmac.Equal(signed, signGoal(key, string(saidBytes))) {
		return ""
	}
	until, goal, _ := strings.Cut(string(saidBytes), " ")
	if seconds, err := strconv.ParseInt(until, 10, 64); err != nil || now.Unix() > seconds {
		return ""
	}
	return goal
}

func signGoal(key []byte, said string) []byte {
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte(goalCookie + " " + said))
	return mac.Sum(nil)
}

func encodeGoal(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }
