package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"time"

	"github.com/alexedwards/scs/v2"

	"pryday/scheduler"
	"pryday/store"
)

const (
	sessionDays   = 90
	signInMinutes = 30

	keyPerson = "person"  // id of who is signed in
	keySignIn = "sign-in" // id of the sign-in that it holds as long as
	keyBegan  = "began"   // microseconds since 1970 at the sign-in, in sessions of earlier versions
	keyClub   = "club"    // id of the club being looked at
	keyNotice = "notice"  // what the next page says first
	keySaved  = "saved"   // what the next form says was saved
)

// newSessions is scs.New without the store in memory, which that begins to tidy
// and which nothing ends. See forgetSessions.
func newSessions(kept scs.Store, https bool) *scs.SessionManager {
	return &scs.SessionManager{
		Store:            kept,
		HashTokenInStore: true,
		Lifetime:         sessionDays * 24 * time.Hour,
		Codec:            scs.GobCodec{},
		Cookie: scs.SessionCookie{
			Name: "pryday", Path: "/", HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: https, Persist: true,
		},
	}
}

// forgetSessions deletes the sessions that are over, each hour until ctx ends.
func (s *Server) forgetSessions(ctx context.Context) {
	each := time.NewTicker(time.Hour)
	defer each.Stop()
	for {
		switch err := s.cfg.Store.ForgetSessions(ctx); {
		case err == nil || ctx.Err() != nil:
		case store.Away(err):
			s.outages.note(s.cfg.Logger, "forget old sessions", err)
		default:
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
	signIn int64 // of this session
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
	id, signIn := s.sessions.GetInt64(ctx, keyPerson), s.sessions.GetInt64(ctx, keySignIn)
	if id == 0 {
		return nil, nil
	}
	var err error
	if signIn == 0 {
		signIn, err = s.takeOver(r, id)
	}
	var person *store.Person
	var clubs, ended []store.Membership
	if err == nil {
		person, clubs, ended, err = s.cfg.Store.SignedIn(ctx, id, signIn)
	}
	if errors.Is(err, store.ErrNotFound) || err == nil && len(clubs) == 0 && len(ended) > 0 {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if len(clubs) == 0 {
		return nil, newProblem(http.StatusForbidden, "problem.no-club")
	}
	who := &visitor{person, signIn, clubs[0], clubs}
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
	case asked != "" && slices.ContainsFunc(ended, func(c store.Membership) bool { return c.ClubID == wanted }):
		return nil, nil
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

// begin makes the session a person's, under a new token and as long as sessions
// last.
func (s *Server) begin(w http.ResponseWriter, r *http.Request, person, signIn int64) error {
	ctx := r.Context()
	if err := s.sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.sessions.Put(ctx, keyPerson, person)
	s.sessions.Put(ctx, keySignIn, signIn)
	return s.knowHere(w, r, person)
}

// takeOver makes a sign-in of a session of an earlier version, so that it can be
// ended like all others.
func (s *Server) takeOver(r *http.Request, person int64) (signIn int64, err error) {
	began := time.UnixMicro(s.sessions.GetInt64(r.Context(), keyBegan))
	if signIn, err = s.cfg.Store.TakeOverSession(r.Context(), person, began, s.device(r)); err == nil {
		s.sessions.Put(r.Context(), keySignIn, signIn)
	}
	return signIn, err
}

func (s *Server) signOut(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	err := s.cfg.Store.EndSignIn(ctx, s.sessions.GetInt64(ctx, keyPerson), s.sessions.GetInt64(ctx, keySignIn))
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return err
	}
	if err := s.sessions.Destroy(ctx); err != nil {
		return err
	}
	s.forgetSpoken(w)
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}
