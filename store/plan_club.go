package store

import (
	"context"
	"errors"
	"sync"
	"time"

	"pryday/scheduler"
)

// chunk is how many apiaries a replan of the whole club plans at once: enough
// to share the cost of a transaction, few enough that somebody who records an
// opening meanwhile does not wait long.
const chunk = 16

// planners is how many chunks are in hand at the same time: while one is read
// and worked out, the database writes the other. They are worked out one after
// the other, since each takes of people's days what the next may not.
const planners = 2

// leaveOff is how long before its context's deadline ReplanClub stops.
const leaveOff = 3 * time.Second

// ReplanClub plans every apiary of a club, some at a time in a transaction
// each, those first whose boxes would lock first, and skips those already
// planned for this day by the rules that hold.
// It stops early, with more set, when the deadline of ctx is near.
func (s *Store) ReplanClub(ctx context.Context, club int64, today scheduler.Date) (planned int, more bool, err error) {
	run := clubRun{store: s, club: club, today: today}
	err = s.InClub(ctx, club, func(tx *Tx) (err error) {
		if run.todo, err = tx.unplanned(ctx, today, nil); err != nil || len(run.todo) == 0 {
			return err
		}
		if err := tx.recalibrate(ctx, today); err != nil {
			return err
		}
		if len(run.todo) > chunk { // within one the planner sees to it
			if run.todo, err = tx.inTurn(ctx, run.todo); err != nil {
				return err
			}
		}
		if run.load, run.rules, err = tx.loadOf(ctx, run.todo, today); err != nil {
			return err
		}
		run.kept, err = tx.keptRates(ctx)
		return err
	})
	if err != nil || len(run.todo) == 0 {
		return 0, false, err
	}
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

// inTurn sorts apiaries as scheduler.PlanClub plans them: by the odds of the box
// that is likeliest to be hard, as they were worked out last. Of what was never
// planned nothing is known; it comes first.
func (tx *Tx) inTurn(ctx context.Context, apiaries []int64) ([]int64, error) {
	ids, err := tx.ids(ctx, `SELECT id FROM apiary WHERE id = ANY($1) ORDER BY worst_odds DESC NULLS FIRST, id`, apiaries)
	return ids, tx.wrap(err, "sort the apiaries to plan")
}

// unplanned lists apiaries that are not planned for a day by the rules that
// hold; all such ones of the club when among is nil.
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

	rules rulesThen      // when the run began
	kept  map[int64]bool // apiaries that had rates to go on from

	turn sync.Mutex // of whoever takes a chunk and works it out
	load *scheduler.Load

	mu      sync.Mutex
	todo    []int64
	planned int
	early   bool
	err     error
}

func (r *clubRun) work(ctx context.Context) {
	for {
		r.turn.Lock()
		ids := r.next(ctx)
		if len(ids) == 0 {
			r.turn.Unlock()
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

// errTurn is what planning a chunk again gets, which has given its turn up.
var errTurn = errors.New("somebody else plans")

// plan plans a chunk. It has the turn, and gives it up once it only writes.
func (r *clubRun) plan(ctx context.Context, ids []int64) (planned int, err error) {
	mine := true
	giveUp := func() {
		if mine {
			mine = false
			r.turn.Unlock()
		}
	}
	defer giveUp()
	for {
		planned, err = r.planOnce(ctx, ids, func() bool { return mine }, giveUp)
		if !errors.Is(err, errTurn) {
			return planned, err
		}
		r.turn.Lock() // outside of the transaction: whoever has it waits for locks of such
		mine = true
	}
}

func (r *clubRun) planOnce(ctx context.Context, ids []int64, mine func() bool, giveUp func()) (planned int, err error) {
	err = r.store.InClub(ctx, r.club, func(tx *Tx) error {
		if !mine() {
			return errTurn
		}
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
		l, c, known, err := r.read(ctx, tx, lk.all)
		if err != nil {
			return err
		}
		var p scheduler.Planner
		plan, became, err := tx.planBack(ctx, l, c, lk.about, r.today, func(c *scheduler.Club) *scheduler.Plan { return p.PlanClubIn(c, r.today, r.load, known) })
		if err != nil {
			return err
		}
		giveUp()
		planned = len(todo)
		_, err = tx.save(ctx, l, plan, became, lk.about, r.today)
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
