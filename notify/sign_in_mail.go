package notify

import (
	"context"
	"fmt"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

const (
	// signInsAnHour bounds the sign-in mails that one address can be made to get:
	// so many at once, and later ones
	signInsAnHour = 5
	// so far apart. An address works longer than that, so that whoever is
	// mailed because of others always has one that works.
	signInsApart = signInLife / 2
)

// SignIn owes a person a mail with an address that signs in, once a minute and
// a few times an hour at most; what is beyond that is dropped in silence, so
// that nobody can fill another's mailbox. Mails that are asked for by a browser
// that the person signed in with before are counted apart: no stranger can spend
// them. Delivered like every message.
func (s *Service) SignIn(ctx context.Context, person *store.Person, known bool) error {
	clubs, err := s.store.Memberships(ctx, person.Email)
	if err != nil {
		return fmt.Errorf("owe a sign-in mail: %w", err)
	}
	if len(clubs) == 0 {
		return fmt.Errorf("owe a sign-in mail to person %d: a member of no club: %w", person.ID, store.ErrNotFound)
	}
	minute := s.clock.Now().UTC().Format("2006-01-02T15:04")
	return s.store.InClub(ctx, clubs[0].ClubID, func(tx *store.Tx) error {
		lately, newest, err := tx.SignInMails(ctx, clubs[0].MemberID, known)
		if err != nil {
			return err
		}
		if lately >= signInsAnHour && newest < signInsApart {
			return nil
		}
		c, err := tx.Apiaries(ctx)
		if err != nil {
			return err
		}
		m := c.Member(clubs[0].MemberID)
		if m == nil {
			return store.ErrNotFound // left the club a moment ago
		}
		_, err = tx.Owe(ctx, []owed.Message{{
			Key: owed.SignInKey(person.ID, minute, known), Kind: scheduler.SignInMessage,
			MemberID: m.ID, On: c.TodayOf(m, s.clock.Civil()), Reason: store.AskedToSignIn,
		}}, time.Time{})
		return err
	})
}

// Invite owes a new member an invitation, once a day at most.
func (s *Service) Invite(ctx context.Context, club, member int64, inviter string) error {
	return s.store.InClub(ctx, club, func(tx *store.Tx) error {
		c, err := tx.Apiaries(ctx)
		if err != nil {
			return err
		}
		m := c.Member(member)
		if m == nil {
			return fmt.Errorf("invite member %d of club %d: %w", member, club, store.ErrNotFound)
		}
		today := c.TodayOf(m, s.clock.Civil())
		_, err = tx.Owe(ctx, []owed.Message{{
			Key: owed.InviteKey(club, m.PersonID, today), Kind: scheduler.InviteMessage,
			MemberID: member, On: today, Reason: store.InvitedBy + inviter,
		}}, time.Time{})
		return err
	})
}
