package web

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"github.com/alexedwards/scs/pgxstore"
	"github.com/alexedwards/scs/v2"
	"github.com/jackc/pgx/v5/pgxpool"

	"pryday/scheduler"
	"pryday/store"
)

const (
	sessionDays   = 90
	signInMinutes = 30

	keyPerson = "person" // id of who is signed in
	keyBegan  = "began"  // microseconds since 1970 at the sign-in
	keyClub   = "club"   // id of the club being looked at
	keyNotice = "notice" // what the next page says first
	keySaved  = "saved"  // what the next form says was saved
)

// newSessions is scs.New without the store in memory, which that begins to tidy
// and which nothing ends; nor can the tidying of pgxstore be ended without a
// race. See forgetSessions.
func newSessions(pool *pgxpool.Pool, https bool, log *slog.Logger) *scs.SessionManager {
	return &scs.SessionManager{
		Store:            pgxstore.NewWithCleanupInterval(pool, 0),
		HashTokenInStore: true,
		Lifetime:         sessionDays * 24 * time.Hour,
		Codec:            scs.GobCodec{},
		Cookie: scs.SessionCookie{
			Name: "pryday", Path: "/", HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: https, Persist: true,
		},
		ErrorFunc: func(w http.ResponseWriter, _ *http.Request, err error) {
			log.Error("sessions", "err", err)
			http.Error(w, http.StatusText(http.StatusInternalServerError), http.StatusInternalServerError)
		},
	}
}

// forgetSessions deletes the sessions that are over, each hour until ctx ends.
func (s *Server) forgetSessions(ctx context.Context) {
	each := time.NewTicker(time.Hour)
	defer each.Stop()
	for {
		if err := s.cfg.Store.ForgetSessions(ctx); err != nil && ctx.Err() == nil {
			s.cfg.Logger.Error("forget old sessions", "err", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-each.C:
		}
	}
}

// visitor is who asks, and in which club. Whoever comes with a mailed address
// instead of a session has no person and no role.
type visitor struct {
	person *store.Person
	store.Membership
	clubs []store.Membership // of the person
}

// signedIn lets members through and sends everybody else to sign in.
func (s *Server) signedIn(h func(http.ResponseWriter, *http.Request, *visitor) error) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		who, err := s.visitor(r)
		if err != nil {
			return err
		}
		if who == nil {
			if err := s.keepGoal(w, r); err != nil {
				return err
			}
			http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
			return nil
		}
		return h(w, r, who)
	}
}

// visitor reads the session; nil when nobody is signed in.
func (s *Server) visitor(r *http.Request) (*visitor, error) {
	ctx := r.Context()
	id := s.sessions.GetInt64(ctx, keyPerson)
	if id == 0 {
		return nil, nil
	}
	person, clubs, err := s.cfg.Store.PersonWithClubs(ctx, id)
	if errors.Is(err, store.ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if time.UnixMicro(s.sessions.GetInt64(ctx, keyBegan)).Before(person.SessionsSince) {
		return nil, nil
	}
	if len(clubs) == 0 {
		return nil, newProblem(http.StatusForbidden, "problem.no-club")
	}
	who := &visitor{person, clubs[0], clubs}
	wanted := s.sessions.GetInt64(ctx, keyClub)
	asked := r.URL.Query().Get("club") // mails and calendars say which club they mean
	if asked != "" {
		wanted = parseID(asked)
	}
	found := false
	for _, c := range clubs {
		if c.ClubID == wanted {
			who.Membership, found = c, true
		}
	}
	switch {
	case asked != "" && !found:
		return nil, fmt.Errorf("club %s: %w", cut(asked), store.ErrNotFound)
	case found && wanted != s.sessions.GetInt64(ctx, keyClub):
		s.sessions.Put(ctx, keyClub, wanted)
	}
	return who, nil
}

// organiser lets organisers through.
func (s *Server) organiser(h func(http.ResponseWriter, *http.Request, *visitor) error) func(http.ResponseWriter, *http.Request) error {
	return s.signedIn(func(w http.ResponseWriter, r *http.Request, who *visitor) error {
		if who.Role != scheduler.Organiser {
			return errNotYours
		}
		return h(w, r, who)
	})
}

var errNotYours = newProblem(http.StatusForbidden, "problem.not-yours")

type signInView struct {
	Passkeys bool
	Address  string
	Wrong    bool // the address is none
	Sent     bool
	Minutes  int
}

func (s *Server) askSignIn(w http.ResponseWriter, r *http.Request) error {
	title := stranger(r).Say("mail.sign-in.button")
	return s.show(w, r, http.StatusOK, "sign-in", view{Title: title, Page: signInView{Passkeys: s.passkeys != nil}})
}

// mailSignIn answers alike whether or not the address is known, so that
// nobody can try out who is a member.
func (s *Server) mailSignIn(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, 4096)
	address := strings.TrimSpace(r.PostFormValue("email"))
	title := stranger(r).Say("mail.sign-in.button")
	v := signInView{Address: address, Minutes: signInMinutes, Passkeys: s.passkeys != nil}
	if len(address) > 254 || !strings.Contains(address, "@") {
		v.Wrong = true
		return s.show(w, r, http.StatusUnprocessableEntity, "sign-in", view{Title: title, Page: v})
	}
	person, err := s.cfg.Store.PersonByEmail(r.Context(), address)
	switch {
	case errors.Is(err, store.ErrNotFound):
	case err != nil:
		return err
	default:
		err := s.cfg.Notify.SignIn(r.Context(), person)
		if err != nil && !errors.Is(err, store.ErrNotFound) { // a person of no club
			return err
		}
	}
	v.Sent = true
	return s.show(w, r, http.StatusOK, "sign-in", view{Title: title, Page: v})
}

// SignInAddress is the address that signs in with a token.
func (s *Server) SignInAddress(token string) string {
	return s.cfg.PublicURL.JoinPath("sign-in", token).String()
}

type confirmView struct{ Spent bool }

// confirmSignIn shows a button, because mail scanners follow addresses and
// would use the token up.
func (s *Server) confirmSignIn(w http.ResponseWriter, r *http.Request) error {
	_, err := s.cfg.Store.PeekSignIn(r.Context(), r.PathValue("token"))
	return s.confirm(w, r, err)
}

func (s *Server) confirm(w http.ResponseWriter, r *http.Request, err error) error {
	title := stranger(r).Say("mail.sign-in.button")
	switch {
	case errors.Is(err, store.ErrNotFound), errors.Is(err, store.ErrTokenSpent):
		return s.show(w, r, http.StatusGone, "confirm", view{Title: title, Page: confirmView{Spent: true}})
	case err != nil:
		return err
	}
	return s.show(w, r, http.StatusOK, "confirm", view{Title: title, Page: confirmView{}})
}

func (s *Server) signIn(w http.ResponseWriter, r *http.Request) error {
	person, err := s.cfg.Store.UseSignIn(r.Context(), r.PathValue("token"))
	if err != nil {
		return s.confirm(w, r, err)
	}
	if err := s.begin(r.Context(), person.ID); err != nil {
		return err
	}
	goal, err := s.takeGoal(w, r)
	if err != nil {
		return err
	}
	http.Redirect(w, r, goal, http.StatusSeeOther)
	return nil
}

// begin makes the session a person's, under a new token and as long as sessions
// last.
func (s *Server) begin(ctx context.Context, person int64) error {
	if err := s.sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.sessions.Put(ctx, keyPerson, person)
	s.sessions.Put(ctx, keyBegan, time.Now().UnixMicro())
	return nil
}

// signOutEverywhere ends this session and every other of the person.
func (s *Server) signOutEverywhere(w http.ResponseWriter, r *http.Request, who *visitor) error {
	if err := s.cfg.Store.SignOutEverywhere(r.Context(), who.PersonID); err != nil {
		return err
	}
	return s.signOut(w, r)
}

func (s *Server) signOut(w http.ResponseWriter, r *http.Request) error {
	if err := s.sessions.Destroy(r.Context()); err != nil {
		return err
	}
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}
