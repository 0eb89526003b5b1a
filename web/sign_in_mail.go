package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"pryday/store"
)

// mostAsked is how many requests for a sign-in mail wait for their turn.
const mostAsked = 200

// signInAsked is one request for a mail that signs in.
type signInAsked struct {
	person *store.Person // nil where the address is nobody's
	known  bool          // by a browser that the person signed in with before
}

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

// mailSignIn answers alike, after the same work, whether or not the address is
// known, so that nobody can try out who is a member: what is done about a known
// one is done after the answer.
func (s *Server) mailSignIn(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, 4096)
	address := strings.TrimSpace(r.PostFormValue("email"))
	title := stranger(r).Say("mail.sign-in.button")
	v := signInView{Address: address, Minutes: signInMinutes, Passkeys: s.passkeys != nil}
	if len(address) > 254 || !strings.Contains(address, "@") {
		v.Wrong = true
		return s.show(w, r, http.StatusUnprocessableEntity, "sign-in", view{Title: title, Page: v})
	}
	people, err := s.knownHere(r)
	if err != nil {
		return err
	}
	person, err := s.cfg.Store.PersonByEmail(r.Context(), address)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return err
	}
	asked := signInAsked{person: person, known: person != nil && slices.Contains(people, person.ID)}
	from := s.cfg.Proxies.Source(r) + " " + strings.ToLower(address)
	if asked.known { // others behind the same connection do not count
		from = "known " + strings.ToLower(address)
	}
	if s.limits.signInsOf.Take(from) == 0 {
		select {
		case s.asked <- asked:
		default:
			return tooOften(w, 10*time.Second)
		}
	}
	v.Sent = true
	return s.show(w, r, http.StatusOK, "sign-in", view{Title: title, Page: v})
}

// mailSignIns owes the mails that were asked for, one after the other, until ctx
// ends and the last one is owed.
func (s *Server) mailSignIns(ctx context.Context) {
	for {
		select {
		case a := <-s.asked:
			s.mailOneSignIn(a)
			continue
		case <-ctx.Done():
		}
		select {
		case a := <-s.asked:
			s.mailOneSignIn(a)
		default:
			return
		}
	}
}

func (s *Server) mailOneSignIn(a signInAsked) {
	if a.person == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	defer cancel()
	err := s.cfg.Notify.SignIn(ctx, a.person, a.known)
	if err != nil && !errors.Is(err, store.ErrNotFound) { // a person of no club
		s.cfg.Logger.Error("no sign-in mail was owed", "person", a.person.ID, "err", err)
	}
}

// SignInAddress is the address that signs in with a token.
func (s *Server) SignInAddress(token string) string {
	return s.cfg.PublicURL.JoinPath("sign-in", token).String()
}

type confirmView struct{ Spent bool }

// confirmSignIn shows a button, because mail scanners follow addresses and
// would use the token up. Who follows one again from a browser that is signed in is where
// they wanted to be.
func (s *Server) confirmSignIn(w http.ResponseWriter, r *http.Request) error {
	_, err := s.cfg.Store.PeekSignIn(r.Context(), r.PathValue("token"))
	if errors.Is(err, store.ErrTokenSpent) {
		who, err := s.visitor(r)
		if err != nil {
			return err
		}
		if who != nil {
			http.Redirect(w, r, "/", http.StatusSeeOther)
			return nil
		}
	}
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
	person, signIn, err := s.cfg.Store.UseSignIn(r.Context(), r.PathValue("token"), s.device(r))
	if err != nil {
		return s.confirm(w, r, err)
	}
	if err := s.begin(w, r, person, signIn); err != nil {
		return err
	}
	goal, err := s.takeGoal(w, r)
	if err != nil {
		return err
	}
	http.Redirect(w, r, goal, http.StatusSeeOther)
	return nil
}
