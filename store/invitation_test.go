package store

import (
	"context"
	"errors"
	"strings"
	"testing"

	"pryday/scheduler"
)

// Nobody joins a second club without a yes: until then they are no member, and
// are mailed the invitation alone.
func TestJoiningASecondClubNeedsAYes(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club, other, _ := inTwoClubs(t, s)
	brida, err := s.PersonByEmail(ctx, "brida@example.org")
	if err != nil {
		t.Fatal(err)
	}
	asked := scheduler.Member{Name: "B. Okonjo", Email: "Brida@example.org", Role: scheduler.Keeper, Language: "de"}
	for range 2 { // asked again, nothing changes
		inClub(t, s, other, func(tx *Tx) error {
			id, invited, err := tx.AddOrInvite(ctx, asked, "Ansel")
			if id != 0 || !invited {
				t.Errorf("member %d, invited %t", id, invited)
			}
			return err
		})
	}
	clubs := func() int {
		m, err := s.Memberships(ctx, brida.Email)
		if err != nil {
			t.Fatal(err)
		}
		return len(m)
	}
	mails := func() (n int) {
		inClub(t, s, other, func(tx *Tx) error {
			all, err := tx.Messages(ctx, MessageFilter{})
			for _, m := range all {
				if !strings.EqualFold(m.Address, brida.Email) || m.Kind != scheduler.InviteMessage || m.Reason != InvitedBy+"Ansel" {
					t.Errorf("owed %+v", m)
				}
			}
			n = len(all)
			return err
		})
		return n
	}
	if clubs() != 1 || memberOf(t, s, other, brida.ID).ID != 0 || mails() != 1 {
		t.Errorf("of %d clubs, member %+v, mailed %d times", clubs(), memberOf(t, s, other, brida.ID), mails())
	}
	signIn := begin(t, s, brida.ID)
	if p, _, _, err := s.SignedIn(ctx, brida.ID, signIn); err != nil || p.Invitations != 1 {
		t.Errorf("signed in: %+v, %v", p, err)
	}
	all, err := s.InvitationsOf(ctx, brida.ID)
	if err != nil || len(all) != 1 || all[0].ClubID != other || all[0].InvitedBy != "Ansel" {
		t.Errorf("asked %+v: %v", all, err)
	}
	inClub(t, s, club, func(tx *Tx) error { // another club sees nothing of it
		if list, err := tx.Invitations(ctx); err != nil || len(list) != 0 {
			t.Errorf("the other club sees %+v: %v", list, err)
		}
		return nil
	})
	inClub(t, s, other, func(tx *Tx) error {
		_, err := tx.Accept(ctx, brida.ID)
		return err
	})
	if m := memberOf(t, s, other, brida.ID); m.Name != "B. Okonjo" || m.Role != scheduler.Keeper || m.Language != "de" || clubs() != 2 {
		t.Errorf("joined as %+v", m)
	}
	err = s.InClub(ctx, other, func(tx *Tx) error {
		_, err := tx.Accept(ctx, brida.ID)
		return err
	})
	if !errors.Is(err, ErrNotFound) {
		t.Errorf("accepted twice: %v", err)
	}
	inClub(t, s, other, func(tx *Tx) error { // who is of no other club joins at once
		id, invited, err := tx.AddOrInvite(ctx, scheduler.Member{Name: "New", Email: "new@example.org", Role: scheduler.Keeper}, "Ansel")
		if id == 0 || invited {
			t.Errorf("member %d, invited %t", id, invited)
		}
		return err
	})
}

// A document asks as well, and gives nobody a task who has not said yes; a second
// time it changes nothing.
func TestImportAsksMembersOfOtherClubs(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	importSample(t, s)
	second, err := s.CreateClub(ctx, "Elsewhere")
	if err != nil {
		t.Fatal(err)
	}
	doc := sampleClub()
	doc.Members = append(doc.Members, scheduler.Member{ID: 99, Name: "New", Email: "new@example.org", Role: scheduler.Organiser})
	for i := range 2 {
		inClub(t, s, second, func(tx *Tx) error {
			done, err := tx.ImportAsking(ctx, doc)
			if i == 1 && done.Changed() {
				t.Errorf("the second time changes %+v", done)
			}
			return err
		})
	}
	c := readClub(t, s, second)
	if len(c.Members) != 1 || c.Members[0].Email != "new@example.org" {
		t.Errorf("members %+v", c.Members)
	}
	for _, a := range c.Apiaries {
		if len(a.Keepers) > 0 {
			t.Errorf("%s is kept by %v", a.Name, a.Keepers)
		}
	}
	inClub(t, s, second, func(tx *Tx) error {
		asked, err := tx.Invitations(ctx)
		if len(asked) != len(doc.Members)-1 {
			t.Errorf("%d asked", len(asked))
		}
		return err
	})
}
