package store

import (
	"context"
	"errors"
	"slices"
	"testing"

	"pryday/scheduler"
	"pryday/testdata/testrun"
)

// feedVersion is the number that rises with what a club's calendars show.
func feedVersion(t *testing.T, s *Store, club int64) (v int64) {
	t.Helper()
	inClub(t, s, club, func(tx *Tx) (err error) { v, err = tx.FeedVersion(context.Background()); return err })
	return v
}

// TestAnOpeningRaisesTheFeed: a calendar says what to bring and to beware of,
// so an opening is news to it where no visit changes too; the same one again
// is none.
func TestAnOpeningRaisesTheFeed(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	version := func() int64 { return feedVersion(t, s, club) }
	spare := readClub(t, s, club).Spare[0].ID
	o := scheduler.Opening{ID: "6f1c1f0e-3a52-4f3e-9a59-0d6f5b0a7a11", On: today - 1, Joint: scheduler.Firm, Condition: []scheduler.Condition{scheduler.Rot}}
	for _, raised := range []int64{1, 0} {
		before := version()
		inClub(t, s, club, func(tx *Tx) error {
			r, err := tx.RecordOpening(ctx, spare, o, today)
			if err == nil && (r.Replanned != nil || len(r.New) != int(raised)) {
				t.Errorf("a box in store: %+v", r)
			}
			return err
		})
		if got := version() - before; got != raised {
			t.Errorf("the version rose by %d, want %d", got, raised)
		}
	}
}

// TestApiariesJoinedWhileALockWasAwaited: whoever waits for an apiary looks
// again when it is free, since a box may have joined it with another.
func TestApiariesJoinedWhileALockWasAwaited(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	first, second := &c.Apiaries[0], &c.Apiaries[1]
	waits := someoneWaits(t, s)
	holds, waited := make(chan bool), make(chan error)
	var got locked
	runs := 0
	go func() {
		<-holds
		waited <- s.InClub(ctx, club, func(tx *Tx) (err error) {
			runs++
			got, err = tx.lockApiaries(ctx, first.ID)
			return err
		})
	}()
	inClub(t, s, club, func(tx *Tx) error {
		if _, err := tx.lockApiaries(ctx, first.ID); err != nil {
			return err
		}
		close(holds)
		testrun.Until(t, "the other waits", waits)
		_, err := tx.MoveBox(ctx, first.Hives[0].Boxes[2].ID,
			scheduler.BoxPlace{From: today, Where: scheduler.OnHive, HiveID: second.Hives[0].ID, Position: 4}, today)
		return err
	})
	if err := <-waited; err != nil {
		t.Fatal(err)
	}
	if want := []int64{first.ID, second.ID}; runs != 2 || !slices.Equal(got.all, want) {
		t.Errorf("locked %v after %d runs, want %v after 2", got.all, runs, want)
	}
}

// TestOddsThatNobodySees: planned a day later, a visit that stays comes out
// with odds that differ in their last digits; half a hundredth is a difference.
func TestOddsThatNobodySees(t *testing.T) {
	was := scheduler.VisitBox{BoxID: 1, Due: today, Reason: scheduler.BecauseOdds, Odds: 0.2}
	for name, tt := range map[string]struct {
		change func(*scheduler.VisitBox)
		same   bool
	}{
		"nothing":         {func(*scheduler.VisitBox) {}, true},
		"the last digits": {func(b *scheduler.VisitBox) { b.Odds += 1e-9 }, true},
		"too little":      {func(b *scheduler.VisitBox) { b.Odds += 0.004 }, true},
		"more":            {func(b *scheduler.VisitBox) { b.Odds += 0.006 }, false},
		"less":            {func(b *scheduler.VisitBox) { b.Odds -= 0.006 }, false},
		"another day":     {func(b *scheduler.VisitBox) { b.Due++ }, false},
		"another reason":  {func(b *scheduler.VisitBox) { b.Reason = scheduler.BecauseLongest }, false},
		"another box":     {func(b *scheduler.VisitBox) { b.BoxID++ }, false},
	} {
		now := was
		tt.change(&now)
		if sameBox(was, now) != tt.same {
			t.Errorf("%s: same %t, want %t", name, !tt.same, tt.same)
		}
	}
}

// TestAChangedVisitRaisesItsSequence: a calendar takes a changed visit in only at
// a higher sequence (RFC 5545, 3.8.7.4), also where only its boxes changed.
func TestAChangedVisitRaisesItsSequence(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	if _, _, err := s.ReplanClub(ctx, club, today); err != nil {
		t.Fatal(err)
	}
	was := map[string]scheduler.Visit{}
	before := readClub(t, s, club)
	for _, v := range before.Visits {
		was[v.UID] = v
	}
	box := before.Apiaries[0].Hives[0].Boxes[0].ID
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.RecordOpening(ctx, box, scheduler.Opening{ID: "6f1c1f0e-3a52-4f3e-9a59-0d6f5b0a7a12", On: today, Joint: scheduler.Stuck, Frames: scheduler.Stuck, Scraped: scheduler.ScrapedNone}, today)
		return err
	})
	changed := 0
	for _, now := range readClub(t, s, club).Visits {
		old, ok := was[now.UID]
		if !ok {
			continue
		}
		sequence := now.Sequence
		now.Sequence = old.Sequence
		switch same := sameVisit(&old, &now); {
		case same && sequence != old.Sequence:
			t.Errorf("%s, which did not change, went from sequence %d to %d", now.On, old.Sequence, sequence)
		case !same:
			changed++
			if sequence <= old.Sequence {
				t.Errorf("%s changed and kept sequence %d", now.On, sequence)
			}
		}
	}
	if changed == 0 {
		t.Fatal("the opening changed no visit")
	}
}

// TestANightThatChangesVisitsIsNews: to calendars, which else would not ask again;
// one that changes nothing is none.
func TestANightThatChangesVisitsIsNews(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	for _, night := range []struct {
		day    scheduler.Date
		raises bool
	}{{today + 200, true}, {today + 200, false}} {
		before := feedVersion(t, s, club)
		if _, _, err := s.ReplanClub(ctx, club, night.day); err != nil {
			t.Fatal(err)
		}
		after := feedVersion(t, s, club)
		if (after > before) != night.raises {
			t.Errorf("planned for %s the version goes from %d to %d", night.day, before, after)
		}
	}
}

// TestOldCancellationsGo: calendars have shown them for long enough.
func TestOldCancellationsGo(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	if _, _, err := s.ReplanClub(ctx, club, today); err != nil {
		t.Fatal(err)
	}
	visits := readClub(t, s, club).Visits
	old, young := visits[0].ID, visits[1].ID
	for id, until := range map[int64]scheduler.Date{old: today + 1 - cancelledDays - 1, young: today + 1 - cancelledDays} {
		inClub(t, s, club, func(tx *Tx) error {
			_, err := tx.tx.Exec(ctx, `UPDATE visit SET status = 'cancelled', cancelled_until = $2 WHERE id = $1`, id, until)
			return err
		})
	}
	if _, _, err := s.ReplanClub(ctx, club, today+1); err != nil {
		t.Fatal(err)
	}
	for id, stays := range map[int64]bool{old: false, young: true} {
		inClub(t, s, club, func(tx *Tx) error {
			if _, err := tx.Visit(ctx, id); errors.Is(err, ErrNotFound) == stays {
				t.Errorf("a visit cancelled until %d days ago is kept: %t", cancelledDays, !stays)
			}
			return nil
		})
	}
}
