package notify

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"time"

	"golang.org/x/sync/errgroup"

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
// Several clubs are decided for at once; those that share people one after the
// other, because what a person gets is counted over all of them.
func (s *Service) decide(ctx context.Context, quiet bool) (Report, error) {
	clubs, err := s.store.ClubVersions(ctx)
	if err != nil {
		return Report{}, fmt.Errorf("decide what is owed: %w", err)
	}
	if quiet {
		clubs = slices.DeleteFunc(clubs, s.isQuiet)
	}
	groups := byPeople(clubs)
	reports, failed := make([]Report, len(groups)), make([]error, len(groups))
	var working errgroup.Group
	// The other connections are for those who wait for a page.
	working.SetLimit(max(1, int(s.store.Pool().Config().MaxConns)/2))
	for i, ids := range groups {
		working.Go(func() error {
			reports[i], failed[i] = s.decideClubs(ctx, ids)
			return nil
		})
	}
	working.Wait()
	var all Report
	for _, r := range reports {
		all.add(r)
	}
	return all, errors.Join(failed...)
}

// byPeople puts clubs together that share people, in the order of their ids.
func byPeople(clubs []store.ClubVersion) [][]int64 {
	var order []int64
	members := map[int64][]int64{}
	for _, c := range clubs {
		if members[c.With] == nil {
			order = append(order, c.With)
		}
		members[c.With] = append(members[c.With], c.ID)
	}
	groups := make([][]int64, len(order))
	for i, with := range order {
		groups[i] = members[with]
	}
	return groups
}

func (s *Service) decideClubs(ctx context.Context, ids []int64) (all Report, err error) {
	var failed []error
	for _, id := range ids {
		if ctx.Err() != nil {
			break
		}
		r, err := s.decideClub(ctx, id, true)
		all.add(r)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			failed = append(failed, err)
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
		turn, err := tx.TakeTurn(ctx, now)
		if err != nil {
			return err
		}
		if today := turn.Club.Today(now); !turn.Planned(today) {
			if err := tx.OweReplan(ctx, today); err != nil {
				return err
			}
			r.Replans = 1
			if replanFirst && s.waits(club, today) {
				r.Waiting = 1
				return nil
			}
		}
		if r.OwedCount, err = s.oweAll(ctx, tx, turn, now); err != nil {
			return err
		}
		asleep = quietUntil(turn.Club, now, turn.FeedVersion)
		return nil
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

// oweAll records what a club owes whose turn was taken.
func (s *Service) oweAll(ctx context.Context, tx *store.Tx, turn *store.Turn, now time.Time) (store.OwedCount, error) {
	var messages []owed.Message
	if owed.Comes(turn.Club, now, turn.Before.Since) {
		plan, err := tx.OwedRecords(ctx, turn, now)
		if err != nil {
			return store.OwedCount{}, err
		}
		messages = owed.Decide(turn.Club, plan, now, turn.Before)
	}
	return tx.Owe(ctx, messages, now)
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
