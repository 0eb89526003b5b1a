package store

import (
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// Replanned tells what a replan changed.
type Replanned struct {
	Plan      *scheduler.Plan // of the apiaries planned, with the ids that the store gave
	Added     []scheduler.Visit
	Changed   []VisitChange     // moved, confirmed, or opening other boxes
	Cancelled []scheduler.Visit // open before, continued by no planned visit
	Past      []scheduler.Visit // now done or missed
}

// VisitChange is a visit before and after.
type VisitChange struct{ Old, New scheduler.Visit }

// Empty reports whether no visit changed.
func (r *Replanned) Empty() bool {
	return len(r.Added)+len(r.Changed)+len(r.Cancelled)+len(r.Past) == 0
}

// remembered is how many days of past visits planning looks at: a stage that
// asks for one visit began less than a year ago.
const remembered = 400

// ApiaryForPlanning locks an apiary, with those that share boxes with it, and
// then reads all that planning it needs. Whoever plans one of them too waits.
func (tx *Tx) ApiaryForPlanning(ctx context.Context, apiary int64, today scheduler.Date) (*scheduler.Club, error) {
	lk, err := tx.lockApiaries(ctx, apiary)
	if err != nil {
		return nil, err
	}
	l, err := tx.loadForPlanning(ctx, lk, today)
	if err != nil {
		return nil, err
	}
	return l.assemble(), nil
}

// loadForPlanning reads what planning locked apiaries takes, after what first
// queues.
func (tx *Tx) loadForPlanning(ctx context.Context, lk locked, today scheduler.Date, first ...func(*pgx.Batch)) (*loading, error) {
	return tx.load(ctx, scope{apiaries: lk.all, openings: effective, since: today - remembered, computed: true, elsewhere: today}, first...)
}

// Replan plans one apiary for today and saves what changed.
func (tx *Tx) Replan(ctx context.Context, apiary int64, today scheduler.Date) (*Replanned, error) {
	lk, err := tx.lockApiaries(ctx, apiary)
	if err != nil {
		return nil, err
	}
	return tx.replan(ctx, lk, today, 0)
}

// ReplanAll plans every apiary of the club in this transaction.
func (tx *Tx) ReplanAll(ctx context.Context, today scheduler.Date) (*Replanned, error) {
	lk, err := tx.lock(ctx, `SELECT id FROM apiary`, nil)
	if err != nil {
		return nil, tx.wrap(err, "lock the apiaries")
	}
	return tx.replan(ctx, lk, today, 0)
}

// everSince is a day before all records: what changed may count from any day
// on. The order of a stack is such a thing, since boxes opened on one day are
// taken in that order.
const everSince = scheduler.Date(1)

// replan plans locked apiaries.
func (tx *Tx) replan(ctx context.Context, lk locked, today, changedFrom scheduler.Date) (*Replanned, error) {
	l, err := tx.loadForPlanning(ctx, lk, today)
	if err != nil {
		return nil, err
	}
	return tx.planAssembled(ctx, l, l.assemble(), lk, today, changedFrom)
}

// planAssembled plans apiaries and saves what changed. What was learned about a
// box before it moved counts at its new place too: when records since
// changedFrom have such a move after them, the apiaries that share boxes are
// planned as well.
func (tx *Tx) planAssembled(ctx context.Context, l *loading, c *scheduler.Club, lk locked, today, changedFrom scheduler.Date) (*Replanned, error) {
	apiaries := lk.about
	if changedFrom != 0 && movedSince(c, changedFrom) {
		apiaries = lk.all
	}
	plan, became, err := tx.planBack(ctx, l, c, apiaries, today, func(c *scheduler.Club) *scheduler.Plan { return planOf(c, apiaries, today) })
	if err != nil {
		return nil, err
	}
	return tx.save(ctx, l, plan, became, apiaries, today)
}

func planOf(c *scheduler.Club, apiaries []int64, today scheduler.Date) *scheduler.Plan {
	if len(apiaries) == 1 {
		return scheduler.PlanApiary(c, apiaries[0], today)
	}
	plan := scheduler.PlanClub(c, today)
	if len(apiaries) == len(c.Apiaries) {
		return plan
	}
	other := func(apiary int64) bool { return !slices.Contains(apiaries, apiary) }
	otherVisit := func(v scheduler.Visit) bool { return other(v.ApiaryID) }
	plan.Visits = slices.DeleteFunc(plan.Visits, otherVisit)
	plan.Cancel = slices.DeleteFunc(plan.Cancel, otherVisit)
	plan.Past = slices.DeleteFunc(plan.Past, otherVisit)
	plan.Boxes = slices.DeleteFunc(plan.Boxes, func(s scheduler.BoxState) bool { return other(s.ApiaryID) })
	return plan
}

func movedSince(c *scheduler.Club, day scheduler.Date) bool {
	for b := range eachBox(c) {
		for _, p := range b.Places {
			if p.From >= day {
				return true
			}
		}
	}
	return false
}

// ids reads one column of ids.
func (tx *Tx) ids(ctx context.Context, sql string, args ...any) ([]int64, error) {
	rows, err := tx.tx.Query(ctx, sql, args...)
	if err != nil {
		return nil, err
	}
	return collectIDs(rows)
}
