package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/owed"
)

// everywhere lists the tables in which a word stands.
func everywhere(t *testing.T, s *Store, word string) []string {
	t.Helper()
	return rowsOf(t, s, fmt.Sprintf(`
		SELECT c.table_name::text FROM information_schema.tables c
		 WHERE c.table_schema = 'public' AND c.table_type = 'BASE TABLE' AND c.table_name NOT LIKE 'river%%'
		   AND (xpath('//n/text()', query_to_xml(format(
		        'SELECT count(*) AS n FROM public.%%I x WHERE strpos(to_jsonb(x)::text, %%L) > 0', c.table_name, '%s'::text), false, false, '')))[1]::text <> '0'`,
		strings.ReplaceAll(word, "'", "''")))
}

// Name and address are nowhere any more; what was done to boxes is there, and
// the other people are as they were.
func TestErasedPersonIsNowhere(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club, other, person := inTwoClubs(t, s)
	m := memberOf(t, s, club, person)
	c := readClub(t, s, club)
	box := c.Apiaries[0].Hives[0].Boxes[0].ID
	openings := func() (n int) {
		for b := range eachBox(readClub(t, s, club)) {
			n += len(b.Openings)
		}
		return n
	}
	var link int64
	inClub(t, s, club, func(tx *Tx) error {
		if _, err := tx.RecordOpening(ctx, box, scheduler.Opening{On: today, Joint: scheduler.Firm, Frames: scheduler.NotTried, By: m.ID}, today); err != nil {
			return err
		}
		l, _, err := tx.CreateLink(ctx, MemberLink, m.ID, 0, LinkOptions{Label: m.Name + "'s phone"})
		if err != nil {
			return err
		}
		link = l.ID
		for _, e := range []AuditEntry{
			{MemberID: m.ID, Action: "change address", Subject: m.Name + ": " + m.Email + " → x@example.org"},
			{Action: "change role", Subject: m.Name, Detail: json.RawMessage(fmt.Sprintf(`{"about": {"args": [%q, "of %s"]}}`, m.Name, strings.ToUpper(m.Email)))},
			{Action: "change role", Subject: m.Name + "son"}, // somebody else
		} {
			if err := tx.Audit(ctx, e); err != nil {
				return err
			}
		}
		_, err = tx.Owe(ctx, []owed.Message{
			{Key: "a", Kind: scheduler.InviteMessage, MemberID: m.ID, On: today, Reason: InvitedBy + m.Name},
			{Key: "b", Kind: scheduler.InviteMessage, MemberID: c.Members[1].ID, On: today, Reason: InvitedBy + m.Name},
		}, sometime)
		return err
	})
	before := openings()
	err := s.ErasePerson(ctx, person)
	var last *LastOrganiserError
	if !errors.As(err, &last) || !errors.Is(err, ErrLastOrganiser) || last.Clubs != "Old Mill Beekeepers, Elsewhere" {
		t.Fatalf("the last organiser: %v", err)
	}
	if memberOf(t, s, club, person).Name != m.Name || len(everywhere(t, s, m.Email)) == 0 {
		t.Fatal("it was erased all the same")
	}
	for _, id := range []int64{club, other} {
		inClub(t, s, id, func(tx *Tx) error {
			_, err := tx.AddMember(ctx, scheduler.Member{Name: "Next", Email: "next@example.org", Role: scheduler.Organiser})
			return err
		})
	}
	signIn := begin(t, s, person)
	if err := s.ErasePerson(ctx, person); err != nil {
		t.Fatal(err)
	}
	if got := everywhere(t, s, "ansel@"); len(got) > 0 {
		t.Errorf("the address stands in %v", got)
	}
	if got := everywhere(t, s, m.Name+"'s"); len(got) > 0 {
		t.Errorf("the calendar's label stands in %v", got)
	}
	if got := rowsOf(t, s, `SELECT subject FROM audit WHERE action LIKE 'change%'`); strings.Join(got, "; ") != fmt.Sprintf("%sson; a former member; a former member: a former member → x@example.org", m.Name) && len(got) == 3 {
		t.Errorf("the trail says %q", got)
	}
	if got := rowsOf(t, s, `SELECT detail::text FROM audit WHERE detail IS NOT NULL AND action = 'change role'`); got[0] != `{"about": {"args": ["a former member", "of a former member"]}}` {
		t.Errorf("its details say %q", got)
	}
	if got := rowsOf(t, s, `SELECT reason FROM message WHERE key = 'b'`); got[0] != InvitedBy+Former {
		t.Errorf("a mail to another one says %q", got)
	}
	if after := openings(); after != before {
		t.Errorf("%d openings of %d are left", after, before)
	}
	if signsIn(t, s, person, signIn) != nil {
		t.Error("the session holds")
	}
	inClub(t, s, club, func(tx *Tx) error {
		l, err := tx.Link(ctx, link)
		if err == nil && l.EndedAt().IsZero() {
			t.Error("the calendar address holds")
		}
		return err
	})
	if err := s.ErasePerson(ctx, person); err != nil {
		t.Errorf("erased twice: %v", err)
	}
}

func TestPersonDataIsWhole(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club, _, person := inTwoClubs(t, s)
	m := memberOf(t, s, club, person)
	box := readClub(t, s, club).Apiaries[0].Hives[0].Boxes[0]
	inClub(t, s, club, func(tx *Tx) error {
		if _, err := tx.RecordOpening(ctx, box.ID, scheduler.Opening{On: today, Joint: scheduler.Firm, Frames: scheduler.NotTried, By: m.ID, Note: "propolis galore"}, today); err != nil {
			return err
		}
		m.NoGo = []scheduler.Period{{From: today + 40, Reason: "at the sea"}}
		if err := tx.UpdateMember(ctx, m); err != nil {
			return err
		}
		_, token, err := tx.CreateLink(ctx, MemberLink, m.ID, 0, LinkOptions{Label: "my phone"})
		if err == nil && token == "" {
			t.Error("no token")
		}
		return err
	})
	begin(t, s, person)
	data, err := s.PersonData(ctx, person)
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Person map[string]any
		Clubs  []map[string]any
	}
	if err := json.Unmarshal(data, &got); err != nil || len(got.Clubs) != 2 {
		t.Fatalf("%s: %v", data, err)
	}
	for _, want := range []string{"ansel@example.org", "propolis galore", box.Name, "at the sea", "my phone", "192.0.2.7", "Old Mill Beekeepers", "Elsewhere"} {
		if !strings.Contains(string(data), want) {
			t.Errorf("%q is not in it", want)
		}
	}
	for _, secret := range []string{"token_hash", "brida@", "digest"} {
		if strings.Contains(string(data), secret) {
			t.Errorf("%q is in it", secret)
		}
	}
	if _, err := s.PersonData(ctx, person+1000); !errors.Is(err, ErrNotFound) {
		t.Errorf("of nobody: %v", err)
	}
}

// What another club's mail server said is not told here, nor when somebody signs
// in who belongs to another club too.
func TestOtherClubsMailIsNotShown(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club, other, person := inTwoClubs(t, s)
	m, there := memberOf(t, s, club, person), memberOf(t, s, other, person)
	brida := readClub(t, s, club).Members[1]
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.Owe(ctx, []owed.Message{
			{Key: "s/1", Kind: scheduler.SignInMessage, MemberID: m.ID, On: today, Reason: AskedToSignIn},
			{Key: "s/2", Kind: scheduler.SignInMessage, MemberID: brida.ID, On: today, Reason: AskedToSignIn},
		}, sometime)
		return err
	})
	seen := func(viewer int64) (n int) {
		inClub(t, s, club, func(tx *Tx) error {
			all, err := tx.Messages(ctx, MessageFilter{Kind: scheduler.SignInMessage, Viewer: viewer})
			n = len(all)
			return err
		})
		return n
	}
	if n, own := seen(brida.ID), seen(m.ID); n != 1 || own != 2 {
		t.Errorf("another member sees %d sign-in mails, want 1 of the club's own; the person %d, want 2", n, own)
	}
	if err := s.MarkRefused(ctx, person, "ansel@example.org", "550 no such box"); err != nil {
		t.Fatal(err)
	}
	refused := func(club, member int64) (reply string) {
		inClub(t, s, club, func(tx *Tx) error {
			all, err := tx.RefusedMembers(ctx)
			if _, ok := all[member]; !ok {
				t.Error("it is not known as refused")
			}
			reply = all[member]
			return err
		})
		return reply
	}
	if a, b := refused(club, m.ID), refused(other, there.ID); a+b != "" {
		t.Errorf("clubs whose mail did not come back are told %q and %q", a, b)
	}
	inClub(t, s, other, func(tx *Tx) error {
		_, err := tx.Owe(ctx, []owed.Message{{Key: "d", Kind: scheduler.DigestMessage, MemberID: there.ID, On: today}}, sometime)
		return err
	})
	owner(t, s, `UPDATE message SET state = 'refused', closed_at = now(), attempts = 1, last_attempt_at = now() WHERE key = 'd'`)
	if a, b := refused(club, m.ID), refused(other, there.ID); a != "" || b != "550 no such box" {
		t.Errorf("the one whose mail did is told %q, the other %q", b, a)
	}
}
