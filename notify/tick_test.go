package notify_test

import (
	"context"
	"testing"
	"time"

	"pryday/notify"
	"pryday/notify/smtp"
	"pryday/store"
)

// TestTickComesWithinTheMinute: the next tick is never farther than a minute, from
// wherever the clock stands.
func TestTickComesWithinTheMinute(t *testing.T) {
	t.Parallel()
	full := time.Date(2027, time.May, 3, 9, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		at   time.Time
		want time.Duration
	}{
		{full, time.Minute},
		{full.Add(time.Nanosecond), time.Minute - 1},
		{full.Add(59*time.Second + 999*time.Millisecond), time.Millisecond},
		{full.Add(-26 * time.Hour).Add(20 * time.Second), 40 * time.Second},
	} {
		if got := notify.UntilMinute(c.at); got != c.want {
			t.Errorf("at %s the next tick is in %s, want %s", c.at, got, c.want)
		}
	}
}

// slowServer has each letter in hand until it may go on.
type slowServer struct {
	nowhere
	has, goOn chan struct{}
}

func (s *slowServer) Send(ctx context.Context, l *smtp.Letter) smtp.Outcome {
	s.has <- struct{}{}
	<-s.goOn
	return s.nowhere.Send(ctx, l)
}

// TestMessageInHandIsNotSentBeside: the job engine gives a job out once more where
// its clock is ahead of the database's, though it runs.
func TestMessageInHandIsNotSentBeside(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &slowServer{has: make(chan struct{}, 2), goOn: make(chan struct{})}
	n := b.service(t, to)
	tick(t, n)
	message := b.messages(t)[0].ID
	first := make(chan error, 1)
	go func() {
		_, err := n.Attempt(t.Context(), b.club, message)
		first <- err
	}()
	<-to.has
	second := make(chan time.Duration, 1)
	go func() {
		again, err := n.Attempt(t.Context(), b.club, message)
		if err != nil {
			t.Error(err)
		}
		second <- again
	}()
	select {
	case again := <-second:
		if again <= 0 {
			t.Errorf("a message in hand is looked at again in %s", again)
		}
	case <-to.has:
		t.Error("a message is sent beside itself")
	}
	close(to.goOn)
	if err := <-first; err != nil {
		t.Fatal(err)
	}
	if again, err := n.Attempt(t.Context(), b.club, message); again != 0 || err != nil {
		t.Errorf("once delivered it is tried again in %s, %v", again, err)
	}
	if all := to.all(); len(all) != 1 {
		t.Errorf("it was sent %d times", len(all))
	}
}

// TestClockPutBackIsNoRest: what was decided, and found to be quiet, by a clock that
// was ahead by a day holds up nothing once it is put right.
func TestClockPutBackIsNoRest(t *testing.T) {
	t.Parallel()
	want := tick(t, newFixture(t).service(t, &nowhere{})).New
	b := newFixture(t)
	b.exec(t, `INSERT INTO decided (club_id, at, quiet_version, quiet_until)
		SELECT id, '2027-05-04 11:00Z', feed_version, '2027-05-04 12:00Z' FROM club
		ON CONFLICT (club_id) DO UPDATE SET at = excluded.at, quiet_version = excluded.quiet_version, quiet_until = excluded.quiet_until`)
	n := b.service(t, &nowhere{})
	if r, err := n.QuietTick(t.Context()); err != nil || r.Clubs != 1 || r.New != want || want == 0 {
		t.Errorf("%+v, %v: want 1 club and %d new messages, as without that clock", r, err, want)
	}
	// What it decides now is what the next decision goes by.
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		turn, err := tx.TakeTurn(ctx, b.clock.civil)
		if err == nil && !turn.Before.Since.Equal(b.clock.civil) {
			t.Errorf("it was decided last at %s, want %s", turn.Before.Since, b.clock.civil)
		}
		return err
	})
}
