package store

import (
	"context"
	"testing"
	"time"
)

// TestSpare: a tick leaves a club out only while somebody decides for it, or as
// long as what was found of it can still be true.
func TestSpare(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	const longest = 2 * time.Hour
	now := time.Date(2027, time.May, 3, 9, 0, 0, 0, time.UTC)
	spare := func(at time.Time) (yes bool) {
		t.Helper()
		inClub(t, s, club, func(tx *Tx) (err error) { yes, err = tx.Spare(ctx, club, at, longest); return err })
		return yes
	}
	quiet := func(until time.Time) {
		t.Helper()
		inClub(t, s, club, func(tx *Tx) error {
			turn, err := tx.TakeTurn(ctx, now)
			if err == nil {
				tx.Quiet(turn.FeedVersion, until)
			}
			return err
		})
	}
	if spare(now) {
		t.Error("a club that nobody has looked at is left out")
	}
	quiet(now.Add(time.Hour))
	for at, want := range map[time.Duration]bool{0: true, time.Hour - time.Second: true, time.Hour: false, -time.Hour: true, -time.Hour - time.Second: false} {
		if got := spare(now.Add(at)); got != want {
			t.Errorf("quiet for an hour, looked at %s later: left out is %t", at, got)
		}
	}
	inClub(t, s, club, func(tx *Tx) error { tx.feedChangedAt(nil); return nil })
	if spare(now) {
		t.Error("a club that has changed since is left out")
	}
	inClub(t, s, club, func(tx *Tx) error {
		if left, err := tx.Spare(ctx, club, now, longest); err != nil || left {
			t.Errorf("left out %t (%v)", left, err)
		}
		if !spare(now) {
			t.Error("a club that somebody decides for is waited for")
		}
		return nil
	})
	if spare(now) {
		t.Error("a club that somebody has decided for is left out for ever")
	}
}
