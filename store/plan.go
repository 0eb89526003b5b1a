package store

import (
	"context"
	"slices"

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
	l, err := tx.loadForPlanning(ctx, []int64{apiary}, today)
	if err != nil {
		return nil, err
	}
	return l.assemble(), nil
}

// RecordsAround reads an apiary, and those that share boxes with it, with all
// their records and without locking: what pages about it need, and enough to
// work out everything about its boxes.
func (tx *Tx) RecordsAround(ctx context.Context, apiary int64) (*scheduler.Club, error) {
	ids, err := tx.ids(ctx, together, []int64{apiary})
	if err == nil && len(ids) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, tx.wrap(err, "find apiary %d", apiary)
	}
	l, err := tx.load(ctx, scope{apiaries: ids, openings: allOpenings})
	if err != nil {
		return nil, err
	}
	return l.assemble(), nil
}

func (tx *Tx) loadForPlanning(ctx context.Context, apiaries []int64, today scheduler.Date) (*loading, error) {
	together, err := tx.lockTogether(ctx, apiaries)
	if err != nil {
		return nil, err
	}
	return tx.load(ctx, scope{apiaries: together, openings: effective, since: today - remembered, computed: true})
}

// Replan plans one apiary for today and saves what changed.
func (tx *Tx) Replan(ctx context.Context, apiary int64, today scheduler.Date) (*Replanned, error) {
	return tx.replan(ctx, []int64{apiary}, today, 0)
}

// ReplanAll plans every apiary of the club in this transaction.
func (tx *Tx) ReplanAll(ctx context.Context, today scheduler.Date) (*Replanned, error) {
	ids, err := tx.ids(ctx, `SELECT id FROM apiary ORDER BY id`)
	if err != nil {
		return nil, tx.wrap(err, "list the apiaries")
	}
	return tx.replan(ctx, ids, today, 0)
}

// everSince is a day before all records: what changed may count from any day
// on. The order of a stack is such a thing, since boxes opened on one day are
// taken in that order.
const everSince = scheduler.Date(1)

// replan plans apiaries. What was learned about a box before it moved counts
// at its new place too: when records since changed have such a move after
// them, those apiaries are planned as well.
func (tx *Tx) replan(ctx context.Context, apiaries []int64, today, changedFrom scheduler.Date) (*Replanned, error) {
	l, err := tx.loadForPlanning(ctx, apiaries, today)
	if err != nil {
		return nil, err
	}
	c := l.assemble()
	if changedFrom != 0 && movedSince(c, changedFrom) {
		apiaries = nil
		for i := range c.Apiaries {
			apiaries = append(apiaries, c.Apiaries[i].ID)
		}
	}
	return tx.save(ctx, l, planOf(c, apiaries, today), apiaries, today)
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

// together are the apiaries that $1 must be planned with: those linked by a
// box that stood on hives of both, and those linked to them.
const together = `
	WITH RECURSIVE linked(apiary_id) AS (
		SELECT unnest($1::bigint[])
		UNION
		SELECT h2.apiary_id
		  FROM linked
		  JOIN hive h1 ON h1.apiary_id = linked.apiary_id
		  JOIN box_place p1 ON p1.club_id = h1.club_id AND p1.hive_id = h1.id
		  JOIN box_place p2 ON p2.club_id = p1.club_id AND p2.box_id = p1.box_id
		  JOIN hive h2 ON h2.club_id = p2.club_id AND h2.id = p2.hive_id)
	SELECT id FROM apiary WHERE id IN (SELECT apiary_id FROM linked) ORDER BY id`

// lockTogether locks apiaries, with all that share boxes with them, in the
// order of their ids, and returns them.
func (tx *Tx) lockTogether(ctx context.Context, apiaries []int64) ([]int64, error) {
	locked, err := tx.ids(ctx, together+` FOR NO KEY UPDATE`, apiaries)
	if err != nil {
		return nil, tx.wrap(err, "lock apiaries %v", apiaries)
	}
	for _, id := range apiaries {
		if !slices.Contains(locked, id) {
			return nil, tx.wrap(ErrNotFound, "lock apiary %d", id)
		}
	}
	now, err := tx.ids(ctx, together, apiaries)
	if err == nil && !slices.Equal(locked, now) {
		err = errAgain // a box moved while we waited
	}
	return locked, tx.wrap(err, "lock apiaries %v", apiaries)
}

// ids reads one column of ids.
func (tx *Tx) ids(ctx context.Context, sql string, args ...any) ([]int64, error) {
	rows, err := tx.tx.Query(ctx, sql, args...)
	if err != nil {
		return nil, err
	}
	return collectIDs(rows)
}
