package web

import (
	"errors"
	"fmt"
	"net/http"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// addressView is the page on which another address is asked for.
type addressView struct {
	Name, Email string // of the member
	Back        string // the page that it was come from
	Hours       int    // that a link works
	Asked       string // the address that waits for its confirmation; empty for none
	Refused     string // what the mail server said of that
	Typed       string
	Problem     text.Text
}

// addressChange is one member's address being changed by somebody.
type addressChange struct {
	s      *Server
	r      *http.Request
	by     *visitor
	club   *scheduler.Club
	member *scheduler.Member
	view   addressView
}

// ownAddress serves the member's own page.
func (s *Server) ownAddress(w http.ResponseWriter, r *http.Request, who *visitor) error {
	return s.address(w, r, who, who.MemberID, "/preferences")
}

// memberAddress serves the page on which an organiser asks for a member.
func (s *Server) memberAddress(w http.ResponseWriter, r *http.Request, who *visitor) error {
	id := parseID(r.PathValue("id"))
	return s.address(w, r, who, id, memberPath(id))
}

func (s *Server) address(w http.ResponseWriter, r *http.Request, who *visitor, member int64, back string) error {
	c := &addressChange{s: s, r: r, by: who}
	if err := c.read(member); err != nil {
		return err
	}
	if err := c.mayChange(); err != nil {
		return err
	}
	c.view.Back = back
	if r.Method == http.MethodPost {
		return c.post(w)
	}
	return c.show(w, http.StatusOK)
}

func (c *addressChange) show(w http.ResponseWriter, status int) error {
	title := speaker(c.club, c.by.MemberID).Say("page.address.title")
	return c.s.showTo(w, c.r, c.by, c.club, status, "address", title, c.view)
}

// read reads the member, and what was asked for before.
func (c *addressChange) read(member int64) error {
	ctx := c.r.Context()
	return c.s.cfg.Store.InSnapshot(ctx, c.by.ClubID, func(tx *store.Tx) (err error) {
		if c.club, err = tx.Apiaries(ctx); err != nil {
			return err
		}
		if c.member = c.club.Member(member); c.member == nil {
			return fmt.Errorf("member %d of club %d: %w", member, c.by.ClubID, store.ErrNotFound)
		}
		c.view = addressView{Name: c.member.Name, Email: c.member.Email, Hours: int(store.NewAddressLife.Hours())}
		asked, err := tx.AskedAddress(ctx, c.member.PersonID)
		if err != nil || asked == nil {
			return err
		}
		c.view.Asked = asked.Email
		mailed, err := tx.Messages(ctx, store.MessageFilter{Kind: scheduler.NewAddressMessage, MemberID: member, Limit: 1})
		if err == nil && len(mailed) == 1 && mailed[0].State == store.Refused && mailed[0].Address == asked.Email {
			c.view.Refused = mailed[0].Reply
		}
		return err
	})
}

// mayChange keeps an organiser from taking over somebody who belongs to another
// club as well: whoever reads a person's mail can sign in to all of them.
func (c *addressChange) mayChange() error {
	if c.member.ID == c.by.MemberID {
		return nil
	}
	clubs, err := c.s.cfg.Store.Memberships(c.r.Context(), c.member.Email)
	if err != nil {
		return err
	}
	for _, theirs := range clubs {
		led := false
		for _, mine := range c.by.clubs {
			led = led || mine.ClubID == theirs.ClubID && mine.Role == scheduler.Organiser
		}
		if !led {
			return newProblem(http.StatusForbidden, "problem.own-page-only", c.member.Name)
		}
	}
	return nil
}

func (c *addressChange) post(w http.ResponseWriter) error {
	f, err := readForm(w, c.r)
	if err != nil {
		return err
	}
	if f.has("withdraw") {
		return c.withdraw(w)
	}
	email := address(f, "email")
	switch {
	case strings.EqualFold(email, c.member.Email):
		f.bad("email", "form.address-same")
	case c.by.Role == scheduler.Organiser && c.isMember(email): // who sees their addresses anyway
		f.bad("email", "form.member-already")
	}
	status := http.StatusUnprocessableEntity
	if f.ok() {
		err := c.s.cfg.Notify.AskAddress(c.r.Context(), c.by.ClubID, c.member.ID, email, c.by.MemberID)
		switch {
		case err == nil:
			return c.s.done(w, c.r, c.r.URL.Path, notice{Text: c.say("page.address.sent", email)})
		case !errors.Is(err, store.ErrTooMany):
			return err
		}
		f.bad("email", "form.asked-often")
		status = http.StatusTooManyRequests
	}
	c.view.Typed, c.view.Problem = f.values.Get("email"), f.Problems["email"]
	return c.show(w, status)
}

func (c *addressChange) isMember(email string) bool {
	for _, m := range c.club.Members {
		if strings.EqualFold(m.Email, email) {
			return true
		}
	}
	return false
}

func (c *addressChange) withdraw(w http.ResponseWriter) error {
	err := c.s.cfg.Store.InClub(c.r.Context(), c.by.ClubID, func(tx *store.Tx) error {
		if err := tx.WithdrawAddress(c.r.Context(), c.member.PersonID); err != nil {
			return err
		}
		return c.by.noteOn(c.r, tx, "withdraw a new address", c.member.Name)
	})
	if err != nil {
		return err
	}
	return c.s.done(w, c.r, c.r.URL.Path, notice{Text: c.say("page.address.withdrawn", c.member.Email)})
}

func (c *addressChange) say(key string, args ...any) string {
	return speaker(c.club, c.by.MemberID).Say(key, args...)
}
