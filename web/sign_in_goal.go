package web

import (
	"net/http"
	"strings"
	"time"
)

// A stranger is sent to sign in and then to the page that was asked for. The
// page is kept in a cookie and nowhere else: whoever asks for pages without an
// account leaves nothing behind here.
const (
	goalCookie  = "pryday-goal"
	goalMinutes = 60
	longestGoal = 500 // characters
)

// keepGoal remembers where a stranger wanted to go.
func (s *Server) keepGoal(w http.ResponseWriter, r *http.Request) error {
	goal := r.URL.RequestURI()
	if r.Method != http.MethodGet || forPhone(r) || len(goal) > longestGoal {
		return nil
	}
	keys, err := s.cookieKeys(r.Context())
	if err != nil {
		return err
	}
	until := time.Now().Add(goalMinutes * time.Minute)
	s.setSignInCookie(w, goalCookie, seal(keys.Signing(), goalCookie, goal, until), goalMinutes*60)
	return nil
}

// takeGoal returns where whoever signs in wanted to go, and forgets it.
func (s *Server) takeGoal(w http.ResponseWriter, r *http.Request) (string, error) {
	c, err := r.Cookie(goalCookie)
	if err != nil {
		return "/", nil //nolint:nilerr // there is none
	}
	keys, err := s.cookieKeys(r.Context())
	if err != nil {
		return "", err
	}
	s.setSignInCookie(w, goalCookie, "", -1)
	goal := unseal(keys.Valid(), goalCookie, c.Value, time.Now())
	if !strings.HasPrefix(goal, "/") || strings.HasPrefix(goal, "//") {
		return "/", nil
	}
	return goal, nil
}
