package web

import (
	"encoding/json"
	"net/http"
)

// notice is what the page after a change says first: what happened, what
// followed from it, and how to take it back.
type notice struct {
	Text  string
	Lines []string
	Undo  *undo
}

// undo is a form that takes a change back.
type undo struct {
	Label  string
	Action string
	Fields [][2]string
}

// done keeps a notice for the next page and goes there.
func (s *Server) done(w http.ResponseWriter, r *http.Request, to string, n notice) error {
	if err := s.leave(r, n); err != nil {
		return err
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// leave keeps a notice for the next page.
func (s *Server) leave(r *http.Request, n notice) error {
	b, err := json.Marshal(n)
	if err != nil {
		return err
	}
	s.sessions.Put(r.Context(), keyNotice, string(b))
	return nil
}

// notice takes what the page before left to say; nil for nothing.
func (s *Server) notice(r *http.Request) *notice {
	if forPhone(r) {
		return nil
	}
	text := s.sessions.PopString(r.Context(), keyNotice)
	if text == "" {
		return nil
	}
	var n notice
	if json.Unmarshal([]byte(text), &n) != nil {
		return nil
	}
	return &n
}
