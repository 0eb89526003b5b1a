package notify_test

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/notify"
	"pryday/notify/smtp"
	"pryday/notify/smtp/smtptest"
	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/testdata/testrun"
)

func itoa(n int64) string { return strconv.FormatInt(n, 10) }

// TestMovedBeforeDelivery: a mail that lay waiting while its visit moved is
// passed over, and the move is told instead.
func TestMovedBeforeDelivery(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n := b.service(t, to)
	tick(t, n)
	owed := b.messages(t)
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		for _, it := range owed[0].Items {
			v, err := tx.Visit(ctx, it.VisitID)
			if err != nil {
				return err
			}
			if _, err := tx.MoveVisit(ctx, v.ID, v.Sequence, b.today()+1, b.today()); err != nil {
				return err
			}
		}
		return nil
	})
	if _, err := n.Attempt(t.Context(), b.club, owed[0].ID); err != nil {
		t.Fatal(err)
	}
	if m := b.message(t, owed[0].ID); m.State != store.PassedOver || !strings.Contains((&text.Speaker{}).Tell(m.ReplyText()), "moved to 4 May 2027") {
		t.Errorf("%s, %q", m.State, m.Reply)
	}
	if r := tick(t, n); r.New == 0 {
		t.Error("the move is not owed")
	}
	moved := 0
	for _, m := range b.messages(t)[len(owed):] {
		if m.Kind == scheduler.MovedMessage {
			moved++
		}
	}
	if moved == 0 || len(to.all()) != 0 {
		t.Errorf("%d moves owed, %d letters", moved, len(to.all()))
	}
}

// TestMovedBetweenDeliveries: of two mails of the same minute, the second goes by
// what changed after the first.
func TestMovedBetweenDeliveries(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n := b.service(t, to)
	owed, v := b.oweReminders(t, 2), b.visit(t)
	deliver := func(i int, want store.MessageState) {
		t.Helper()
		if _, err := n.Attempt(t.Context(), b.club, owed[i].ID); err != nil {
			t.Fatal(err)
		}
		if m := b.message(t, owed[i].ID); m.State != want {
			t.Errorf("%s, %q; want %s", m.State, m.Reply, want)
		}
	}
	deliver(0, store.Sent)
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.MoveVisit(ctx, v.ID, v.Sequence, v.On+7, b.today())
		return err
	})
	deliver(1, store.PassedOver)
}

// TestGivenUp: a message that could not be delivered for days ends, with the
// server's last words.
func TestGivenUp(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	owed := b.oweReminders(t, 1)
	server := smtptest.NewFaultyServer(t, "rcpt", "450 4.2.1 greylisted", 0)
	n := b.service(t, senderTo(t, server.Port(), nil))
	for _, tt := range []struct {
		age   string
		state store.MessageState
	}{{"4 days 12 hours", store.Owed}, {"4 days 23 hours 59 minutes", store.GivenUp}} {
		b.exec(t, "UPDATE message SET owed_at = now() - interval '"+tt.age+"'")
		again, err := n.Attempt(t.Context(), b.club, owed[0].ID)
		m := b.message(t, owed[0].ID)
		if err != nil || m.State != tt.state || (again > 0) != (tt.state == store.Owed) || !strings.Contains(m.Reply, "450 4.2.1 greylisted") {
			t.Errorf("after %s: %s, %q, again in %s, %v", tt.age, m.State, m.Reply, again, err)
		}
	}
	if m := b.message(t, owed[0].ID); m.Attempts != 2 {
		t.Errorf("%d attempts", m.Attempts)
	}
}

// TestJobWaitsItsDelay: the job engine holds a failed message back for the
// delay of its record, and the record says what the server said.
func TestJobWaitsItsDelay(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	owed := b.oweReminders(t, 1)
	server := smtptest.NewFaultyServer(t, "rcpt", "450 4.2.1 greylisted", 0)
	n := b.service(t, senderTo(t, server.Port(), nil))
	start(t, n)
	testrun.Until(t, "the first attempt is over", func() bool { return b.message(t, owed[0].ID).Attempts == 1 })
	conn, err := pgx.Connect(t.Context(), b.url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	var state string
	var wait float64
	testrun.Until(t, "the job is put back", func() bool {
		err := conn.QueryRow(t.Context(), `SELECT state, extract(epoch FROM scheduled_at - now()) FROM river_job
			WHERE kind = 'deliver' AND args @> $1::jsonb`, fmt.Sprintf(`{"message": %d}`, owed[0].ID)).Scan(&state, &wait)
		if err != nil {
			t.Fatal(err)
		}
		return state == "scheduled"
	})
	if want := notify.RetryDelay(1, owed[0].ID).Seconds(); wait < want-15 || wait > want+1 {
		t.Errorf("the next attempt is in %.0f s, want about %.0f", wait, want)
	}
	if m := b.message(t, owed[0].ID); m.State != store.Owed || m.Attempts != 1 || m.Reply != "450 4.2.1 greylisted (rcpt-to)" {
		t.Errorf("%s after %d attempts, %q", m.State, m.Attempts, m.Reply)
	}
}

// TestLostJob: a message whose job is gone gets another when a daemon starts.
func TestLostJob(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	b.oweReminders(t, 3)
	b.exec(t, "DELETE FROM river_job")
	to := &nowhere{}
	start(t, b.service(t, to))
	testrun.Until(t, "all is sent", func() bool { return b.allSent(t) })
	if n := len(to.all()); n < 3 {
		t.Errorf("%d letters", n)
	}
}

// slow takes its time with each letter, until it is let go, and heeds its
// context; what it is cut off in then is this outcome.
type slow struct {
	nowhere
	begun, letGo chan struct{}
	cutOff       smtp.Outcome
}

func (s *slow) Send(ctx context.Context, l *smtp.Letter) smtp.Outcome {
	s.begun <- struct{}{}
	select {
	case <-s.letGo:
		return s.nowhere.Send(ctx, l)
	case <-ctx.Done():
		o := s.cutOff
		o.Err, o.Reply = ctx.Err(), ctx.Err().Error()
		return o
	}
}

// TestStop: stopping lets letters under way arrive, cuts off what takes too
// long without counting it as an attempt, and loses neither. What was cut off
// after the final dot counts: it may have arrived.
func TestStop(t *testing.T) {
	tests := []struct {
		name     string
		phase    smtp.Phase
		sent     int // of one letter
		attempts int
		reply    string
	}{
		{"quick", "", 1, 1, ""},
		{"too slow", smtp.Connect, 0, 0, ""},
		{"too slow with the text", smtp.Data, 0, 0, ""},
		{"too slow after the final dot", smtp.FinalDot, 0, 1, "it may have arrived"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			b := newFixture(t)
			b.clock.civil = time.Date(2027, time.May, 3, 1, 0, 0, 0, time.UTC) // nothing owed by a tick
			owed := b.oweReminders(t, 1)
			to := &slow{begun: make(chan struct{}, 10), letGo: make(chan struct{})}
			to.cutOff = smtp.Outcome{Verdict: smtp.Later, Phase: tt.phase, Unsure: tt.phase == smtp.FinalDot}
			n := b.service(t, to)
			if err := n.Start(t.Context()); err != nil {
				t.Fatal(err)
			}
			<-to.begun
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			stopped := make(chan error)
			go func() { stopped <- n.Stop(ctx) }()
			testrun.Until(t, "it is stopping", n.Stopping)
			if tt.sent == 1 {
				close(to.letGo)
			} else {
				cancel() // the time that it has for that is over
			}
			if err := <-stopped; err != nil {
				t.Errorf("stop: %v", err)
			}
			m := b.message(t, owed[0].ID)
			if len(to.all()) != tt.sent || m.Attempts != tt.attempts || !strings.Contains(m.Reply, tt.reply) || (m.State == store.Sent) != (tt.sent == 1) {
				t.Errorf("%d arrived; %s after %d attempts: %q", len(to.all()), m.State, m.Attempts, m.Reply)
			}
			if tt.attempts > tt.sent {
				return // the next daemon waits the delay of a failed attempt
			}
			after := &nowhere{}
			start(t, b.service(t, after))
			testrun.Until(t, "the rest is sent", func() bool { return b.allSent(t) })
			if got := len(after.all()); got != 1-tt.sent {
				t.Errorf("the next daemon delivered %d", got)
			}
		})
	}
}

// TestTakenWhileTheDatabaseIsAway: a letter that a server took is not sent once
// more because that could not be written down.
func TestTakenWhileTheDatabaseIsAway(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n := b.service(t, to)
	owed := b.oweReminders(t, 1)
	b.exec(t, `REVOKE UPDATE ON message FROM pryday_app`)
	for range 2 {
		if _, err := n.Attempt(t.Context(), b.club, owed[0].ID); err == nil {
			t.Fatal("it could be written down, so this shows nothing")
		}
	}
	b.exec(t, `GRANT UPDATE ON message TO pryday_app`)
	if _, err := n.Attempt(t.Context(), b.club, owed[0].ID); err != nil {
		t.Fatal(err)
	}
	if m := b.message(t, owed[0].ID); m.State != store.Sent || len(to.all()) != 1 {
		t.Errorf("%s after %d letters", m.State, len(to.all()))
	}
}
