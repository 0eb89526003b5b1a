package store

import (
	"context"
	"sync"
	"time"

	"pryday/scheduler"
)

// chunk is how many apiaries a replan of the whole club plans at once: enough
// to share the cost of a transaction, few enough that somebody who records an
// opening meanwhile does not wait long.
const chunk = 16

// planners is how many chunks are planned at the same time: while one is
// worked out, the database is busy with the other.
const planners = 2

// leaveOff is how long before its context's deadline ReplanClub stops.
const leaveOff = 3 * time.Second

// ReplanClub plans every apiary of a club, some at a time in a transaction
// each, and skips those already planned for this day by the rules that hold.
// It stops early, with more set, when the deadline of ctx is near.
func (s *Store) ReplanClub(ctx context.Context, club int64, today scheduler.Date) (planned int, more bool, err error) {
	todo, err := s.unplanned(ctx, club, today, nil)
	if err != nil || len(todo) == 0 {
		return 0, false, err
	}
	run := clubRun{store: s, club: club, today: today, todo: todo}
	var wg sync.WaitGroup
	for range planners {
		wg.Go(func() { run.work(ctx) })
	}
	wg.Wait()
	if run.err != nil || run.early {
		return run.planned, run.early, run.err
	}
	err = s.InClub(ctx, club, func(tx *Tx) error { return tx.dropOldCancellations(ctx, today) })
	return run.planned, false, err
}

// unplanned lists apiaries that are not planned for a day by the rules that
// hold; all such ones of the club when among is nil.
func (s *Store) unplanned(ctx context.Context, club int64, today scheduler.Date, among []int64) (ids []int64, err error) {
	err = s.InClub(ctx, club, func(tx *Tx) error {
		ids, err = tx.unplanned(ctx, today, among)
		return err
	})
	return ids, err
}

func (tx *Tx) unplanned(ctx context.Context, today scheduler.Date, among []int64) ([]int64, error) {
	ids, err := tx.ids(ctx, `
		SELECT a.id FROM apiary a
		 WHERE ($2::bigint[] IS NULL OR a.id = ANY($2))
		   AND (a.planned_on IS DISTINCT FROM $1 OR a.planned_rules IS DISTINCT FROM (SELECT max(version) FROM rules))
		 ORDER BY a.id`, today, among)
	return ids, tx.wrap(err, "list the apiaries to plan")
}

// clubRun is one run over the apiaries of a club by several planners.
type clubRun struct {
	store *Store
	club  int64
	today scheduler.Date

	mu      sync.Mutex
	todo    []int64
	planned int
	early   bool
	err     error
}

func (r *clubRun) work(ctx context.Context) {
	for {
		ids := r.next(ctx)
		if len(ids) == 0 {
			return
		}
		n, err := r.plan(ctx, ids)
		r.mu.Lock()
		r.planned += n
		if r.err == nil {
			r.err = err
		}
		r.mu.Unlock()
	}
}

// next takes a chunk, or nothing when the run is over.
func (r *clubRun) next(ctx context.Context) []int64 {
	r.mu.Lock()
	defer r.mu.Unlock()
	if deadline, ok := ctx.Deadline(); ok && r.planned > 0 && time.Until(deadline) < leaveOff && len(r.todo) > 0 {
		r.early = true
	}
	if r.err != nil || r.early {
		return nil
	}
	ids := r.todo[:min(chunk, len(r.todo))]
	r.todo = r.todo[len(ids):]
	return ids
}

func (r *clubRun) plan(ctx context.Context, ids []int64) (planned int, err error) {
	err = r.store.InClub(ctx, r.club, func(tx *Tx) error {
		planned = 0
		lk, err := tx.lockApiaries(ctx, ids...)
		if err != nil {
			return err
		}
		lk.about = lk.all // those that share boxes come along, and need not be planned again
		todo, err := tx.unplanned(ctx, r.today, lk.all)
		if err != nil || len(todo) == 0 {
			return err
		}
		_, err = tx.replan(ctx, lk, r.today, 0)
		planned = len(todo)
		return err
	})
	if err != nil {
		return 0, err
	}
	return planned, nil
}

// dropOldCancellations deletes visits whose cancellation no calendar has shown
// for a while.
func (tx *Tx) dropOldCancellations(ctx context.Context, today scheduler.Date) error {
	_, err := tx.tx.Exec(ctx, `DELETE FROM visit WHERE apiary_id = `+anyApiary+` AND status = 'cancelled'
		AND cancelled_until < $1 AND (off_until IS NULL OR off_until < $2)`, today-cancelledDays, today)
	return tx.wrap(err, "drop old cancellations")
}
