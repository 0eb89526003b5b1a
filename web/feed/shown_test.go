package feed

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"pryday/notify/calendar"
	"pryday/scheduler"
	"pryday/store"
	"pryday/testdata/testrun"
)

// entries are the events of a calendar as they stand in it, by UID.
func entries(body string) map[string]string {
	out := map[string]string{}
	for _, part := range strings.Split(body, "BEGIN:VEVENT\r\n")[1:] {
		event, _, _ := strings.Cut(part, "END:VEVENT\r\n")
		_, rest, _ := strings.Cut(event, "UID:")
		uid, _, _ := strings.Cut(rest, "\r\n")
		out[uid] = event
	}
	return out
}

// stampsOf are the sequence and the two times of an entry.
func stampsOf(t *testing.T, entry string) (sequence int, stamp, modified string) {
	t.Helper()
	for line := range strings.SplitSeq(entry, "\r\n") {
		name, value, _ := strings.Cut(line, ":")
		switch name {
		case "SEQUENCE":
			if _, err := fmt.Sscan(value, &sequence); err != nil {
				t.Fatal(err)
			}
		case "DTSTAMP":
			stamp = value
		case "LAST-MODIFIED":
			modified = value
		}
	}
	return sequence, stamp, modified
}

// An entry that says anything else than before has a higher sequence and a
// later stamp and time of change, whatever it was that changed (RFC 5545,
// 3.8.7.2 to 3.8.7.4; RFC 5546, 2.1.4); an entry that says the same is the same
// byte for byte, and the entity tag goes with the bytes.
func TestEntriesTellTheirChanges(t *testing.T) {
	member := func(change func(*scheduler.Member)) func(context.Context, *fixture, *store.Tx) error {
		return func(ctx context.Context, b *fixture, tx *store.Tx) error {
			m, err := tx.Member(ctx, b.member)
			if err != nil {
				return err
			}
			change(m)
			return tx.UpdateMember(ctx, *m)
		}
	}
	hours := member(func(m *scheduler.Member) { m.Prefs.VisitHours = &scheduler.HoursOfDay{From: 9 * 60, Until: 11 * 60} })
	for _, c := range []struct {
		name    string
		link    store.LinkOptions
		do      func(context.Context, *fixture, *store.Tx) error
		changes string // part of every entry that changes; "" for none
	}{
		{"another language", store.LinkOptions{Far: true}, member(func(m *scheduler.Member) { m.Language = "de" }), "SUMMARY:"},
		{"hours", store.LinkOptions{Far: true, Timed: true}, hours, "SUMMARY:"},
		{"hours that are not shown", store.LinkOptions{Far: true}, hours, ""},
		{"muted mails", store.LinkOptions{Far: true}, member(func(m *scheduler.Member) { m.Prefs.Mute = []scheduler.MessageKind{scheduler.DigestMessage} }), ""},
		{"a place renamed", store.LinkOptions{Far: true}, func(ctx context.Context, b *fixture, tx *store.Tx) error {
			c, err := tx.Apiaries(ctx)
			if err != nil {
				return err
			}
			a := c.Apiaries[1]
			a.Name = "Further Bank"
			_, err = tx.UpdateApiary(ctx, a, b.today())
			return err
		}, "LOCATION:Further"},
		{"access notes", store.LinkOptions{Far: true}, func(ctx context.Context, b *fixture, tx *store.Tx) error {
			c, err := tx.Apiaries(ctx)
			if err != nil {
				return err
			}
			a := c.Apiaries[1]
			a.AccessNotes = "the key is under the stone"
			_, err = tx.UpdateApiary(ctx, a, b.today())
			return err
		}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newFixture(t, records())
			_, token := b.link(t, store.ClubLink, 0, c.link)
			first := b.get(t, token)
			before := entries(first.body)
			var version int64
			b.inClub(t, func(ctx context.Context, tx *store.Tx) error { return c.do(ctx, b, tx) })
			b.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) { version, err = tx.FeedVersion(ctx); return err })
			testrun.Until(t, "the daemon hears", func() bool { return b.feeds.listener.version(b.club) >= version })
			second := b.get(t, token)
			after := entries(second.body)
			if len(after) != len(before) || len(after) < 3 {
				t.Fatalf("%d entries, then %d", len(before), len(after))
			}
			changed := 0
			for uid, was := range before {
				is := after[uid]
				wasSequence, wasStamp, _ := stampsOf(t, was)
				sequence, stamp, modified := stampsOf(t, is)
				if c.changes == "" || !strings.Contains(is, c.changes) {
					if is != was {
						t.Errorf("it says the same and is not the same:\n%s\n%s", was, is)
					}
					continue
				}
				changed++
				if sequence != wasSequence+1 || stamp <= wasStamp || stamp != modified {
					t.Errorf("sequence %d after %d, stamp %s after %s, modified %s", sequence, wasSequence, stamp, wasStamp, modified)
				}
			}
			if (changed > 0) != (c.changes != "") {
				t.Errorf("%d entries changed", changed)
			}
			if same := first.header.Get("ETag") == second.header.Get("ETag"); same != (first.body == second.body) || same != (c.changes == "") {
				t.Errorf("the tag is the same: %t", same)
			}
			// Another daemon, or this one after a restart, says the same.
			if again := b.another(t, b.database).calendar(t, token); again != second.body {
				t.Errorf("another daemon says otherwise:\n%s\n%s", second.body, again)
			}
		})
	}
}

// A calendar made from older records than were shown already is made anew.
func TestOlderRecordsAreNotShown(t *testing.T) {
	b := newFixture(t, records())
	id, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error { return tx.Show(ctx, id, 1<<40, nil) })
	if a := b.get(t, token); a.status != 503 {
		t.Errorf("it answers %d", a.status)
	}
	e := &entry{club: b.club, link: id, version: 1}
	events := []calendar.Event{{UID: "a", ChangedAt: time.Now()}}
	if _, err := b.feeds.follow(t.Context(), e, &draft{Feed: &calendar.Feed{Events: events}, visits: []store.VisitRecord{{Visit: scheduler.Visit{ID: 1, UID: "a"}}}}); !errors.Is(err, errOvertaken) {
		t.Errorf("it is shown: %v", err)
	}
}

func TestStamp(t *testing.T) {
	now := time.Date(2027, 5, 3, 9, 0, 0, 700, time.UTC)
	was := time.Date(2027, 5, 1, 9, 0, 0, 0, time.UTC)
	event := calendar.Event{UID: "a", Summary: "now", Sequence: 4, ChangedAt: was}
	same := event.Digest()
	for _, c := range []struct {
		name     string
		shown    *store.ShownEntry
		changed  time.Time // the visit
		sequence int
		at       time.Time
		written  int
	}{
		{"never shown", nil, was, 4, was, 1},
		{"the same", &store.ShownEntry{Digest: same, Sequence: 7, ChangedAt: was}, now, 7, was, 0},
		{"other words", &store.ShownEntry{Sequence: 7, ChangedAt: was}, was, 8, now.Truncate(time.Second), 1},
		{"the visit changed", &store.ShownEntry{Sequence: 2, ChangedAt: was}, was.Add(time.Hour), 4, was.Add(time.Hour), 1},
		{"twice in a second", &store.ShownEntry{Sequence: 7, ChangedAt: now.Truncate(time.Second)}, was, 8, now.Truncate(time.Second).Add(time.Second), 1},
		{"a clock that went back", &store.ShownEntry{Sequence: 7, ChangedAt: now.Add(time.Hour).Truncate(time.Second)}, was, 8, now.Add(time.Hour + time.Second).Truncate(time.Second), 1},
	} {
		events := []calendar.Event{event}
		events[0].ChangedAt = c.changed
		shown := map[int64]store.ShownEntry{}
		if c.shown != nil {
			shown[1] = *c.shown
		}
		written := stamp(events, map[string]int64{"a": 1}, shown, now)
		if e := events[0]; e.Sequence != c.sequence || !e.ChangedAt.Equal(c.at) || len(written) != c.written {
			t.Errorf("%s: sequence %d at %s, %d written", c.name, e.Sequence, e.ChangedAt, len(written))
		}
	}
}
