package store

import (
	"context"
	"errors"
	"testing"
	"time"

	"pryday/scheduler"
)

const ninetyDays = 90 * 24 * time.Hour

// inTwoClubs brings the sample in and makes one of its members a member of
// another club too; it returns the clubs, and the person.
func inTwoClubs(t *testing.T, s *Store) (club, other, person int64) {
	t.Helper()
	ctx := context.Background()
	club = importSample(t, s)
	other, err := s.CreateClub(ctx, "Elsewhere")
	if err != nil {
		t.Fatal(err)
	}
	inClub(t, s, other, func(tx *Tx) error {
		_, err := tx.AddMember(ctx, scheduler.Member{Name: "Ansel", Email: "ansel@example.org", Role: scheduler.Organiser})
		return err
	})
	p, err := s.PersonByEmail(ctx, "ansel@example.org")
	if err != nil {
		t.Fatal(err)
	}
	return club, other, p.ID
}

// memberOf reads a person's membership of a club.
func memberOf(t *testing.T, s *Store, club, person int64) (out scheduler.Member) {
	t.Helper()
	inClub(t, s, club, func(tx *Tx) error {
		members, err := tx.Members(context.Background())
		for _, m := range members {
			if m.PersonID == person {
				out = m
			}
		}
		return err
	})
	return out
}

func versions(t *testing.T, s *Store) map[int64]int64 {
	t.Helper()
	all, err := s.ClubVersions(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	out := map[int64]int64{}
	for _, c := range all {
		out[c.ID] = c.Feed
	}
	return out
}

// signsIn reports which clubs a sign-in shows; nil when it was ended.
func signsIn(t *testing.T, s *Store, person, signIn int64) []int64 {
	t.Helper()
	_, clubs, _, err := s.SignedIn(context.Background(), person, signIn)
	if err != nil && !errors.Is(err, ErrNotFound) {
		t.Fatal(err)
	}
	var out []int64
	for _, c := range clubs {
		out = append(out, c.ClubID)
	}
	return out
}

func begin(t *testing.T, s *Store, person int64) int64 {
	t.Helper()
	id, err := s.BeginSignIn(context.Background(), person, ByMail, Device{Browser: "Firefox", System: "Android", Source: "192.0.2.7"})
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func TestSignOutEverywhereEndsAllThatSignsIn(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club, other, person := inTwoClubs(t, s)
	clubs := []int64{club, other}
	links := map[int64]int64{}
	for _, c := range clubs {
		m := memberOf(t, s, c, person)
		inClub(t, s, c, func(tx *Tx) error {
			link, _, err := tx.CreateLink(ctx, MemberLink, m.ID, 0, LinkOptions{})
			if err == nil {
				links[c] = link.ID
			}
			return err
		})
	}
	if _, err := s.AddPasskey(ctx, Passkey{PersonID: person, Credential: []byte{1}, Data: []byte(`{}`)}); err != nil {
		t.Fatal(err)
	}
	for i, ends := range []Everywhere{{}, {Passkeys: true}, {Calendars: true}} {
		one, two := begin(t, s, person), begin(t, s, person)
		token, err := s.NewSignIn(ctx, person, time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		var change string
		inClub(t, s, club, func(tx *Tx) (err error) {
			change, err = tx.AskAddress(ctx, person, "thief@example.org")
			return err
		})
		before := versions(t, s)
		if err := s.SignOutEverywhere(ctx, person, ends); err != nil {
			t.Fatal(err)
		}
		after := versions(t, s)
		if signsIn(t, s, person, one) != nil || signsIn(t, s, person, two) != nil {
			t.Error("a session holds")
		}
		if _, _, err := s.UseSignIn(ctx, token, Device{}); !errors.Is(err, ErrTokenSpent) {
			t.Errorf("a mailed address signs in: %v", err)
		}
		err = s.InClub(ctx, club, func(tx *Tx) error {
			_, _, _, err := tx.ConfirmAddress(ctx, change)
			return err
		})
		if !errors.Is(err, ErrTokenSpent) {
			t.Errorf("a change of address can be confirmed: %v", err)
		}
		keys, err := s.Passkeys(ctx, person)
		if err != nil || (len(keys) == 0) != (i > 0) {
			t.Errorf("%+v left passkeys %v: %v", ends, keys, err)
		}
		for _, c := range clubs {
			if got := memberOf(t, s, c, person).ButtonsEnded; got != i+1 {
				t.Errorf("the buttons of club %d were ended %d times, want %d", c, got, i+1)
			}
			if after[c] <= before[c] {
				t.Errorf("calendars of club %d do not know that their buttons ended", c)
			}
			inClub(t, s, c, func(tx *Tx) error {
				link, err := tx.Link(ctx, links[c])
				if err == nil && link.EndedAt().IsZero() == ends.Calendars {
					t.Errorf("%+v: the address of club %d ended at %s", ends, c, link.EndedAt())
				}
				return err
			})
		}
		if got := signsIn(t, s, person, begin(t, s, person)); len(got) != 2 {
			t.Errorf("signing in again shows the clubs %v", got)
		}
	}
}

// An organiser ends what belongs to the own club, and nothing else.
func TestSignOutMemberEndsOneClub(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club, other, person := inTwoClubs(t, s)
	signIn := begin(t, s, person)
	token, err := s.NewSignIn(ctx, person, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	before := versions(t, s)
	inClub(t, s, other, func(tx *Tx) error { return tx.SignOutMember(ctx, memberOf(t, s, other, person).ID) })
	if got := signsIn(t, s, person, signIn); len(got) != 1 || got[0] != club {
		t.Errorf("the session shows the clubs %v, want %d", got, club)
	}
	if a, b := memberOf(t, s, other, person).ButtonsEnded, memberOf(t, s, club, person).ButtonsEnded; a != 1 || b != 0 {
		t.Errorf("buttons ended %d times here and %d times in the other club", a, b)
	}
	if after := versions(t, s); after[club] != before[club] || after[other] <= before[other] {
		t.Errorf("versions %v after %v", after, before)
	}
	if _, again, err := s.UseSignIn(ctx, token, Device{}); err != nil || len(signsIn(t, s, person, again)) != 2 {
		t.Errorf("the other club's mailed address: %v", err)
	}
	brida, err := s.PersonByEmail(ctx, "brida@example.org")
	if err != nil {
		t.Fatal(err)
	}
	if token, err = s.NewSignIn(ctx, brida.ID, time.Hour); err != nil {
		t.Fatal(err)
	}
	inClub(t, s, club, func(tx *Tx) error { return tx.SignOutMember(ctx, memberOf(t, s, club, brida.ID).ID) })
	if _, _, err := s.UseSignIn(ctx, token, Device{}); !errors.Is(err, ErrTokenSpent) {
		t.Errorf("a member of this club alone signs in by an address mailed before: %v", err)
	}
}

// The clock of the database may be ahead of the daemon's, or step: whoever signs
// in after a sign-out is signed in.
func TestNoClockDecidesWhoIsSignedIn(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	_, _, person := inTwoClubs(t, s)
	old := begin(t, s, person)
	if err := s.SignOutEverywhere(ctx, person, Everywhere{}); err != nil {
		t.Fatal(err)
	}
	owner(t, s, `UPDATE person SET sessions_since = now() + interval '1 day'`, `UPDATE sign_in SET ended_at = ended_at + interval '1 day'`)
	if got := signsIn(t, s, person, begin(t, s, person)); len(got) != 2 {
		t.Errorf("signed in to %v", got)
	}
	if got := signsIn(t, s, person, old); got != nil {
		t.Errorf("the old one shows %v", got)
	}
}

func TestSessionsOfEarlierVersions(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	_, _, person := inTwoClubs(t, s)
	began := time.Now()
	id, err := s.TakeOverSession(ctx, person, began, Device{Browser: "Firefox"})
	if err != nil || len(signsIn(t, s, person, id)) != 2 {
		t.Errorf("taken over as %d: %v", id, err)
	}
	if err := s.SignOutEverywhere(ctx, person, Everywhere{}); err != nil {
		t.Fatal(err)
	}
	if _, err := s.TakeOverSession(ctx, person, began, Device{}); !errors.Is(err, ErrNotFound) {
		t.Errorf("one that was ended is taken over: %v", err)
	}
}

func TestSignInsAreListedAndEnded(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	_, _, person := inTwoClubs(t, s)
	old, one, two := begin(t, s, person), begin(t, s, person), begin(t, s, person)
	owner(t, s, `UPDATE sign_in SET began_at = now() - interval '91 days', seen_at = now() - interval '2 hours' WHERE id = 1`)
	if err := s.EndSignIn(ctx, person+1, one); !errors.Is(err, ErrNotFound) {
		t.Errorf("ended by another person: %v", err)
	}
	if err := s.EndSignIn(ctx, person, one); err != nil {
		t.Fatal(err)
	}
	if err := s.EndSignIn(ctx, person, one); !errors.Is(err, ErrNotFound) {
		t.Errorf("ended twice: %v", err)
	}
	got, err := s.SignIns(ctx, person, ninetyDays)
	if err != nil || len(got) != 1 || got[0].ID != two || got[0].Browser != "Firefox" || got[0].Source != "192.0.2.7" || got[0].Way != ByMail {
		t.Errorf("listed %+v: %v", got, err)
	}
	signsIn(t, s, person, old)
	if n := rowsOf(t, s, `SELECT id::text FROM sign_in WHERE seen_at > now() - interval '1 minute' AND id = 1`); len(n) != 1 {
		t.Error("being seen is not noted")
	}
	owner(t, s, `UPDATE sign_in SET seen_at = now() - interval '121 days' WHERE id = 1`)
	if cleared, err := s.Clear(ctx, civil(0)); err != nil || cleared.SignIns != 1 {
		t.Errorf("cleared %+v: %v", cleared, err)
	}
}
