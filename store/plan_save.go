package store

import (
	"context"
	"math"
	"slices"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// cancelledDays is how long calendars show that a visit was cancelled.
const cancelledDays = 30

// save writes a plan over what was recorded: only rows that differ. It gives
// new visits their ids and identities, in plan too.
func (tx *Tx) save(ctx context.Context, l *loading, plan *scheduler.Plan, became map[int64]scheduler.PutBack, apiaries []int64, today scheduler.Date) (*Replanned, error) {
	r := &Replanned{Plan: plan}
	var changed []VisitChange // all that is written over rows
	old := make(map[int64]*scheduler.Visit, len(l.club.Visits))
	for i := range l.club.Visits {
		old[l.club.Visits[i].ID] = &l.club.Visits[i]
	}
	var added []*scheduler.Visit
	for i := range plan.Visits {
		v := &plan.Visits[i]
		was := old[v.ID]
		switch {
		case v.ID == 0 || was == nil:
			v.UID = uuid.NewString()
			v.FirstSeen = today
			added = append(added, v)
		case !sameVisit(was, v):
			v.Sequence = max(v.Sequence, was.Sequence+1)
			changed = append(changed, VisitChange{*was, *v})
		}
	}
	r.Changed = slices.Clone(changed)
	for _, v := range plan.Cancel {
		changed = append(changed, VisitChange{*old[v.ID], v})
	}
	for _, v := range plan.Past {
		changed = append(changed, VisitChange{*old[v.ID], v})
	}
	r.Cancelled, r.Past = plan.Cancel, plan.Past

	if err := tx.numberVisits(ctx, added); err != nil {
		return nil, err
	}
	for _, v := range added {
		r.Added = append(r.Added, *v)
	}
	var b pgx.Batch
	tx.queueVisitWrites(&b, r.Added, changed, today)
	tx.queueMoves(&b, l, r, became, today)
	tx.queueStateWrites(&b, l, plan)
	sum := sumAt(plan, apiaries)
	b.Queue(`
		UPDATE apiary a SET planned_on = $2, planned_rules = $3, overdue = u.overdue, overdue_since = u.since, worst_odds = u.worst, rates_from = u.rates_from
		  FROM unnest($1::bigint[], $4::int[], $5::date[], $6::float8[], $7::bigint[]) AS u(id, overdue, since, worst, rates_from)
		 WHERE a.id = u.id AND (a.planned_on, a.planned_rules, a.overdue, a.overdue_since, a.worst_odds, a.rates_from)
		       IS DISTINCT FROM ($2, $3, u.overdue, u.since, u.worst, u.rates_from)`,
		apiaries, today, l.rules, sum.late, sum.since, sum.worst, l.ratesFrom(plan, apiaries, today))
	if others := l.others(apiaries); len(others) > 0 { // what changed may be of their boxes, too
		b.Queue(`UPDATE apiary SET rates_from = NULL WHERE id = ANY($1) AND rates_from IS NOT NULL`, others)
	}
	tx.laterAll(&b, "save the plan of apiaries %v", apiaries)
	for _, v := range r.Added {
		tx.feedChangedAt([]int64{v.ApiaryID})
	}
	for _, ch := range changed {
		tx.feedChangedAt([]int64{ch.New.ApiaryID})
	}
	return r, nil
}

// apiarySum holds what stands at apiaries column by column, as unnest takes it.
type apiarySum struct {
	late  []int // boxes past their due day that nothing keeps shut
	since []scheduler.Date
	worst []*float64 // the greatest odds of a hard opening; nil where there is no box
}

// sumAt counts what is overdue, and looks for what is likeliest to be hard.
func sumAt(plan *scheduler.Plan, apiaries []int64) apiarySum {
	n := len(apiaries)
	sum := apiarySum{make([]int, n), make([]scheduler.Date, n), make([]*float64, n)}
	places := make(map[int64]int, n)
	for i, id := range apiaries {
		places[id] = i
	}
	for i := range plan.Boxes {
		s := &plan.Boxes[i]
		at, counted := places[s.ApiaryID]
		if !counted {
			continue
		}
		if sum.worst[at] == nil || s.Odds > *sum.worst[at] {
			sum.worst[at] = &s.Odds
		}
		if !s.Overdue || !s.LeftAlone.IsZero() {
			continue
		}
		sum.late[at]++
		if sum.since[at] == 0 || s.Due < sum.since[at] {
			sum.since[at] = s.Due
		}
	}
	return sum
}

// sameVisit reports whether nothing about a visit changed that anyone would
// see.
func sameVisit(a, b *scheduler.Visit) bool {
	return a.On == b.On && a.Status == b.Status && a.Sequence == b.Sequence && a.For == b.For &&
		a.Pinned == b.Pinned && a.NoTime == b.NoTime && samePeople(a, b) && a.OffUntil == b.OffUntil && slices.EqualFunc(a.Boxes, b.Boxes, sameBox)
}

// samePeople reports whether the same members go, and said so, and refused.
func samePeople(a, b *scheduler.Visit) bool {
	return slices.Equal(a.Who, b.Who) && slices.Equal(a.Taken, b.Taken) && slices.Equal(a.Refused, b.Refused)
}

// visibleOdds is the least difference of odds that is worth telling. Planned a
// day later, the odds of a day come out the same but for their last digits.
const visibleOdds = 0.005

func sameBox(a, b scheduler.VisitBox) bool {
	return a.BoxID == b.BoxID && a.Due == b.Due && a.Reason == b.Reason && math.Abs(a.Odds-b.Odds) < visibleOdds && math.Abs(a.Stuck-b.Stuck) < visibleOdds
}

// numberVisits takes ids for new visits, so that their boxes can be written
// in the same round trip.
func (tx *Tx) numberVisits(ctx context.Context, visits []*scheduler.Visit) error {
	ids, err := tx.nextIDs(ctx, "visit", len(visits))
	if err != nil {
		return err
	}
	for i, v := range visits {
		v.ID = ids[i]
	}
	return nil
}

// nextIDs takes n ids of a table, in rising order.
func (tx *Tx) nextIDs(ctx context.Context, table string, n int) ([]int64, error) {
	if n == 0 {
		return nil, nil
	}
	ids, err := tx.ids(ctx, `SELECT nextval(pg_get_serial_sequence($1, 'id')) FROM generate_series(1, $2::int)`, table, n)
	slices.Sort(ids)
	return ids, tx.wrap(err, "take ids for new rows of %s", table)
}

func (tx *Tx) queueVisitWrites(b *pgx.Batch, added []scheduler.Visit, changed []VisitChange, today scheduler.Date) {
	var boxes, others visitBoxColumns // those that are new, and those that stand where another stood
	var who []scheduler.Visit         // whose lists are written
	if len(added) > 0 {
		t := visitColumns(added, today)
		b.Queue(`
			INSERT INTO visit (club_id, id, uid, apiary_id, on_day, status, sequence, pinned, duty, first_seen, cancelled_until, off_until, off_from, no_time)
			SELECT $1::bigint, u.* FROM unnest($2::bigint[], $3::text[], $4::bigint[], $5::date[], $6::text[], $7::int[],
			                           $8::bool[], $9::text[], $10::date[], $11::date[], $12::date[], $13::text[], $14::bool[]) u`,
			tx.club, t.id, t.uid, t.apiary, t.on, t.status, t.sequence, t.pinned, t.duty, t.firstSeen, t.cancelled, t.offUntil, t.offFrom, t.noTime)
		for i := range added {
			for n := range added[i].Boxes {
				boxes.add(&added[i], n)
			}
		}
		who = append(who, added...)
	}
	if len(changed) > 0 {
		var now []scheduler.Visit
		var shorter, length, staleWho []int64
		for _, ch := range changed {
			now = append(now, ch.New)
			for n := range ch.New.Boxes {
				if n >= len(ch.Old.Boxes) {
					boxes.add(&ch.New, n)
				} else if !sameBox(ch.Old.Boxes[n], ch.New.Boxes[n]) {
					others.add(&ch.New, n)
				}
			}
			if n := len(ch.New.Boxes); n < len(ch.Old.Boxes) {
				shorter, length = append(shorter, ch.New.ID), append(length, int64(n))
			}
			if !samePeople(&ch.Old, &ch.New) {
				staleWho, who = append(staleWho, ch.New.ID), append(who, ch.New)
			}
		}
		t := visitColumns(now, today)
		b.Queue(`
			UPDATE visit v SET on_day = u.on_day, status = u.status, sequence = u.sequence, pinned = u.pinned, duty = u.duty,
			       cancelled_until = u.cancelled, off_until = u.off_until, off_from = u.off_from, no_time = u.no_time, changed_at = now()
			  FROM unnest($1::bigint[], $2::date[], $3::text[], $4::int[], $5::bool[], $6::text[], $7::date[], $8::date[], $9::text[], $10::bool[])
			       AS u(id, on_day, status, sequence, pinned, duty, cancelled, off_until, off_from, no_time)
			 WHERE v.id = u.id`, t.id, t.on, t.status, t.sequence, t.pinned, t.duty, t.cancelled, t.offUntil, t.offFrom, t.noTime)
		if len(shorter) > 0 {
			b.Queue(`DELETE FROM visit_box b USING unnest($1::bigint[], $2::bigint[]) AS u(id, length) WHERE b.visit_id = u.id AND b.n > u.length`, shorter, length)
		}
		if len(staleWho) > 0 {
			b.Queue(`DELETE FROM visit_member WHERE visit_id = ANY($1)`, staleWho)
		}
	}
	if len(others.visit) > 0 {
		b.Queue(`
			UPDATE visit_box b SET box_id = u.box, due = u.due, reason = u.reason, odds = u.odds, stuck = u.stuck
			  FROM unnest($1::bigint[], $2::int[], $3::bigint[], $4::date[], $5::text[], $6::float8[], $7::float8[]) AS u(visit, n, box, due, reason, odds, stuck)
			 WHERE b.visit_id = u.visit AND b.n = u.n`, others.visit, others.n, others.box, others.due, others.reason, others.odds, others.stuck)
	}
	tx.queueVisitBoxes(b, &boxes)
	tx.queueVisitMembers(b, who)
}

// visitColumn holds visits column by column, as unnest takes them.
type visitColumn struct {
	id, apiary               []int64
	uid, status, duty        []string
	offFrom                  []string
	on, firstSeen, cancelled []scheduler.Date
	offUntil                 []scheduler.Date
	sequence                 []int
	pinned, noTime           []bool
}

func visitColumns(visits []scheduler.Visit, today scheduler.Date) visitColumn {
	var t visitColumn
	for _, v := range visits {
		var until scheduler.Date
		if v.Status == scheduler.Cancelled {
			until = today + cancelledDays
		}
		t.id, t.apiary = append(t.id, v.ID), append(t.apiary, v.ApiaryID)
		t.uid, t.status, t.duty = append(t.uid, v.UID), append(t.status, string(v.Status)), append(t.duty, string(v.For))
		t.on, t.firstSeen, t.cancelled = append(t.on, v.On), append(t.firstSeen, v.FirstSeen), append(t.cancelled, until)
		t.sequence, t.pinned = append(t.sequence, v.Sequence), append(t.pinned, v.Pinned)
		t.offUntil, t.offFrom = append(t.offUntil, v.OffUntil), append(t.offFrom, string(v.OffFrom))
		t.noTime = append(t.noTime, v.NoTime)
	}
	return t
}

// visitBoxColumns holds boxes of visits column by column.
type visitBoxColumns struct {
	visit, box  []int64
	n           []int
	due         []scheduler.Date
	reason      []string
	odds, stuck []float64
}

// add adds the n-th box of a visit, from 0 on; in the table they count from 1, without
// a gap.
func (t *visitBoxColumns) add(v *scheduler.Visit, n int) {
	b := &v.Boxes[n]
	t.visit, t.box, t.n = append(t.visit, v.ID), append(t.box, b.BoxID), append(t.n, n+1)
	t.due, t.reason = append(t.due, b.Due), append(t.reason, string(b.Reason))
	t.odds, t.stuck = append(t.odds, b.Odds), append(t.stuck, b.Stuck)
}

func (tx *Tx) queueVisitBoxes(b *pgx.Batch, t *visitBoxColumns) {
	if len(t.visit) > 0 {
		b.Queue(`
			INSERT INTO visit_box (club_id, visit_id, n, box_id, due, reason, odds, stuck)
			SELECT $1::bigint, u.* FROM unnest($2::bigint[], $3::int[], $4::bigint[], $5::date[], $6::text[], $7::float8[], $8::float8[]) u`,
			tx.club, t.visit, t.n, t.box, t.due, t.reason, t.odds, t.stuck)
	}
}

// The words of visit_member.said.
const (
	saidNothing = ""
	saidGoing   = "going"
	saidCannot  = "cannot"
)

func (tx *Tx) queueVisitMembers(b *pgx.Batch, visits []scheduler.Visit) {
	var visit, member []int64
	var n []int
	var said []string
	for i := range visits {
		v := &visits[i]
		add := func(id int64, word string) {
			visit, member, n, said = append(visit, v.ID), append(member, id), append(n, len(n)+1), append(said, word)
		}
		for _, m := range v.Who {
			if v.IsTakenBy(m) {
				add(m, saidGoing)
			} else {
				add(m, saidNothing)
			}
		}
		for _, m := range v.Refused {
			if !slices.Contains(v.Who, m) {
				add(m, saidCannot)
			}
		}
	}
	if len(visit) > 0 {
		b.Queue(`
			INSERT INTO visit_member (club_id, visit_id, member_id, n, said)
			SELECT $1::bigint, u.* FROM unnest($2::bigint[], $3::bigint[], $4::int[], $5::text[]) u`, tx.club, visit, member, n, said)
	}
}

func collectIDs(rows pgx.Rows) ([]int64, error) { return pgx.CollectRows(rows, pgx.RowTo[int64]) }
