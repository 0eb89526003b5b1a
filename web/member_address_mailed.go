package web

import (
	"errors"
	"net/http"
	"strings"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// mailedAddressView asks whoever followed a mailed link about a change of
// address, or says that it was done.
type mailedAddressView struct {
	Club, Name string
	Email      string // that mail is to go to
	Undo       bool   // it went there before
	Done       bool
	SignedOut  bool
}

var errAddressSpent = newProblem(http.StatusGone, "problem.address-spent")

// mailedAddress is one mailed link about a change of address being answered.
type mailedAddress struct {
	s      *Server
	action notify.Action
	change *store.AddressChange
	club   *scheduler.Club
	member *scheduler.Member
}

// mailedAddress reads what a token of one of two deeds stands for.
func (s *Server) mailedAddress(r *http.Request, do notify.Deed) (*mailedAddress, error) {
	action, err := s.cfg.Notify.Signer().Verify(r.PathValue("token"), s.cfg.Clock.Now())
	switch {
	case errors.Is(err, notify.ErrExpired) && action.Do == do:
		return nil, errAddressSpent
	case err != nil || action.Do != do:
		return nil, errAddress
	}
	a := &mailedAddress{s: s, action: action}
	err = s.cfg.Store.InSnapshot(r.Context(), action.Club, func(tx *store.Tx) (err error) {
		if a.change, err = tx.AddressChange(r.Context(), action.Change); err != nil {
			return err
		}
		if a.member, err = tx.Member(r.Context(), action.Member); err != nil {
			return err
		}
		a.club, err = tx.Outline(r.Context())
		return err
	})
	if errors.Is(err, store.ErrNotFound) {
		err = errAddressSpent // its member left, or it was cleared
	}
	return a, err
}

// done reports whether the link was followed before and what it says still
// holds, as after a double click.
func (a *mailedAddress) done() bool {
	return a.change.Used && strings.EqualFold(a.change.Email, a.member.Email)
}

// askAddressLink shows a question and changes nothing: mail scanners follow
// addresses.
func (s *Server) askAddressLink(do notify.Deed) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		a, err := s.mailedAddress(r, do)
		if err != nil {
			return err
		}
		if !a.change.Open && !a.done() {
			return errAddressSpent
		}
		return a.show(w, r, a.done(), false)
	}
}

func (a *mailedAddress) show(w http.ResponseWriter, r *http.Request, done, signedOut bool) error {
	say := text.In(a.member.Language, a.member.Units)
	title := "mail.new-address.title"
	if a.change.Undo {
		title = "page.address.undo-title"
	}
	return a.s.show(w, r, http.StatusOK, "address-mailed", view{Title: say.Say(title), say: say, Page: mailedAddressView{
		Club: a.club.Name, Name: a.member.Name, Email: a.change.Email, Undo: a.change.Undo, Done: done, SignedOut: signedOut,
	}})
}

// confirmAddress has mail go to the new address. The link is enough: whoever
// has lost the old address can no longer sign in by mail.
func (s *Server) confirmAddress(w http.ResponseWriter, r *http.Request) error {
	return s.followAddressLink(w, r, notify.NewAddressDeed)
}

// undoAddress has mail go to the old address again, and ends every session
// where that is wished.
func (s *Server) undoAddress(w http.ResponseWriter, r *http.Request) error {
	return s.followAddressLink(w, r, notify.OldAddressDeed)
}

func (s *Server) followAddressLink(w http.ResponseWriter, r *http.Request, do notify.Deed) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	a, err := s.mailedAddress(r, do)
	if err != nil {
		return err
	}
	if do == notify.NewAddressDeed {
		err = s.cfg.Notify.ConfirmAddress(r.Context(), a.action)
	} else {
		err = s.cfg.Notify.UndoAddress(r.Context(), a.action)
	}
	everywhere := err == nil && do == notify.OldAddressDeed && f.has("everywhere")
	switch {
	case errors.Is(err, store.ErrExists):
		return newProblem(http.StatusConflict, "problem.address-taken", a.change.Email)
	case errors.Is(err, store.ErrTokenSpent), errors.Is(err, store.ErrNotFound):
		if a, err = s.mailedAddress(r, do); err == nil && !a.done() {
			err = errAddressSpent
		}
	}
	if err != nil {
		return err
	}
	if everywhere {
		if err := s.cfg.Store.SignOutEverywhere(r.Context(), a.change.PersonID, store.Everywhere{Passkeys: f.has("passkeys")}); err != nil {
			return err
		}
	}
	return a.show(w, r, true, everywhere)
}
