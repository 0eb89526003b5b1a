package notify

import (
	"context"
	"errors"
	"fmt"
	"time"

	"pryday/notify/mail"
	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/scheduler/text"
	"pryday/store"
)

// AskAddress owes a mail to an address that a member is to have, with an
// address that confirms it: nothing changes before. It answers alike whether or
// not the new address is somebody's, so that nobody can try out who is a member.
// by is the member who asks. store.ErrTooMany.
func (s *Service) AskAddress(ctx context.Context, club, member int64, email string, by int64) error {
	return s.store.InClub(ctx, club, func(tx *store.Tx) error {
		m, today, err := s.addressee(ctx, tx, member)
		if err != nil {
			return fmt.Errorf("ask for another address: %w", err)
		}
		change, err := tx.AskAddress(ctx, m.PersonID, email)
		if err != nil {
			return err
		}
		_, err = tx.Owe(ctx, []owed.Message{{
			Key: owed.AddressKey(scheduler.NewAddressMessage, change), Kind: scheduler.NewAddressMessage,
			MemberID: m.ID, On: today, Reason: store.AskedForAddress, Address: email,
		}}, time.Time{})
		if err != nil {
			return err
		}
		return tx.Audit(ctx, store.AuditEntry{MemberID: by, Action: "ask for another address", Subject: m.Name + ": " + email})
	})
}

// ConfirmAddress gives a member the address that an action of the deed
// NewAddressDeed stands for, and owes the address of before a mail that can
// bring it back. Its errors are those of the store.
func (s *Service) ConfirmAddress(ctx context.Context, a Action) error {
	return s.changeAddress(ctx, a, "change address", func(tx *store.Tx, m *scheduler.Member, today scheduler.Date) error {
		_, old, undo, err := tx.ConfirmAddress(ctx, a.Change)
		if err != nil {
			return err
		}
		_, err = tx.Owe(ctx, []owed.Message{{
			Key: owed.AddressKey(scheduler.OldAddressMessage, undo), Kind: scheduler.OldAddressMessage,
			MemberID: m.ID, On: today, Reason: store.AddressChanged, Address: old,
		}}, time.Time{})
		return err
	})
}

// UndoAddress gives a member the address of before that an action of the deed
// OldAddressDeed stands for.
func (s *Service) UndoAddress(ctx context.Context, a Action) error {
	return s.changeAddress(ctx, a, "take back a change of address", func(tx *store.Tx, _ *scheduler.Member, _ scheduler.Date) error {
		_, err := tx.UndoAddress(ctx, a.Change)
		return err
	})
}

// changeAddress changes a person's address, and tells the trails of all of the
// person's clubs.
func (s *Service) changeAddress(ctx context.Context, a Action, what string, change func(*store.Tx, *scheduler.Member, scheduler.Date) error) error {
	var was, is *scheduler.Member
	note := func(tx *store.Tx, member int64) error {
		return tx.Audit(ctx, store.AuditEntry{MemberID: member, Action: what, Subject: fmt.Sprintf("%s: %s → %s", is.Name, was.Email, is.Email)})
	}
	err := s.store.InClub(ctx, a.Club, func(tx *store.Tx) (err error) {
		var today scheduler.Date
		if was, today, err = s.addressee(ctx, tx, a.Member); err != nil {
			return err
		}
		if err := change(tx, was, today); err != nil {
			return err
		}
		if is, err = tx.Member(ctx, a.Member); err != nil {
			return err
		}
		return note(tx, a.Member)
	})
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	s.writer.records.forget(a.Club)
	clubs, err := s.store.Memberships(ctx, is.Email)
	for _, c := range clubs {
		if c.ClubID == a.Club {
			continue
		}
		s.writer.records.forget(c.ClubID)
		err = errors.Join(err, s.store.InClub(ctx, c.ClubID, func(tx *store.Tx) error { return note(tx, c.MemberID) }))
	}
	if err != nil { // the address has changed all the same
		s.log.Error("a change of address is not on every club's trail", "person", is.PersonID, "err", err)
	}
	return nil
}

// addressee reads a member and the member's day.
func (s *Service) addressee(ctx context.Context, tx *store.Tx, member int64) (*scheduler.Member, scheduler.Date, error) {
	c, err := tx.Apiaries(ctx)
	if err != nil {
		return nil, 0, err
	}
	m := c.Member(member)
	if m == nil {
		return nil, 0, fmt.Errorf("member %d of club %d: %w", member, tx.ClubID(), store.ErrNotFound)
	}
	return m, c.TodayOf(m, s.clock.Civil()), nil
}

// addressChange writes a mail about a change of address. Its token is signed
// and not stored, so that every attempt writes the same mail.
func (w *writer) addressChange(ctx context.Context, d *draft) error {
	id := owed.ChangeOf(d.record.Key)
	var c *store.AddressChange
	err := w.store.InClub(ctx, d.record.ClubID, func(tx *store.Tx) (err error) {
		c, err = tx.AddressChange(ctx, id)
		return err
	})
	switch {
	case errors.Is(err, store.ErrNotFound), err == nil && !c.Open:
		return useless(text.New("passed.address-over"))
	case err != nil:
		return err
	}
	link := func(path string, do Deed) string {
		return w.addresses.to(path+w.addresses.sign.Sign(Action{
			Do: do, Club: d.record.ClubID, Member: d.member.ID, Change: id, Expires: c.ExpiresAt,
		}), 0)
	}
	in := mail.AddressChange{Language: d.member.Language, Club: d.records.club.Name, Member: d.member.Name}
	if c.Undo {
		in.URL, in.Days = link(OldAddressPath, OldAddressDeed), int(store.OldAddressLife.Hours()/24)
		d.rendered, err = mail.ComposeOldAddress(in)
	} else {
		in.URL, in.Hours = link(NewAddressPath, NewAddressDeed), int(store.NewAddressLife.Hours())
		d.rendered, err = mail.ComposeNewAddress(in)
	}
	return err
}
