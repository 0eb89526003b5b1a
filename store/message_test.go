package store

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/scheduler/text"
	"pryday/testdata/testrun"
)

func TestOweOnce(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	v := c.Visits[0]
	messages := []owed.Message{
		{
			Key: "daily/1", Kind: scheduler.DigestMessage, MemberID: c.Members[0].ID, On: today, Reason: owed.BecauseDaysBefore,
			Items: []owed.Item{{Kind: scheduler.DigestMessage, Because: owed.BecauseDaysBefore, VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, VisitOn: v.On, BoxIDs: []int64{1, 2}}},
		},
		{Key: "daily/2", Kind: scheduler.OverdueMessage, MemberID: c.Members[1].ID, On: today, Items: []owed.Item{{Kind: scheduler.OverdueMessage, ApiaryID: c.Apiaries[0].ID}}},
		{Key: "daily/0", Kind: scheduler.DayMessage, MemberID: c.Members[1].ID, On: today - 1, PassedOver: owed.PassedDayOver},
	}
	owe := func(messages []owed.Message) (n OwedCount) {
		t.Helper()
		inClub(t, s, club, func(tx *Tx) (err error) {
			n, err = tx.Owe(ctx, messages, sometime)
			return err
		})
		return n
	}
	if got, want := owe(messages), (OwedCount{New: 2, PassedOver: 1}); got != want {
		t.Errorf("owed %+v, want %+v", got, want)
	}
	if got, want := owe(append(messages, messages[0])), (OwedCount{Known: 4}); got != want {
		t.Errorf("owed again %+v, want %+v", got, want)
	}
	var jobs int
	if err := s.pool.QueryRow(ctx, `SELECT count(*) FROM river_job WHERE kind = 'deliver'`).Scan(&jobs); err != nil || jobs != 2 {
		t.Errorf("%d delivery jobs, want 2: %v", jobs, err)
	}
	inClub(t, s, club, func(tx *Tx) error {
		m, err := tx.MessageByKey(ctx, "daily/1")
		if err != nil {
			return err
		}
		if m.State != Owed || m.Address != "ansel@example.org" || m.MessageID == "" || m.Items[0].VisitUID != v.UID || m.Items[0].VisitOn != v.On {
			t.Errorf("recorded %+v", m)
		}
		turn, err := tx.TakeTurn(ctx, sometime)
		if err != nil {
			return err
		}
		before := turn.Before
		if !before.Seen("daily/1") || !before.Seen("daily/0") || before.Seen("daily/3") || !before.Since.Equal(sometime) {
			t.Errorf("before: %+v", before)
		}
		want := []owed.Told{
			{MemberID: c.Members[0].ID, Kind: scheduler.DigestMessage, VisitUID: v.UID, On: v.On, ToldOn: today},
			{MemberID: c.Members[1].ID, Kind: scheduler.OverdueMessage, ApiaryID: c.Apiaries[0].ID, ToldOn: today},
		}
		if fmt.Sprint(before.Told) != fmt.Sprint(want) {
			t.Errorf("told %v, want %v", before.Told, want)
		}
		return nil
	})
	t.Run("nothing is owed by a transaction that fails", func(t *testing.T) {
		failed := errors.New("changed my mind")
		err := s.InClub(ctx, club, func(tx *Tx) error {
			if _, err := tx.Owe(ctx, []owed.Message{{Key: "daily/9", Kind: scheduler.DayMessage, MemberID: c.Members[0].ID, On: today}}, sometime); err != nil {
				return err
			}
			return failed
		})
		if !errors.Is(err, failed) {
			t.Fatal(err)
		}
		if err := s.pool.QueryRow(ctx, `SELECT count(*) FROM river_job`).Scan(&jobs); err != nil || jobs != 2 {
			t.Errorf("%d jobs, want 2: %v", jobs, err)
		}
	})
}

func TestTwoDecidersTakeTurns(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	// There was a decision before: it is not the writing of the first that the others wait for.
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.Owe(ctx, nil, sometime.Add(-time.Hour))
		return err
	})
	eve := sometime.AddDate(0, 0, 1) // of the first visit
	var wg sync.WaitGroup
	counts := make([]OwedCount, 4)
	errs := make([]error, len(counts))
	for i := range counts {
		wg.Go(func() {
			errs[i] = s.InClub(ctx, club, func(tx *Tx) error {
				turn, err := tx.TakeTurn(ctx, eve)
				if err != nil {
					return err
				}
				plan, err := tx.OwedRecords(ctx, turn, eve)
				if err != nil {
					return err
				}
				counts[i], err = tx.Owe(ctx, owed.Decide(turn.Club, plan, eve, turn.Before), eve)
				return err
			})
		})
	}
	wg.Wait()
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
	deciders := 0
	for _, n := range counts {
		if n.New > 0 {
			deciders++
		}
		if n.Known > 0 {
			t.Errorf("decided what was known: %+v", counts)
		}
	}
	if deciders != 1 {
		t.Errorf("%d of four owed something: %+v", deciders, counts)
	}
}

// TestASecondDeciderWaits until the first is through, also where neither would
// have met the other by chance.
func TestASecondDeciderWaits(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	waits := someoneWaits(t, s)
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.Owe(ctx, nil, sometime.Add(-time.Hour))
		return err
	})
	var since time.Time
	second := make(chan error, 1)
	inClub(t, s, club, func(tx *Tx) error {
		if _, err := tx.TakeTurn(ctx, sometime); err != nil {
			return err
		}
		go func() {
			second <- s.InClub(ctx, club, func(tx *Tx) error {
				turn, err := tx.TakeTurn(ctx, sometime)
				if err == nil {
					since = turn.Before.Since
				}
				return err
			})
		}()
		testrun.Until(t, "the second waits", func() bool {
			if len(second) > 0 {
				t.Fatal("the second did not wait")
			}
			return waits()
		})
		_, err := tx.Owe(ctx, nil, sometime)
		return err
	})
	if err := <-second; err != nil || !since.Equal(sometime) {
		t.Errorf("the second decides from %s, want %s: %v", since, sometime, err)
	}
}

// TestADecisionNeverGoesBack: a clock put back does not let what was decided be
// decided again.
func TestADecisionNeverGoesBack(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	for _, at := range []time.Time{sometime, sometime.Add(-time.Hour)} {
		inClub(t, s, club, func(tx *Tx) error {
			_, err := tx.Owe(ctx, nil, at)
			return err
		})
	}
	inClub(t, s, club, func(tx *Tx) error {
		turn, err := tx.TakeTurn(ctx, sometime)
		if err == nil && !turn.Before.Since.Equal(sometime) {
			t.Errorf("decided up to %s, want %s", turn.Before.Since, sometime)
		}
		return err
	})
}

func TestWhatBecameOfAMessage(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	member := readClub(t, s, club).Members[0].ID
	tests := []struct {
		name     string
		do       func(*Tx, int64) error
		state    MessageState
		attempts int
		reply    string
	}{
		{"taken", func(tx *Tx, id int64) error { return tx.Delivered(ctx, id, "250 ok") }, Sent, 1, "250 ok"},
		{"refused", func(tx *Tx, id int64) error { return tx.Refused(ctx, id, "550 no such user") }, Refused, 1, "550 no such user"},
		{"tried twice, then taken", func(tx *Tx, id int64) error {
			return errors.Join(tx.TryFailed(ctx, id, "451 later"), tx.TryFailed(ctx, id, "451 later"), tx.Delivered(ctx, id, "250 ok"))
		}, Sent, 3, "250 ok"},
		{"given up", func(tx *Tx, id int64) error {
			return errors.Join(tx.TryFailed(ctx, id, "no route"), tx.GaveUp(ctx, id, "no route for 4 days"))
		}, GivenUp, 1, "no route for 4 days"},
		{"passed over", func(tx *Tx, id int64) error { return tx.PassOver(ctx, id, text.New("passed.day-over")) }, PassedOver, 0, `{"key":"passed.day-over"}`},
		{"still owed", func(tx *Tx, id int64) error { return tx.TryFailed(ctx, id, "421 busy\x00\xff") }, Owed, 1, "421 busy"},
		{"taken, and then refused", func(tx *Tx, id int64) error {
			return errors.Join(tx.Delivered(ctx, id, "250 ok"), tx.Refused(ctx, id, "too late"), tx.TryFailed(ctx, id, "too late"))
		}, Sent, 1, "250 ok"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			inClub(t, s, club, func(tx *Tx) error {
				if _, err := tx.Owe(ctx, []owed.Message{{Key: test.name, Kind: scheduler.DayMessage, MemberID: member, On: today}}, time.Time{}); err != nil {
					return err
				}
				m, err := tx.MessageByKey(ctx, test.name)
				if err != nil {
					return err
				}
				if err := test.do(tx, m.ID); err != nil {
					return err
				}
				m, err = tx.Message(ctx, m.ID)
				if err != nil {
					return err
				}
				if m.State != test.state || m.Attempts != test.attempts || m.Reply != test.reply {
					t.Errorf("%s after %d attempts, %q; want %s after %d, %q", m.State, m.Attempts, m.Reply, test.state, test.attempts, test.reply)
				}
				if m.SentAt.IsZero() != (m.State != Sent) || m.LastAttemptAt.IsZero() != (m.Attempts == 0) {
					t.Errorf("sent at %s, last tried at %s", m.SentAt, m.LastAttemptAt)
				}
				return nil
			})
		})
	}
	inClub(t, s, club, func(tx *Tx) error {
		if err := tx.Delivered(ctx, 1<<40, ""); !errors.Is(err, ErrNotFound) {
			t.Errorf("delivered a message that is not there: %v", err)
		}
		sent, err := tx.Messages(ctx, MessageFilter{State: Sent, MemberID: member, Limit: 2})
		if len(sent) != 2 || sent[0].ID < sent[1].ID {
			t.Errorf("listed %+v", sent)
		}
		return err
	})
}

func TestTurnKnowsWhatIsPlanned(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	second := readClub(t, s, club).Apiaries[1].ID
	for _, row := range []struct {
		second scheduler.Date // planned for; zero: never
		day    scheduler.Date
		want   bool
	}{{today, today, true}, {today + 1, today, true}, {today, today + 1, false}, {today - 1, today, false}, {0, today, false}} {
		err := s.InClub(ctx, club, func(tx *Tx) error {
			sql := `UPDATE apiary SET planned_on = $2, planned_rules = CASE WHEN $2::date IS NOT NULL THEN 1 END WHERE id = $1`
			if _, err := tx.tx.Exec(ctx, sql, second, row.second); err != nil {
				return err
			}
			turn, err := tx.TakeTurn(ctx, sometime)
			if err == nil && turn.Planned(row.day) != row.want {
				t.Errorf("the second apiary planned for %s: is %s planned? %t", row.second, row.day, !row.want)
			}
			return errors.Join(err, errTakeBack)
		})
		if !errors.Is(err, errTakeBack) {
			t.Fatal(err)
		}
	}
	empty, err := s.CreateClub(ctx, "No apiary yet")
	if err != nil {
		t.Fatal(err)
	}
	inClub(t, s, empty, func(tx *Tx) error {
		turn, err := tx.TakeTurn(ctx, sometime)
		if err == nil && !turn.Planned(today) {
			t.Error("a club without an apiary waits to be planned")
		}
		return err
	})
}
