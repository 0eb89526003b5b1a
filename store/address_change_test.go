package store

import (
	"context"
	"errors"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"

	"pryday/store/storetest"
)

// changed is a club whose Ansel gets other addresses.
type changed struct {
	t            *testing.T
	s            *Store
	club         int64
	ansel, brida int64 // persons
}

func newChanged(t *testing.T) *changed {
	t.Helper()
	c := &changed{t: t, s: open(t)}
	c.club = importSample(t, c.s)
	for email, id := range map[string]*int64{"ansel@example.org": &c.ansel, "brida@example.org": &c.brida} {
		p, err := c.s.PersonByEmail(context.Background(), email)
		if err != nil {
			t.Fatal(err)
		}
		*id = p.ID
	}
	return c
}

func (c *changed) ask(person int64, email string) (id string, err error) {
	err = c.s.InClub(context.Background(), c.club, func(tx *Tx) (err error) {
		id, err = tx.AskAddress(context.Background(), person, email)
		return err
	})
	return id, err
}

func (c *changed) mustAsk(person int64, email string) string {
	c.t.Helper()
	id, err := c.ask(person, email)
	if err != nil {
		c.t.Fatalf("ask for %s: %v", email, err)
	}
	return id
}

func (c *changed) confirmed(id string) (undo string, err error) {
	err = c.s.InClub(context.Background(), c.club, func(tx *Tx) (err error) {
		_, _, undo, err = tx.ConfirmAddress(context.Background(), id)
		return err
	})
	return undo, err
}

// give asks for an address and confirms it, and returns the way back.
func (c *changed) give(person int64, email string) string {
	c.t.Helper()
	undo, err := c.confirmed(c.mustAsk(person, email))
	if err != nil {
		c.t.Fatalf("confirm %s: %v", email, err)
	}
	return undo
}

func (c *changed) undone(id string) error {
	return c.s.InClub(context.Background(), c.club, func(tx *Tx) error {
		_, err := tx.UndoAddress(context.Background(), id)
		return err
	})
}

func (c *changed) exec(sql string, args ...any) {
	c.t.Helper()
	conn, err := pgx.Connect(context.Background(), storetest.Owner(c.s.cfg.URL))
	if err != nil {
		c.t.Fatal(err)
	}
	defer conn.Close(context.Background())
	if _, err := conn.Exec(context.Background(), sql, args...); err != nil {
		c.t.Fatal(err)
	}
}

func (c *changed) has(person int64, email string) {
	c.t.Helper()
	p, err := c.s.Person(context.Background(), person)
	if err != nil || p.Email != email {
		c.t.Errorf("the address is %+v (%v), want %s", p, err, email)
	}
}

func (c *changed) is(err, want error, what string) {
	c.t.Helper()
	if !errors.Is(err, want) {
		c.t.Errorf("%s: %v, want %v", what, err, want)
	}
}

func TestAddressChanges(t *testing.T) {
	t.Parallel()
	c, ctx := newChanged(t), context.Background()
	if err := c.s.MarkRefused(ctx, c.ansel, "ANSEL@example.org", "550 full"); err != nil {
		t.Fatal(err)
	}
	id := c.mustAsk(c.ansel, " Ansel@new.example ")
	c.has(c.ansel, "ansel@example.org")
	c.is(c.undone(id), ErrTokenSpent, "a link to confirm does not bring back")
	undo, err := c.confirmed(id)
	if err != nil {
		t.Fatal(err)
	}
	c.has(c.ansel, "Ansel@new.example")
	if p, err := c.s.Person(ctx, c.ansel); err != nil || !p.RefusedAt.IsZero() || p.RefusedReply != "" {
		t.Errorf("the new address is marked refused: %+v, %v", p, err)
	}
	// The old address's servers say nothing about the new one.
	if err := c.s.MarkRefused(ctx, c.ansel, "ansel@example.org", "550 gone"); err != nil {
		t.Fatal(err)
	}
	if p, err := c.s.Person(ctx, c.ansel); err != nil || !p.RefusedAt.IsZero() {
		t.Errorf("a refusal of another address marks this one: %+v, %v", p, err)
	}
	_, err = c.confirmed(id)
	c.is(err, ErrTokenSpent, "a second time")
	_, err = c.confirmed(undo)
	c.is(err, ErrTokenSpent, "a link to bring back does not confirm")
	_, err = c.confirmed("nothing")
	c.is(err, ErrNotFound, "never asked for")
	if err := c.undone(undo); err != nil {
		t.Fatal(err)
	}
	c.has(c.ansel, "ansel@example.org")
	c.is(c.undone(undo), ErrTokenSpent, "brought back twice")
}

func TestTheLastOneAskedForHolds(t *testing.T) {
	t.Parallel()
	c, ctx := newChanged(t), context.Background()
	first := c.mustAsk(c.ansel, "first@new.example")
	second := c.mustAsk(c.ansel, "second@new.example")
	_, err := c.confirmed(first)
	c.is(err, ErrTokenSpent, "the one asked for before")
	inClub(t, c.s, c.club, func(tx *Tx) error {
		asked, err := tx.AskedAddress(ctx, c.ansel)
		if err != nil || asked == nil || asked.Email != "second@new.example" || !asked.Open || asked.ExpiresAt.Sub(asked.CreatedAt) != NewAddressLife {
			t.Errorf("waiting is %+v, %v", asked, err)
		}
		return tx.WithdrawAddress(ctx, c.ansel)
	})
	_, err = c.confirmed(second)
	c.is(err, ErrTokenSpent, "withdrawn")
	inClub(t, c.s, c.club, func(tx *Tx) error {
		asked, err := tx.AskedAddress(ctx, c.ansel)
		if asked != nil {
			t.Errorf("%+v still waits", asked)
		}
		return err
	})
	c.has(c.ansel, "ansel@example.org")
}

func TestAddressOfAnother(t *testing.T) {
	t.Parallel()
	c := newChanged(t)
	id := c.mustAsk(c.ansel, "BRIDA@example.org") // told by nothing yet
	for range 2 {                                 // and not used up by it
		_, err := c.confirmed(id)
		c.is(err, ErrExists, "another's address")
	}
	c.has(c.ansel, "ansel@example.org")
	c.has(c.brida, "Brida@example.org")
	undo := c.give(c.brida, "brida@new.example")
	if _, err := c.confirmed(id); err != nil {
		t.Errorf("an address that became free: %v", err)
	}
	c.is(c.undone(undo), ErrExists, "an old address that is another's now")
	c.has(c.brida, "brida@new.example")
}

func TestAddressLinksEnd(t *testing.T) {
	t.Parallel()
	c := newChanged(t)
	late := `UPDATE address_change SET created_at = created_at - $1::interval, expires_at = expires_at - $1::interval`
	id := c.mustAsk(c.ansel, "ansel@new.example")
	c.exec(late, "23 hours 59 minutes")
	undo, err := c.confirmed(id)
	if err != nil {
		t.Fatalf("within a day: %v", err)
	}
	c.exec(late, "6 days 23 hours 59 minutes")
	if err := c.undone(undo); err != nil {
		t.Fatalf("within a week: %v", err)
	}
	id = c.mustAsk(c.ansel, "ansel@new.example")
	c.exec(late, "24 hours")
	_, err = c.confirmed(id)
	c.is(err, ErrTokenSpent, "after a day")
	undo = c.give(c.ansel, "ansel@new.example")
	c.exec(late, "7 days")
	c.is(c.undone(undo), ErrTokenSpent, "after a week")
	c.has(c.ansel, "ansel@new.example")
}

// Somebody who took an address away, twice even, cannot get it back from its
// owner.
func TestBringingBackEndsWhatCameLater(t *testing.T) {
	t.Parallel()
	c := newChanged(t)
	first := c.give(c.ansel, "thief@one.example")
	second := c.give(c.ansel, "thief@two.example")
	waiting := c.mustAsk(c.ansel, "thief@three.example")
	if err := c.undone(first); err != nil {
		t.Fatal(err)
	}
	c.is(c.undone(second), ErrTokenSpent, "a later way back")
	_, err := c.confirmed(waiting)
	c.is(err, ErrTokenSpent, "what was asked for meanwhile")
	c.has(c.ansel, "ansel@example.org")

	first = c.give(c.brida, "brida@one.example")
	second = c.give(c.brida, "brida@two.example")
	if err := c.undone(second); err != nil {
		t.Fatal(err)
	}
	c.has(c.brida, "brida@one.example")
	if err := c.undone(first); err != nil {
		t.Errorf("an earlier way back: %v", err)
	}
	c.has(c.brida, "Brida@example.org")
}

func TestAskingForAddressesHasBounds(t *testing.T) {
	t.Parallel()
	c := newChanged(t)
	ago := func(interval string) {
		c.exec(`UPDATE address_change SET created_at = created_at - $1::interval, expires_at = expires_at - $1::interval`, interval)
	}
	for _, email := range []string{"a@new.example", "b@new.example", "c@new.example"} {
		c.mustAsk(c.ansel, email)
	}
	_, err := c.ask(c.ansel, "d@new.example")
	c.is(err, ErrTooMany, "a fourth within an hour")
	c.mustAsk(c.brida, "e@new.example")
	ago("61 minutes")
	for _, email := range []string{"f@new.example", "a@new.example", "a@new.example"} {
		c.mustAsk(c.ansel, email)
	}
	ago("61 minutes")
	_, err = c.ask(c.ansel, "g@new.example")
	c.is(err, ErrTooMany, "a seventh within a day")
	_, err = c.ask(c.brida, "A@new.example")
	c.is(err, ErrTooMany, "a fourth to one address within a day")
	ago("24 hours")
	c.mustAsk(c.brida, "a@new.example")
	c.mustAsk(c.ansel, "g@new.example")
}

// Whatever is followed at the same moment, one of the two counts.
func TestAddressesAtOnce(t *testing.T) {
	t.Parallel()
	c := newChanged(t)
	both := func(a, b func() error) (counted int) {
		var wg sync.WaitGroup
		errs := make([]error, 2)
		wg.Go(func() { errs[0] = a() })
		wg.Go(func() { errs[1] = b() })
		wg.Wait()
		for _, err := range errs {
			switch {
			case err == nil:
				counted++
			case !errors.Is(err, ErrTokenSpent) && !errors.Is(err, ErrExists):
				t.Error(err)
			}
		}
		return counted
	}
	confirm := func(id string) func() error {
		return func() error { _, err := c.confirmed(id); return err }
	}
	id := c.mustAsk(c.ansel, "ansel@new.example")
	if n := both(confirm(id), confirm(id)); n != 1 {
		t.Errorf("a double click counts %d times", n)
	}
	one, other := c.mustAsk(c.ansel, "wanted@new.example"), c.mustAsk(c.brida, "Wanted@new.example")
	if n := both(confirm(one), confirm(other)); n != 1 {
		t.Errorf("%d persons got one address", n)
	}
	c.exec(`DELETE FROM address_change`)
	asked := func(email string) func() error {
		return func() error { _, err := c.ask(c.ansel, email); return err }
	}
	if n := both(asked("x@new.example"), asked("y@new.example")); n != 2 {
		t.Errorf("%d of two were asked for", n)
	}
	if waiting := rowsOf(t, c.s, `SELECT email FROM address_change WHERE used_at IS NULL`); len(waiting) != 1 {
		t.Errorf("%v wait to be confirmed", waiting)
	}
}
