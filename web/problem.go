package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"strings"
	"unicode/utf8"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// problem is an answer that a person can act on.
type problem struct {
	status      int
	title, text text.Text
}

// newProblem makes a problem of two texts: key.title is its heading, key.text
// says what a person can do, and takes the arguments.
func newProblem(status int, key string, args ...any) *problem {
	return &problem{status, text.New(key + ".title"), text.New(key+".text", args...)}
}

// Error says the problem in English, for logs and tests.
func (p *problem) Error() string {
	english := &text.Speaker{}
	return english.Tell(p.title) + ": " + english.Tell(p.text)
}

func (s *Server) nothingHere(http.ResponseWriter, *http.Request) error {
	return newProblem(http.StatusNotFound, "problem.nothing-here")
}

// readable returns a problem for an address with what is no text: no page asks
// the database for that.
func readable(r *http.Request) error {
	parts := []string{r.URL.Path}
	for name, values := range r.URL.Query() {
		parts = append(append(parts, name), values...)
	}
	for _, s := range parts {
		if !isText(s) {
			return newProblem(http.StatusBadRequest, "problem.unreadable")
		}
	}
	return nil
}

// isText reports whether s is Unicode without NUL, as PostgreSQL takes it.
func isText(s string) bool { return utf8.ValidString(s) && !strings.ContainsRune(s, 0) }

type problemView struct {
	Title, Text text.Text
	SignIn      bool   // nobody is signed in
	Visit       string // path of the visit that is not as it was; empty for none
}

// answer turns a handler's error into a page.
func (s *Server) answer(h func(http.ResponseWriter, *http.Request) error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		err := readable(r)
		if err == nil {
			err = h(w, r)
		}
		if err == nil {
			return
		}
		if p := problemOf(err); p != nil {
			s.explainTo(w, r, p)
		} else {
			s.fail(w, r, err)
		}
	})
}

// explainTo answers with a problem: to a member who is signed in, with the menu
// around it.
func (s *Server) explainTo(w http.ResponseWriter, r *http.Request, p *problem) {
	who, club := s.known(r)
	if club == nil || wantsProblem(r) {
		s.explain(w, r, p, s.reader(r))
		return
	}
	v := problemView{Title: p.title, Text: p.text}
	if uid := r.PathValue("uid"); uid != "" && p.status == http.StatusConflict {
		v.Visit = visitPath(uid)
	}
	if err := s.showTo(w, r, who, club, p.status, "problem", speaker(club, who.MemberID).Tell(p.title), v); err != nil {
		s.cfg.Logger.Error("page failed", "route", r.Pattern, "err", err)
	}
}

// known is the member who is signed in and their club without its hives; nil for a
// stranger, and where that cannot be read.
func (s *Server) known(r *http.Request) (who *visitor, club *scheduler.Club) {
	who, err := s.visitor(r)
	if err != nil || who == nil {
		return nil, nil
	}
	err = s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) error {
		club, err = tx.Apiaries(r.Context())
		return err
	})
	if err != nil {
		return nil, nil
	}
	return who, club
}

// explain answers with a problem where nothing is known of who asks but how to
// speak to them.
func (s *Server) explain(w http.ResponseWriter, r *http.Request, p *problem, say *text.Speaker) {
	if wantsProblem(r) {
		if err := tellProblem(w, p.status, say.Tell(p.title), say.Tell(p.text)); err != nil {
			s.cfg.Logger.Error("answer failed", "route", r.Pattern, "err", err)
		}
		return
	}
	v := view{Title: say.Tell(p.title), Page: problemView{Title: p.title, Text: p.text, SignIn: p.status != http.StatusInternalServerError}, say: say}
	if err := s.show(w, r, p.status, "problem", v); err != nil {
		s.cfg.Logger.Error("page failed", "route", r.Pattern, "err", err)
	}
}

// problemJSON is the media type of RFC 9457, in which a script is told what a
// page would say.
const problemJSON = "application/problem+json"

func wantsProblem(r *http.Request) bool { return r.Header.Get("Accept") == problemJSON }

func tellProblem(w http.ResponseWriter, status int, title, detail string) error {
	w.Header().Set("Content-Type", problemJSON)
	w.Header().Set("Cache-Control", "private, no-store")
	w.WriteHeader(status)
	return json.NewEncoder(w).Encode(map[string]any{"title": title, "status": status, "detail": detail})
}

// errorProblems say what a person can do about an error of the store.
var errorProblems = []struct {
	err    error
	status int
	key    string
}{
	{store.ErrNotFound, http.StatusNotFound, "problem.no-record"},
	{store.ErrVisitChanged, http.StatusConflict, "problem.visit-changed"},
	{store.ErrStackChanged, http.StatusConflict, "problem.stack-changed"},
	{store.ErrSuperseded, http.StatusConflict, "problem.corrected"},
	{store.ErrTakenBack, http.StatusConflict, "problem.taken-back"},
	{store.ErrStandstill, http.StatusConflict, "problem.standstill"},
	{store.ErrMarkTaken, http.StatusUnprocessableEntity, "problem.mark-taken"},
	{store.ErrBackwards, http.StatusUnprocessableEntity, "problem.backwards"},
	{store.ErrTooManyPhotos, http.StatusConflict, "problem.photos-too-many"},
	{store.ErrExists, http.StatusConflict, "problem.exists"},
	{store.ErrNotEmpty, http.StatusConflict, "problem.not-empty"},
	{store.ErrLastOrganiser, http.StatusConflict, "problem.last-organiser"},
}

// problemOf says what a person can do about an error; nil when it is ours.
func problemOf(err error) *problem {
	var p *problem
	if errors.As(err, &p) {
		return p
	}
	for _, e := range errorProblems {
		if errors.Is(err, e.err) {
			return newProblem(e.status, e.key)
		}
	}
	return nil
}

// stranger speaks to whoever is not known, in the language that their browser
// asks for.
func stranger(r *http.Request) *text.Speaker {
	return text.ForBrowser(r.Header.Get("Accept-Language"), "")
}

// speaker speaks to a member, in their language and units.
func speaker(club *scheduler.Club, member int64) *text.Speaker {
	if m := club.Member(member); m != nil {
		return text.In(m.Language, m.Units)
	}
	return &text.Speaker{}
}

// reader speaks to whoever asks where no records were read, as when that
// failed: the member who is signed in, or else a stranger.
func (s *Server) reader(r *http.Request) *text.Speaker {
	who, err := s.visitor(r)
	if err != nil || who == nil {
		return stranger(r)
	}
	say := stranger(r)
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error {
		m, err := tx.Member(r.Context(), who.MemberID)
		if err == nil {
			say = text.In(m.Language, m.Units)
		}
		return err
	})
	if err != nil {
		return stranger(r)
	}
	return say
}
