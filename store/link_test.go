package store

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"pryday/scheduler"
)

func TestLinkFromMakingToRevoking(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	var link *Link
	var token string
	options := LinkOptions{Label: "phone", Alarms: true, ConfirmedOnly: true, ExactPlace: true}
	inClub(t, s, club, func(tx *Tx) (err error) {
		link, token, err = tx.CreateLink(ctx, MemberLink, c.Members[0].ID, 0, options)
		return err
	})
	if len(token) < 26 { // 128 bits in base 32
		t.Errorf("token %q is short", token)
	}
	t.Run("the token is kept nowhere", func(t *testing.T) {
		if rows := rowsOf(t, s, `SELECT l::text FROM calendar_link l`); len(rows) != 1 || strings.Contains(rows[0], token) {
			t.Errorf("found it in the row: %q", rows)
		}
	})
	found, err := s.LinkByToken(ctx, token)
	if err != nil || found.ID != link.ID || found.ClubID != club || found.LinkOptions != options || !found.FetchedAt.IsZero() {
		t.Fatalf("found %+v: %v", found, err)
	}
	if _, err := s.LinkByToken(ctx, token[1:]+"a"); !errors.Is(err, ErrNotFound) {
		t.Errorf("a token never given out: %v", err)
	}
	t.Run("readings are noted together", func(t *testing.T) {
		at := time.Date(2027, 6, 1, 12, 0, 0, 0, time.UTC)
		err := s.FlushFetches(ctx, []Fetch{
			{ClubID: club, LinkID: link.ID, At: at, Client: "agent\x00 1", Count: 3},
			{ClubID: club, LinkID: link.ID + 77, At: at, Client: "gone", Count: 1},
		})
		if err != nil {
			t.Fatal(err)
		}
		found, err := s.LinkByToken(ctx, token)
		if err != nil || found.Fetches != 3 || !found.FetchedAt.Equal(at) || found.FetchedBy != "agent 1" {
			t.Errorf("noted %+v: %v", found, err)
		}
	})
	var next string
	t.Run("replaced, the old one still says so", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) (err error) {
			_, next, err = tx.RotateLink(ctx, link.ID)
			return err
		})
		if old, err := s.LinkByToken(ctx, token); err != nil || old.ReplacedAt.IsZero() {
			t.Errorf("old link %+v: %v", old, err)
		}
		if now, err := s.LinkByToken(ctx, next); err != nil || now.LinkOptions != options || now.ID == link.ID {
			t.Errorf("new link %+v: %v", now, err)
		}
		err := s.InClub(ctx, club, func(tx *Tx) error { _, _, err := tx.RotateLink(ctx, link.ID); return err })
		if !errors.Is(err, ErrGone) {
			t.Errorf("replaced twice: %v", err)
		}
	})
	t.Run("revoked, it is gone", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) error { return tx.RevokeLink(ctx, link.ID) })
		if old, err := s.LinkByToken(ctx, token); !errors.Is(err, ErrGone) || old == nil {
			t.Errorf("link %+v: %v", old, err)
		}
		if _, err := s.LinkByToken(ctx, next); err != nil {
			t.Errorf("the other one: %v", err)
		}
	})
	t.Run("an exact place only on one's own", func(t *testing.T) {
		err := s.InClub(ctx, club, func(tx *Tx) error {
			_, _, err := tx.CreateLink(ctx, ClubLink, c.Members[0].ID, 0, LinkOptions{ExactPlace: true})
			return err
		})
		if code(err) != "23514" { // check violation
			t.Errorf("got %v", err)
		}
	})
	t.Run("links of a member who left are withdrawn, and nobody's", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) error {
			id, err := tx.AddMember(ctx, scheduler.Member{Name: "Ceri Dun", Email: "ceri@example.org", Role: scheduler.Organiser})
			if err != nil {
				return err
			}
			links, err := tx.Links(ctx, c.Members[0].ID)
			if err != nil || len(links) != 2 {
				t.Errorf("links %+v: %v", links, err)
			}
			if _, err := tx.Member(ctx, id); err != nil {
				return err
			}
			return tx.RemoveMember(ctx, c.Members[0].ID)
		})
		if l, err := s.LinkByToken(ctx, next); !errors.Is(err, ErrGone) || l.MemberID != 0 || l.Label != "" || l.FetchedBy != "" {
			t.Errorf("got %+v: %v", l, err)
		}
		inClub(t, s, club, func(tx *Tx) error {
			links, err := tx.Links(ctx, 0)
			if len(links) != 0 {
				t.Errorf("of members are %+v", links)
			}
			return err
		})
	})
}

func TestFeedVersionRisesAndIsTold(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	conn, err := s.Listen(ctx, FeedChannel)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	version := func() (v int64) {
		inClub(t, s, club, func(tx *Tx) (err error) { v, err = tx.FeedVersion(ctx); return err })
		return v
	}
	before := version()
	v := readClub(t, s, club).Visits[0]
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.MoveVisit(ctx, v.ID, v.Sequence, v.On+2, today)
		return err
	})
	if got := version(); got != before+1 {
		t.Errorf("version %d after %d", got, before)
	}
	wait, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	n, err := conn.WaitForNotification(wait)
	if err != nil {
		t.Fatal(err)
	}
	toldClub, toldVersion, err := ParseFeedChange(n.Payload)
	if err != nil || toldClub != club || toldVersion != before+1 {
		t.Errorf("told %q", n.Payload)
	}
	t.Run("a change that no calendar shows is not told", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) error { return tx.Audit(ctx, AuditEntry{Action: "look", Subject: "out of the window"}) })
		if got := version(); got != before+1 {
			t.Errorf("version %d", got)
		}
	})
}

// TestAnEndedLinkStaysAsItEnded: it cannot be replaced, it ends once, a reading
// that is noted late does not count as the last, and it makes nobody a subscriber.
func TestAnEndedLinkStaysAsItEnded(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	members := readClub(t, s, club).Members
	make := func(member int64) (id int64) {
		inClub(t, s, club, func(tx *Tx) error {
			l, _, err := tx.CreateLink(ctx, MemberLink, member, 0, LinkOptions{})
			if err == nil {
				id = l.ID
			}
			return err
		})
		return id
	}
	read := func(id int64) (l *Link) {
		inClub(t, s, club, func(tx *Tx) (err error) { l, err = tx.Link(ctx, id); return err })
		return l
	}
	revoked, replaced := make(members[0].ID), make(members[1].ID)

	at := time.Date(2027, 6, 1, 12, 0, 0, 0, time.UTC)
	for _, when := range []time.Time{at, at.Add(-time.Hour)} {
		for _, id := range []int64{revoked, replaced} {
			if err := s.FlushFetches(ctx, []Fetch{{ClubID: club, LinkID: id, At: when, Count: 1}}); err != nil {
				t.Fatal(err)
			}
		}
	}
	if l := read(revoked); !l.FetchedAt.Equal(at) || l.Fetches != 2 {
		t.Errorf("read %d times, last at %s, want twice and %s", l.Fetches, l.FetchedAt, at)
	}

	inClub(t, s, club, func(tx *Tx) error { return tx.RevokeLink(ctx, revoked) })
	ended := read(revoked).RevokedAt
	inClub(t, s, club, func(tx *Tx) error { return tx.RevokeLink(ctx, revoked) })
	if got := read(revoked).RevokedAt; !got.Equal(ended) {
		t.Errorf("revoked at %s, and again at %s", ended, got)
	}
	err := s.InClub(ctx, club, func(tx *Tx) error { _, _, err := tx.RotateLink(ctx, revoked); return err })
	if !errors.Is(err, ErrGone) {
		t.Errorf("what was revoked is replaced: %v", err)
	}
	inClub(t, s, club, func(tx *Tx) error { _, _, err := tx.RotateLink(ctx, replaced); return err })
	inClub(t, s, club, func(tx *Tx) error {
		subscribed, err := tx.Subscribers(ctx)
		if len(subscribed) > 0 {
			t.Errorf("members %v count as subscribed", subscribed)
		}
		return err
	})
}
