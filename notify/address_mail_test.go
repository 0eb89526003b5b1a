package notify_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"pryday/notify"
	"pryday/notify/smtp"
	"pryday/scheduler"
	"pryday/store"
)

// lastMail delivers the newest message and returns it with the token of the
// address in it, empty when nothing was sent.
func (b *fixture) lastMail(t *testing.T, n *notify.Service, to *nowhere, path string) (m *store.Message, token string) {
	t.Helper()
	all, before := b.messages(t), len(to.all())
	id := all[len(all)-1].ID
	if _, err := n.Attempt(t.Context(), b.club, id); err != nil {
		t.Fatal(err)
	}
	m = b.message(t, id)
	if len(to.all()) == before {
		return m, ""
	}
	letter := to.all()[before]
	if letter.To != m.Address {
		t.Errorf("the letter goes to %s, the record says %s", letter.To, m.Address)
	}
	header, body := parts(t, letter.Text)
	if header.Get("List-Unsubscribe") != "" || header.Get("List-Id") != "" {
		t.Error("a mail about an address is no list mail")
	}
	for _, a := range mailedAddress.FindAllString(body["text/plain"], -1) {
		if s, ok := strings.CutPrefix(a, "https://bees.club.test"+path); ok {
			token = s
		}
	}
	if token == "" {
		t.Errorf("no %s in\n%s", path, body["text/plain"])
	}
	return m, token
}

func verified(t *testing.T, n *notify.Service, token string) notify.Action {
	t.Helper()
	a, err := n.Signer().Verify(token, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func (b *fixture) address(t *testing.T) (email string) {
	t.Helper()
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		m, err := tx.Member(ctx, b.member)
		if err == nil {
			email = m.Email
		}
		return err
	})
	return email
}

// TestAddressChange follows both mails and their addresses.
func TestAddressChange(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n := b.service(t, to)
	if err := n.AskAddress(t.Context(), b.club, b.member, "kay@elsewhere.test", b.member); err != nil {
		t.Fatal(err)
	}
	m, token := b.lastMail(t, n, to, notify.NewAddressPath)
	if m.Address != "kay@elsewhere.test" || m.Kind != scheduler.NewAddressMessage || b.address(t) != "kay@keepers.test" {
		t.Errorf("asked: %+v; mail goes to %s", m, b.address(t))
	}
	a := verified(t, n, token)
	if a.Do != notify.NewAddressDeed || a.VisitUID != "" || time.Until(a.Expires) > 24*time.Hour || time.Until(a.Expires) < 23*time.Hour {
		t.Errorf("the address is good for %+v", a)
	}
	if err := n.ConfirmAddress(t.Context(), a); err != nil {
		t.Fatal(err)
	}
	if err := n.ConfirmAddress(t.Context(), a); !errors.Is(err, store.ErrTokenSpent) {
		t.Errorf("a second time: %v", err)
	}
	m, token = b.lastMail(t, n, to, notify.OldAddressPath)
	if m.Address != "kay@keepers.test" || m.Kind != scheduler.OldAddressMessage || b.address(t) != "kay@elsewhere.test" {
		t.Errorf("confirmed: %+v; mail goes to %s", m, b.address(t))
	}
	if _, body := parts(t, to.all()[1].Text); strings.Contains(body["text/plain"], "elsewhere") {
		t.Error("the mail to the old address tells the new one")
	}
	if a = verified(t, n, token); a.Do != notify.OldAddressDeed || time.Until(a.Expires) < 6*24*time.Hour {
		t.Errorf("the way back is %+v", a)
	}
	if err := n.UndoAddress(t.Context(), a); err != nil || b.address(t) != "kay@keepers.test" {
		t.Errorf("brought back: %v; mail goes to %s", err, b.address(t))
	}
	var trail []string
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		lines, err := tx.AuditTrail(ctx, 0, 0, 10)
		for _, l := range lines {
			trail = append(trail, l.Action+": "+l.Subject)
		}
		return err
	})
	want := `take back a change of address: Kay Orrin: kay@elsewhere.test → kay@keepers.test
change address: Kay Orrin: kay@keepers.test → kay@elsewhere.test
ask for another address: Kay Orrin: kay@elsewhere.test`
	if got := strings.Join(trail, "\n"); !strings.HasPrefix(got, want) {
		t.Errorf("the trail says\n%s", got)
	}
}

// The trail of each club that a person belongs to tells of the change.
func TestAddressChangeIsOnEveryTrail(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n := b.service(t, to)
	other, err := b.store.CreateClub(t.Context(), "Far Bank Bees")
	if err != nil {
		t.Fatal(err)
	}
	err = b.store.InClub(t.Context(), other, func(tx *store.Tx) error {
		_, err := tx.AddMember(t.Context(), scheduler.Member{Name: "Kay O.", Email: "kay@keepers.test", Role: scheduler.Organiser})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := n.AskAddress(t.Context(), b.club, b.member, "kay@elsewhere.test", b.member); err != nil {
		t.Fatal(err)
	}
	_, token := b.lastMail(t, n, to, notify.NewAddressPath)
	if err := n.ConfirmAddress(t.Context(), verified(t, n, token)); err != nil {
		t.Fatal(err)
	}
	err = b.store.InClub(t.Context(), other, func(tx *store.Tx) error {
		lines, err := tx.AuditTrail(t.Context(), 0, 0, 10)
		if err == nil && (len(lines) != 1 || lines[0].Action != "change address" || lines[0].MemberID == 0) {
			t.Errorf("the other club's trail is %+v", lines)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// refusing is a server that knows none of its users.
type refusing struct{}

func (refusing) Send(context.Context, *smtp.Letter) smtp.Outcome {
	return smtp.Outcome{Verdict: smtp.Never, Phase: smtp.RcptTo, BadAddress: true, Reply: "550 5.1.1 no such user"}
}
func (refusing) Close() error { return nil }

// A refusal of the new address, or of the one of before, is no word about the
// member's own.
func TestRefusedNewAddressLeavesTheMembersOwn(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	n, person := b.service(t, refusing{}), b.person(t)
	refused := func(what string) {
		t.Helper()
		m, _ := b.lastMail(t, n, &nowhere{}, "")
		p, err := b.store.Person(t.Context(), person)
		if err != nil || m.State != store.Refused || m.Reply != "550 5.1.1 no such user" || !p.RefusedAt.IsZero() {
			t.Errorf("%s: %s, %q; person %+v, %v", what, m.State, m.Reply, p, err)
		}
	}
	if err := n.AskAddress(t.Context(), b.club, b.member, "kay@elsewhere.test", b.member); err != nil {
		t.Fatal(err)
	}
	refused("the new address")
	to := &nowhere{}
	b.exec(t, `UPDATE message SET state = 'owed', closed_at = NULL WHERE kind = 'new-address'`)
	_, token := b.lastMail(t, b.service(t, to), to, notify.NewAddressPath)
	if err := n.ConfirmAddress(t.Context(), verified(t, n, token)); err != nil {
		t.Fatal(err)
	}
	refused("the old address")
}

func TestAddressMailPassedOver(t *testing.T) {
	t.Parallel()
	for name, meanwhile := range map[string]func(*fixture, *notify.Service) error{
		"withdrawn": func(b *fixture, _ *notify.Service) error {
			return b.store.InClub(t.Context(), b.club, func(tx *store.Tx) error { return tx.WithdrawAddress(t.Context(), b.person(t)) })
		},
		"too late": func(b *fixture, _ *notify.Service) error {
			b.exec(t, `UPDATE address_change SET created_at = created_at - interval '25 hours', expires_at = expires_at - interval '25 hours'`)
			return nil
		},
		"forgotten": func(b *fixture, _ *notify.Service) error {
			b.exec(t, `DELETE FROM address_change`)
			return nil
		},
	} {
		t.Run(name, func(t *testing.T) {
			b := newFixture(t)
			to := &nowhere{}
			n := b.service(t, to)
			if err := n.AskAddress(t.Context(), b.club, b.member, "kay@elsewhere.test", b.member); err != nil {
				t.Fatal(err)
			}
			if err := meanwhile(b, n); err != nil {
				t.Fatal(err)
			}
			if m, _ := b.lastMail(t, n, to, notify.NewAddressPath); m.State != store.PassedOver || len(to.all()) != 0 {
				t.Errorf("%s; %d letters", m.State, len(to.all()))
			}
		})
	}
}

// A second attempt writes the same mail: its token is made anew, and the same.
func TestAddressMailIsTheSameAgain(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n := b.service(t, to)
	if err := n.AskAddress(t.Context(), b.club, b.member, "kay@elsewhere.test", b.member); err != nil {
		t.Fatal(err)
	}
	b.lastMail(t, n, to, notify.NewAddressPath)
	b.exec(t, `UPDATE message SET state = 'owed', sent_at = NULL`)
	b.lastMail(t, n, to, notify.NewAddressPath)
	if letters := to.all(); len(letters) != 2 || string(letters[0].Text) != string(letters[1].Text) {
		t.Errorf("%d letters, which differ", len(letters))
	}
}

// Mails about addresses take nothing from what a member may be mailed.
func TestAddressMailsAreNoReminders(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	n := b.service(t, &nowhere{})
	if err := n.AskAddress(t.Context(), b.club, b.member, "kay@elsewhere.test", b.member); err != nil {
		t.Fatal(err)
	}
	var counted int
	person := b.person(t)
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		turn, err := tx.TakeTurn(ctx, b.clock.Civil())
		if err == nil {
			counted = len(turn.Before.Mail[person])
		}
		return err
	})
	if counted != 0 {
		t.Errorf("%d mails count", counted)
	}
}
