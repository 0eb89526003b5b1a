package notify

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
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
	s.noteClubs(clubs)
	if quiet {
		now := s.clock.Civil()
		clubs = slices.DeleteFunc(clubs, func(c store.ClubVersion) bool { return isQuiet(c, now) })
	}
	groups := byPeople(clubs)
	// Daemons that tick at the same moment begin at different clubs, and each
	// leaves out what another has in hand.
	if quiet && len(groups) > 1 {
		at := rand.IntN(len(groups))
		groups = append(groups[at:], groups[:at]...)
	}
	reports, failed := make([]Report, len(groups)), make([]error, len(groups))
	var working errgroup.Group
	// The other connections are for those who wait for a page.
	working.SetLimit(max(1, int(s.store.Pool().Config().MaxConns)/2))
	for i, ids := range groups {
		working.Go(func() error {
			reports[i], failed[i] = s.decideClubs(ctx, ids, quiet)
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

// noteClubs keeps what deciding for one club takes of all of them.
func (s *Service) noteClubs(clubs []store.ClubVersion) {
	with := make(map[int64]int64, len(clubs))
	for _, c := range clubs {
		with[c.ID] = c.With
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.with = with
}

// among returns the lowest of the clubs that share people with a club, as far as
// is known, and how many clubs there are.
func (s *Service) among(club int64) (with int64, clubs int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return cmp.Or(s.with[club], club), len(s.with)
}

func (s *Service) decideClubs(ctx context.Context, ids []int64, quiet bool) (all Report, err error) {
	var failed []error
	for _, id := range ids {
		if ctx.Err() != nil {
			break
		}
		r, err := s.decideClub(ctx, id, deciding{replanFirst: true, spare: quiet})
		all.add(r)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			failed = append(failed, err)
		}
	}
	return all, errors.Join(failed...)
}

// deciding is how one club is decided for.
type deciding struct {
	replanFirst bool // wait a while for the day's plan
	spare       bool // leave it to whoever does it at this moment
}

// decideClub decides what a club owes now, and what it owes at hours that are so
// near that it is time to.
func (s *Service) decideClub(ctx context.Context, club int64, how deciding) (all Report, err error) {
	defer func() {
		if p := recover(); p != nil {
			s.log.Error("deciding what is owed panicked", "club", club, "panic", p, "stack", string(debug.Stack()))
			all, err = Report{}, fmt.Errorf("decide what club %d owes: panic: %v", club, p)
		}
	}()
	now := s.clock.Civil()
	for at := now; ; {
		r, next, err := s.decideAt(ctx, club, now, at, how)
		if err != nil {
			return all, fmt.Errorf("decide what club %d owes: %w", club, err)
		}
		s.count.owed.Add(int64(r.New))
		r.Clubs = max(r.Clubs-all.Clubs, 0) // one club, however many of its hours
		all.add(r)
		if next.IsZero() {
			return all, nil
		}
		at, how.spare = next, false
	}
}

// decideAt decides what a club owes at an instant, now or an hour that comes, and
// returns the next hour that it is time for.
func (s *Service) decideAt(ctx context.Context, club int64, now, at time.Time, how deciding) (r Report, next time.Time, err error) {
	with, clubs := s.among(club)
	err = s.store.InClub(ctx, club, func(tx *store.Tx) error {
		r, next = Report{}, time.Time{}
		if how.spare {
			if spare, err := tx.Spare(ctx, with, now, longestQuiet); spare || err != nil {
				return err
			}
		} else {
			tx.AwaitTurn(with)
		}
		r.Clubs = 1
		turn, err := tx.TakeTurn(ctx, at)
		if err != nil {
			return err
		}
		if today := turn.Club.Today(at); !turn.Planned(today) {
			if at != now {
				return nil // changed meanwhile: at the hour itself
			}
			if err := tx.OweReplan(ctx, today); err != nil {
				return err
			}
			r.Replans = 1
			if how.replanFirst && s.waits(club, today) {
				r.Waiting = 1
				return nil
			}
		}
		var from time.Time
		if at != now {
			from = s.clock.Now().Add(at.Sub(s.clock.Civil()))
		}
		if r.OwedCount, err = s.oweAll(ctx, tx, turn, at, from); err != nil {
			return err
		}
		until := now.Add(longestQuiet)
		hour, day := nextHour(turn.Club, at)
		if hour.IsZero() {
			until = earlier(until, day)
		} else if begin := hour.Add(-s.ahead(club, clubs)); begin.After(now) {
			until = earlier(until, begin)
		} else {
			next = hour
		}
		if next.IsZero() && r.Replans == 0 {
			tx.Quiet(turn.FeedVersion, until)
		}
		return nil
	})
	return r, next, err
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

// oweAll records what a club owes whose turn was taken, to be delivered from an
// instant on; the zero time is at once.
func (s *Service) oweAll(ctx context.Context, tx *store.Tx, turn *store.Turn, at, from time.Time) (store.OwedCount, error) {
	var messages []owed.Message
	if owed.Comes(turn.Club, at, turn.Before.Since) {
		plan, err := tx.OwedRecords(ctx, turn, at)
		if err != nil {
			return store.OwedCount{}, err
		}
		messages = owed.Decide(turn.Club, plan, at, turn.Before)
	}
	return tx.OweFrom(ctx, messages, at, from)
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
