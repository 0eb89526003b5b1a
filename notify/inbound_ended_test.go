package notify_test

import (
	"context"
	"testing"

	gosmtp "github.com/emersion/go-smtp"

	"pryday/store"
)

// Whoever signs out everywhere, or is signed out by an organiser, ends the
// addresses that answers go to; reports of what came back still come in.
func TestSigningOutEndsReplyAddresses(t *testing.T) {
	t.Parallel()
	for name, signOut := range map[string]func(*testing.T, *post){
		"everywhere": func(t *testing.T, p *post) {
			if err := p.store.SignOutEverywhere(t.Context(), p.person(t), store.Everywhere{}); err != nil {
				t.Fatal(err)
			}
		},
		"by an organiser": func(t *testing.T, p *post) {
			p.inClub(t, func(ctx context.Context, tx *store.Tx) error { return tx.SignOutMember(ctx, p.member) })
		},
	} {
		t.Run(name, func(t *testing.T) {
			p := newPost(t)
			l := p.remind(t, digest(p.visit(t)))
			_, _, calendar := p.invite(t, digest(p.visit(t)))
			old := replyAddress(t, l)
			signOut(t, p)
			for _, to := range []string{old, calendar} {
				err := bring(p.server, "kay@keepers.test", to, written(to, "Re", "I can go"))
				if reply, ok := err.(*gosmtp.SMTPError); !ok || reply.Code != 550 {
					t.Errorf("an answer to %s is taken: %v", to, err)
				}
			}
			if in := p.comesIn(t, "", l.From, report(l.From, "delayed", "4.4.1", "the other side is silent")); in.Outcome != store.MailReturned {
				t.Errorf("a report became of %q", in.Outcome)
			}
			// What goes out from now on is answered as before.
			to := replyAddress(t, p.remind(t, digest(p.visit(t))))
			if to == old {
				t.Fatal("the new mail has the old address")
			}
			if in := p.comesIn(t, "kay@keepers.test", to, written(to, "Re", "Who has oil?")); in.Outcome != store.MailForwarded {
				t.Errorf("an answer to a new mail became %q, %q", in.Outcome, in.Detail)
			}
		})
	}
}

// A mail that was taken before does nothing once its address has ended.
func TestSigningOutEndsRepliesThatWait(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	to := replyAddress(t, p.remind(t, digest(p.visit(t))))
	if err := bring(p.server, "kay@keepers.test", to, written(to, "Re", "I can go")); err != nil {
		t.Fatal(err)
	}
	if err := p.store.SignOutEverywhere(t.Context(), p.person(t), store.Everywhere{}); err != nil {
		t.Fatal(err)
	}
	if in := p.handled(t); in.Outcome != store.MailKept || in.Detail != "ended" || len(p.deliver(t)) != 0 {
		t.Errorf("it became %q, %q", in.Outcome, in.Detail)
	}
}

// person is the member's.
func (p *post) person(t *testing.T) (id int64) {
	t.Helper()
	p.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		m, err := tx.Member(ctx, p.member)
		if err == nil {
			id = m.PersonID
		}
		return err
	})
	return id
}
