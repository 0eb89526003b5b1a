package notify_test

import (
	"cmp"
	"context"
	"strings"
	"testing"
	"time"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/store"
)

// TestSignInMail: the address in it signs in once; asking again and again does
// not fill a mailbox.
func TestSignInMail(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n := b.service(t, to)
	p, err := b.store.PersonByEmail(t.Context(), "mo@keepers.test")
	if err != nil {
		t.Fatal(err)
	}
	// The mark of a refused address does not lock its owner out.
	if err := b.store.MarkRefused(t.Context(), p.ID, p.Email, "550 5.1.1 no such keeper"); err != nil {
		t.Fatal(err)
	}
	for range 3 { // within one minute, or across two at most
		if err := n.SignIn(t.Context(), p, false); err != nil {
			t.Fatal(err)
		}
	}
	owed := b.messages(t)
	if len(owed) < 1 || len(owed) > 2 {
		t.Fatalf("%d mails owed", len(owed))
	}
	if _, err := n.Attempt(t.Context(), b.club, owed[0].ID); err != nil {
		t.Fatal(err)
	}
	if len(to.all()) != 1 || to.all()[0].To != "mo@keepers.test" {
		t.Fatalf("letters %v", to.all())
	}
	header, body := parts(t, to.all()[0].Text)
	if header.Get("List-Unsubscribe") != "" || header.Get("List-Id") != "" {
		t.Error("a sign-in mail is no list mail")
	}
	token := ""
	for _, a := range mailedAddress.FindAllString(body["text/plain"], -1) {
		if s, ok := strings.CutPrefix(a, "https://bees.club.test"+notify.SignInPath); ok {
			token = s
		}
	}
	if got, _, err := b.store.UseSignIn(t.Context(), token, store.Device{}); err != nil || got != p.ID {
		t.Errorf("token %q: %d, %v", token, got, err)
	}
	if _, _, err := b.store.UseSignIn(t.Context(), token, store.Device{}); err == nil {
		t.Error("the address works twice")
	}
	for i := range 20 {
		b.exec(t, "UPDATE message SET key = 'earlier/'||id, owed_at = owed_at - interval '1 minute' WHERE kind = 'sign-in'")
		if err := n.SignIn(t.Context(), p, false); err != nil {
			t.Fatalf("ask %d: %v", i, err)
		}
	}
	if n := len(b.messages(t)); n > 6 {
		t.Errorf("%d sign-in mails in half an hour", n)
	}
}

func TestSignInMailTooLate(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n := b.service(t, to)
	p, err := b.store.PersonByEmail(t.Context(), "mo@keepers.test")
	if err != nil {
		t.Fatal(err)
	}
	if err := n.SignIn(t.Context(), p, false); err != nil {
		t.Fatal(err)
	}
	b.exec(t, "UPDATE message SET owed_at = owed_at - interval '3 hours'")
	owed := b.messages(t)
	if _, err := n.Attempt(t.Context(), b.club, owed[0].ID); err != nil {
		t.Fatal(err)
	}
	if m := b.message(t, owed[0].ID); m.State != store.PassedOver || len(to.all()) != 0 {
		t.Errorf("%s, %q; %d letters", m.State, m.Reply, len(to.all()))
	}
}

func TestInvitation(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n := b.service(t, to)
	var member int64
	b.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
		member, err = tx.AddMember(ctx, scheduler.Member{Name: "Ida Wren", Email: "ida@keepers.test", Role: scheduler.Keeper})
		return err
	})
	for range 2 {
		if err := n.Invite(t.Context(), b.club, member, "Mo Tarn"); err != nil {
			t.Fatal(err)
		}
	}
	owed := b.messages(t)
	if len(owed) != 1 {
		t.Fatalf("%d invitations owed", len(owed))
	}
	if _, err := n.Attempt(t.Context(), b.club, owed[0].ID); err != nil {
		t.Fatal(err)
	}
	_, body := parts(t, to.all()[0].Text)
	for _, must := range []string{"Mo Tarn", "Hollow Lane Bees", notify.SignInPath} {
		if !strings.Contains(body["text/plain"], must) {
			t.Errorf("%q is not in the invitation", must)
		}
	}
}

// TestInvitationRightAfterAnotherMail: the club's records lie ready for a few
// seconds, and somebody just invited is not in them.
func TestInvitationRightAfterAnotherMail(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n := b.service(t, to)
	mo, err := b.store.PersonByEmail(t.Context(), "mo@keepers.test")
	if err != nil {
		t.Fatal(err)
	}
	if err := n.SignIn(t.Context(), mo, false); err != nil {
		t.Fatal(err)
	}
	send := func() {
		for _, m := range b.messages(t) {
			if m.State == store.Owed {
				if _, err := n.Attempt(t.Context(), b.club, m.ID); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	send()
	for i, invited := range []scheduler.Member{
		{Name: "Ida Wren", Email: "ida@keepers.test", Role: scheduler.Keeper},
		{Name: "Jost Ahl", Email: "jost@keepers.test", Role: scheduler.Keeper, Language: "de"},
	} {
		var member int64
		b.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
			member, err = tx.AddMember(ctx, invited)
			return err
		})
		if err := n.Invite(t.Context(), b.club, member, "Mo Tarn"); err != nil {
			t.Fatal(err)
		}
		send()
		letters := to.all()
		if len(letters) != i+2 || letters[i+1].To != invited.Email {
			t.Fatalf("%d letters after inviting %s; messages %+v", len(letters), invited.Name, b.messages(t))
		}
		header, _ := parts(t, letters[i+1].Text)
		if want := cmp.Or(invited.Language, "en"); header.Get("Content-Language") != want {
			t.Errorf("%s is invited in %q, want %q", invited.Name, header.Get("Content-Language"), want)
		}
	}
}

// TestStrangersCannotSpendAnothersMails: whoever asks again and again in
// another's name leaves the owner, at any moment, with a mailed address that
// works, and the owner's own browser with mails of its own.
func TestStrangersCannotSpendAnothersMails(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	n := b.service(t, &nowhere{})
	p := b.mo(t)
	count := func(where string) (mails int) {
		t.Helper()
		for _, m := range b.messages(t) {
			if strings.HasSuffix(m.Key, "/known") == (where == "known") {
				mails++
			}
		}
		return mails
	}
	age := func(minutes string) {
		t.Helper()
		b.exec(t, "UPDATE message SET key = 'earlier/'||id||CASE WHEN key LIKE '%/known' THEN '/known' ELSE '' END, owed_at = owed_at - interval '"+minutes+" minutes' WHERE kind = 'sign-in'")
	}
	for minute := range 120 {
		if err := n.SignIn(t.Context(), p, false); err != nil {
			t.Fatal(err)
		}
		works := false
		for _, m := range b.messages(t) {
			works = works || time.Since(m.OwedAt) < 16*time.Minute
		}
		if !works {
			t.Fatalf("after %d minutes no address works that was mailed", minute)
		}
		age("1")
	}
	if got := count("strangers"); got > 5+8 {
		t.Errorf("strangers filled the mailbox with %d mails in two hours", got)
	}
	for range 3 {
		if err := n.SignIn(t.Context(), p, true); err != nil {
			t.Fatal(err)
		}
		age("1")
	}
	if got := count("known"); got != 3 {
		t.Errorf("the owner's own browser got %d mails, want 3", got)
	}
	for range 20 { // also of a browser that was stolen
		if err := n.SignIn(t.Context(), p, true); err != nil {
			t.Fatal(err)
		}
		age("1")
	}
	if got := count("known"); got > 7 {
		t.Errorf("one browser filled the mailbox with %d mails in half an hour", got)
	}
}

// TestSignInMailsOfAnotherClockDoNotCount: those that a clock ahead of this one
// had asked for keep nobody from asking.
func TestSignInMailsOfAnotherClockDoNotCount(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	n := b.service(t, &nowhere{})
	p := b.mo(t)
	for range 6 {
		if err := n.SignIn(t.Context(), p, false); err != nil {
			t.Fatal(err)
		}
		b.exec(t, `UPDATE message SET key = 'ahead/'||id, owed_at = owed_at + interval '26 hours' WHERE kind = 'sign-in' AND key NOT LIKE 'ahead/%'`)
	}
	if got := len(b.messages(t)); got != 6 {
		t.Errorf("%d mails are owed, want 6", got)
	}
}

// TestSignInMailIsLateByOneClock: a mail to sign in is sent by a daemon whose clock
// is a day ahead of the database's, and not when it is late.
func TestSignInMailIsLateByOneClock(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	b.clock.ahead = 26 * time.Hour
	to := &nowhere{}
	n := b.service(t, to)
	for _, late := range []bool{false, true} {
		if err := n.SignIn(t.Context(), b.mo(t), late); err != nil {
			t.Fatal(err)
		}
		owed := b.messages(t)
		m := owed[len(owed)-1]
		if late {
			b.exec(t, `UPDATE message SET owed_at = owed_at - interval '3 hours' WHERE id = `+itoa(m.ID))
		}
		if _, err := n.Attempt(t.Context(), b.club, m.ID); err != nil {
			t.Fatal(err)
		}
		if got := b.message(t, m.ID).State; late != (got == store.PassedOver) {
			t.Errorf("late %v: it is %s", late, got)
		}
	}
	if len(to.all()) != 1 {
		t.Errorf("%d letters, want 1", len(to.all()))
	}
}

// mo is a keeper of the club.
func (b *fixture) mo(t *testing.T) *store.Person {
	t.Helper()
	p, err := b.store.PersonByEmail(t.Context(), "mo@keepers.test")
	if err != nil {
		t.Fatal(err)
	}
	return p
}
