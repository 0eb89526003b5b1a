package notify_test

import (
	"bytes"
	"errors"
	"net/url"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pryday/notify"
	"pryday/scheduler"
)

var deeds = []notify.Deed{notify.RecordDeed, notify.OpenedDeed, notify.RainedOffDeed, notify.CantGoDeed, notify.UnsubscribeDeed}

// signer has keys of one byte each, the first of which signs.
func signer(fill ...byte) *notify.Signer {
	var keys [][]byte
	for _, b := range fill {
		keys = append(keys, bytes.Repeat([]byte{b}, 32))
	}
	return notify.NewSigner(func() [][]byte { return keys })
}

func TestActionTokens(t *testing.T) {
	s, other := signer(1), signer(2)
	now := time.Date(2027, 5, 1, 7, 0, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		a := notify.Action{
			Do: rapid.SampledFrom(deeds).Draw(t, "deed"), Club: rapid.Int64Range(1, 1<<40).Draw(t, "club"), Member: rapid.Int64Range(1, 1<<40).Draw(t, "member"),
			VisitUID: rapid.StringMatching(`[a-z0-9-]{0,60}`).Draw(t, "uid"), Sequence: rapid.IntRange(0, 1<<30).Draw(t, "sequence"),
			On:      rapid.OneOf(rapid.Just(scheduler.Date(0)), rapid.Map(rapid.IntRange(1, 1<<20), func(n int) scheduler.Date { return scheduler.Date(n) })).Draw(t, "on"),
			Ended:   rapid.OneOf(rapid.Just(0), rapid.IntRange(1, 1<<20)).Draw(t, "ended"),
			Link:    rapid.OneOf(rapid.Just(int64(0)), rapid.Int64Range(1, 1<<40)).Draw(t, "link"),
			Expires: now.Add(time.Duration(rapid.IntRange(1, 1<<20).Draw(t, "minutes")) * time.Minute),
		}
		token := s.Sign(a)
		if token != url.PathEscape(token) {
			t.Fatalf("token %q needs escaping", token)
		}
		got, err := s.Verify(token, now)
		if err != nil || got != a {
			t.Fatalf("%+v came back as %+v, %v", a, got, err)
		}
		if _, err := s.Verify(token, a.Expires); !errors.Is(err, notify.ErrExpired) {
			t.Fatalf("at its expiry: %v", err)
		}
		if _, err := other.Verify(token, now); !errors.Is(err, notify.ErrForged) {
			t.Fatalf("with another key: %v", err)
		}
		i := rapid.IntRange(0, len(token)-1).Draw(t, "position")
		changed := token[:i] + string(rapid.SampledFrom([]rune("ABCxyz019-_.=/")).Draw(t, "letter")) + token[i+1:]
		if changed != token {
			if got, err := s.Verify(changed, now); !errors.Is(err, notify.ErrForged) {
				t.Fatalf("changed at %d: %+v, %v", i, got, err)
			}
		}
		if got, err := s.Verify(token[:i], now); !errors.Is(err, notify.ErrForged) {
			t.Fatalf("cut at %d: %+v, %v", i, got, err)
		}
	})
}

func TestActionTokenIsOneDeed(t *testing.T) {
	s := signer(1)
	a := notify.Action{Club: 3, Member: 9, VisitUID: "v1", Expires: time.Date(2027, 6, 1, 0, 0, 0, 0, time.UTC)}
	seen := map[string]bool{}
	for _, d := range deeds {
		a.Do = d
		seen[s.Sign(a)] = true
	}
	if len(seen) != len(deeds) {
		t.Errorf("%d deeds share %d tokens", len(deeds), len(seen))
	}
}

// What stands in an own calendar ends when its member signs out everywhere, and
// works as long after the visit's day as a mail's button does.
func TestCalendarActionsEndWithASignOut(t *testing.T) {
	day := scheduler.NewDate(2027, 5, 3)
	got := notify.CalendarAction(7, &scheduler.Member{ID: 5, ButtonsEnded: 3}, 11, &scheduler.Visit{UID: "u", On: day, Sequence: 2}, 48*time.Hour)
	want := notify.Action{
		Do: notify.LookDeed, Club: 7, Member: 5, Link: 11, VisitUID: "u", Ended: 3,
		Expires: time.Date(2027, 5, 3+90-2, 0, 0, 0, 0, time.UTC), // the day of visits is two days ahead of the clock
	}
	if got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
}

func TestKeysRotate(t *testing.T) {
	now := time.Date(2027, 5, 1, 7, 0, 0, 0, time.UTC)
	a := notify.Action{Do: notify.CantGoDeed, Club: 3, Member: 9, VisitUID: "v1", Expires: now.Add(time.Hour)}
	for name, c := range map[string]struct {
		signed, read *notify.Signer
		want         error
	}{
		"signed before, read after": {signer(1), signer(2, 1), nil},
		"signed after":              {signer(2, 1), signer(2), nil},
		"the old key has ended":     {signer(1), signer(2), notify.ErrForged},
	} {
		if got, err := c.read.Verify(c.signed.Sign(a), now); !errors.Is(err, c.want) || err == nil && got != a {
			t.Errorf("%s: %+v: %v", name, got, err)
		}
	}
}

func FuzzVerify(f *testing.F) {
	s := signer(1)
	now := time.Date(2027, 5, 1, 7, 0, 0, 0, time.UTC)
	token := s.Sign(notify.Action{Do: notify.RecordDeed, Club: 1, Member: 2, VisitUID: "u", Expires: now.Add(time.Hour)})
	f.Add(token)
	f.Add(token[:9] + "\r" + token[9:])
	f.Add(token + "\n")
	f.Add("AQE")
	f.Add(strings.Repeat("A", 500))
	f.Fuzz(func(t *testing.T, token string) {
		if a, err := s.Verify(token, now); err == nil && s.Sign(a) != token {
			t.Errorf("%q was taken as %+v", token, a)
		}
	})
}
