package notify

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// Report is what one tick did.
type Report struct {
	Clubs   int // looked at
	Replans int // replan jobs owed
	Waiting int // clubs left until they are replanned
	store.OwedCount
}

// staleFor is how long reminders wait for a club's plan to be made for the
// day. A late plan is better than none, and none better than an old one.
const staleFor = 30 * time.Minute

// Decide records what every club owes at this moment, each message with its
// delivery job in one transaction. Several daemons may decide at once; the
// second finds everything recorded. A club that was not planned for its
// present day is planned first. One club's trouble does not keep the others
// waiting; the error joins all.
func (s *Service) Decide(ctx context.Context) (Report, error) { return s.decide(ctx, false) }

// decide leaves out, with quiet set, clubs that cannot owe anything new.
func (s *Service) decide(ctx context.Context, quiet bool) (Report, error) {
	ids, err := s.store.ClubIDs(ctx)
	if err != nil {
		return Report{}, fmt.Errorf("decide what is owed: %w", err)
	}
	var all Report
	var failed []error
	for _, id := range ids {
		if quiet && s.isQuiet(ctx, id) {
			continue
		}
		r, err := s.decideClub(ctx, id, true)
		all.add(r)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			failed = append(failed, err)
		}
		if ctx.Err() != nil {
			break
		}
	}
	return all, errors.Join(failed...)
}

func (s *Service) decideClub(ctx context.Context, club int64, replanFirst bool) (r Report, err error) {
	defer func() {
		if p := recover(); p != nil {
			s.log.Error("deciding what is owed panicked", "club", club, "panic", p, "stack", string(debug.Stack()))
			r, err = Report{}, fmt.Errorf("decide what club %d owes: panic: %v", club, p)
		}
	}()
	var asleep *quietSpell
	err = s.store.InClub(ctx, club, func(tx *store.Tx) error {
		r, asleep = Report{Clubs: 1}, nil
		now := s.clock.Civil()
		before, err := tx.Before(ctx, now)
		if err != nil {
			return err
		}
		c, err := tx.Club(ctx)
		if err != nil {
			return err
		}
		today := c.Today(now)
		planned, err := tx.Planned(ctx, today)
		if err != nil {
			return err
		}
		if !planned {
			if err := tx.OweReplan(ctx, today); err != nil {
				return err
			}
			r.Replans = 1
			if replanFirst && s.waits(club, today) {
				r.Waiting = 1
				return nil
			}
		}
		p, err := tx.SavedPlan(ctx, today)
		if err != nil {
			return err
		}
		if r.OwedCount, err = tx.Owe(ctx, owed.Decide(c, p, now, before), now); err != nil {
			return err
		}
		version, err := tx.FeedVersion(ctx)
		asleep = quietUntil(c, now, version)
		return err
	})
	if err != nil {
		return Report{}, fmt.Errorf("decide what club %d owes: %w", club, err)
	}
	s.count.owed.Add(int64(r.New))
	s.mu.Lock()
	s.quiet[club] = asleep
	s.mu.Unlock()
	return r, nil
}

// waits reports whether a club's reminders may still wait for its plan of a
// day; the waiting begins when it is first asked.
func (s *Service) waits(club int64, today scheduler.Date) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	w, ok := s.waiting[club]
	if !ok || w.day != today {
		w = waiting{day: today, since: s.clock.Now()}
		s.waiting[club] = w
	}
	return s.clock.Now().Sub(w.since) < staleFor
}

type waiting struct {
	day   scheduler.Date
	since time.Time
}

func (r *Report) add(o Report) {
	r.Clubs += o.Clubs
	r.Replans += o.Replans
	r.Waiting += o.Waiting
	r.New += o.New
	r.PassedOver += o.PassedOver
	r.Known += o.Known
}
