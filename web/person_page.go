package web

import (
	"errors"
	"net/http"
	"strings"

	"pryday/scheduler/text"
	"pryday/store"
)

// eraseView asks whether a person is to be erased.
type eraseView struct {
	Clubs    []string
	Address  string
	Typed    string
	Problems map[string]text.Text
}

// personData gives a person all that is kept about them, as a file.
func (s *Server) personData(w http.ResponseWriter, r *http.Request, who *visitor) error {
	data, err := s.cfg.Store.PersonData(r.Context(), who.PersonID)
	if err != nil {
		return err
	}
	if err := s.cfg.Store.NotePerson(r.Context(), who.PersonID, store.TookData); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Content-Disposition", `attachment; filename="pryday-about-me.json"`)
	h.Set("Cache-Control", "private, no-store")
	_, err = w.Write(data)
	return err
}

// askErase says what goes and what stays.
func (s *Server) askErase(w http.ResponseWriter, r *http.Request, who *visitor) error {
	return s.showErase(w, r, who, http.StatusOK, "", nil)
}

func (s *Server) showErase(w http.ResponseWriter, r *http.Request, who *visitor, status int, typed string, problems map[string]text.Text) error {
	club, m, err := s.ownRecord(r, who)
	if err != nil {
		return err
	}
	v := eraseView{Address: who.person.Email, Typed: typed, Problems: problems}
	for _, c := range who.clubs {
		v.Clubs = append(v.Clubs, c.ClubName)
	}
	return s.showTo(w, r, who, club, status, "erase", speaker(club, m.ID).Say("page.erase.title"), v)
}

// erase takes the person out of all clubs, once they have typed their address.
func (s *Server) erase(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	typed := strings.TrimSpace(f.values.Get("address"))
	if !strings.EqualFold(typed, who.person.Email) {
		f.bad("address", "page.erase.other-address", who.person.Email)
		return s.showErase(w, r, who, http.StatusUnprocessableEntity, f.values.Get("address"), f.Problems)
	}
	say := s.reader(r)
	err = s.cfg.Store.ErasePerson(r.Context(), who.PersonID)
	var last *store.LastOrganiserError
	switch {
	case errors.As(err, &last):
		f.bad("address", "page.erase.last-organiser", last.Clubs)
		return s.showErase(w, r, who, http.StatusConflict, typed, f.Problems)
	case err != nil:
		return err
	}
	if err := s.sessions.Destroy(r.Context()); err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, "erased", view{say: say, Title: say.Say("page.erase.done-title")})
}
