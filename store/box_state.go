package store

import (
	"cmp"
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// stateRow is what was worked out about one box: the row of due, and beside it
// the row of box_state.
type stateRow struct {
	scheduler.BoxState
	on scheduler.Date // the day that it was worked out for
}

const (
	selectDue = `
	SELECT box_id, apiary_id, hive_id, since, last_opened, last_hard, shut_on, odds_day, due, reason, moved, left_alone, left_alone_words, left_alone_after,
	       openings, due_first, due_last FROM due `
	selectBoxStates = `
	SELECT box_id, sealing_days, rate_mean, rate_variance, odds, stuck, overdue, on_day FROM box_state `
)

func (s *stateRow) dueTargets() []any {
	return []any{
		&s.BoxID, &s.ApiaryID, &s.HiveID, &s.Since, &s.LastOpened, &s.LastHard, &s.ShutOn, &s.OddsDay, &s.Due, &s.Reason,
		&s.Moved, &s.LeftAlone.Why, &s.LeftAlone.Words, &s.LeftAlone.After, &s.Openings, &s.DueFirst, &s.DueLast,
	}
}

func (s *stateRow) stateTargets() []any {
	return []any{&s.BoxID, &s.SealingDays, &s.RateMean, &s.RateVariance, &s.Odds, &s.Stuck, &s.Overdue, &s.on}
}

// addState takes over what stands in box_state.
func (s *stateRow) addState(o *stateRow) {
	s.SealingDays, s.RateMean, s.RateVariance, s.Odds = o.SealingDays, o.RateMean, o.RateVariance, o.Odds
	s.Stuck, s.Overdue, s.on = o.Stuck, o.Overdue, o.on
}

// queueStates reads the two tables apart: of each, rows are found by an index.
func (l *loading) queueStates(b *pgx.Batch, sc scope) {
	b.Queue(selectDue+`WHERE apiary_id = ANY($1) ORDER BY box_id`, sc.apiaries).Query(func(rows pgx.Rows) (err error) {
		l.states, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (s stateRow, err error) {
			err = row.Scan(s.dueTargets()...)
			return s, err
		})
		return err
	})
	b.Queue(selectBoxStates+`
		WHERE box_id = ANY(ARRAY(SELECT box_id FROM due WHERE apiary_id = ANY($1))) ORDER BY box_id`, sc.apiaries).
		Query(func(rows pgx.Rows) error {
			i := 0
			var s stateRow
			_, err := pgx.ForEachRow(rows, s.stateTargets(), func() error {
				for i < len(l.states) && l.states[i].BoxID < s.BoxID {
					i++
				}
				if i < len(l.states) && l.states[i].BoxID == s.BoxID {
					l.states[i].addState(&s)
				}
				return nil
			})
			return err
		})
}

// BoxStates reads the saved states of an apiary's boxes, from the bottom of
// each hive up; 0 reads those of every apiary.
func (tx *Tx) BoxStates(ctx context.Context, apiary int64) ([]scheduler.BoxState, error) {
	var apiaries []int64
	var err error
	if apiary != 0 {
		apiaries = []int64{apiary}
	} else if apiaries, err = tx.ids(ctx, `SELECT id FROM apiary`); err != nil {
		return nil, tx.wrap(err, "list the apiaries")
	}
	return tx.boxStates(ctx, apiaries)
}

func (tx *Tx) boxStates(ctx context.Context, apiaries []int64) ([]scheduler.BoxState, error) {
	l := &loading{}
	var b pgx.Batch
	l.queueStates(&b, scope{apiaries: apiaries})
	place := map[int64]int{}
	b.Queue(`
		SELECT id, position FROM box
		 WHERE id = ANY(ARRAY(SELECT box_id FROM due WHERE apiary_id = ANY($1))) AND position IS NOT NULL`, apiaries).
		Query(func(rows pgx.Rows) error {
			var id int64
			var position int
			_, err := pgx.ForEachRow(rows, []any{&id, &position}, func() error { place[id] = position; return nil })
			return err
		})
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, tx.wrap(err, "read the states of the boxes")
	}
	out := make([]scheduler.BoxState, len(l.states))
	for i := range l.states {
		out[i] = l.states[i].BoxState
	}
	slices.SortFunc(out, func(a, b scheduler.BoxState) int {
		return cmp.Or(cmp.Compare(a.ApiaryID, b.ApiaryID), cmp.Compare(a.HiveID, b.HiveID), cmp.Compare(place[a.BoxID], place[b.BoxID]))
	})
	return out, nil
}

// statesByBox finds what was read of each box.
func (l *loading) statesByBox() map[int64]scheduler.BoxState {
	out := make(map[int64]scheduler.BoxState, len(l.states))
	for i := range l.states {
		out[l.states[i].BoxID] = l.states[i].BoxState
	}
	return out
}

// statesByBox finds what was planned of each box.
func (r *Replanned) statesByBox() map[int64]scheduler.BoxState {
	out := make(map[int64]scheduler.BoxState, len(r.Plan.Boxes))
	for _, s := range r.Plan.Boxes {
		out[s.BoxID] = s
	}
	return out
}

// SavedPlan is the plan as it was last saved: open visits by day, and what is
// known of every box.
func (tx *Tx) SavedPlan(ctx context.Context, today scheduler.Date) (*scheduler.Plan, error) {
	visits, err := tx.Visits(ctx, VisitFilter{OpenOnly: true, From: today})
	if err != nil {
		return nil, err
	}
	plan := &scheduler.Plan{Today: today}
	for _, v := range visits {
		plan.Visits = append(plan.Visits, v.Visit)
	}
	plan.Boxes, err = tx.BoxStates(ctx, 0)
	return plan, err
}

// queueStateWrites writes the states that differ from those read, and takes
// out those of boxes that stand there no more.
func (tx *Tx) queueStateWrites(b *pgx.Batch, l *loading, plan *scheduler.Plan, today scheduler.Date) {
	planned := make(map[int64]bool, len(plan.Boxes))
	old := make(map[int64]*stateRow, len(l.states))
	for i := range l.states {
		old[l.states[i].BoxID] = &l.states[i]
	}
	apiaries := map[int64]bool{}
	var due, states []scheduler.BoxState
	for _, s := range plan.Boxes {
		planned[s.BoxID], apiaries[s.ApiaryID] = true, true
		was := old[s.BoxID]
		if was == nil || dueColumns(&was.BoxState) != dueColumns(&s) {
			due = append(due, s)
		}
		if was == nil || was.on != today || stateColumns(&was.BoxState) != stateColumns(&s) {
			states = append(states, s)
		}
	}
	var gone []int64
	for id, s := range old {
		if !planned[id] && apiaries[s.ApiaryID] {
			gone = append(gone, id)
		}
	}
	if len(gone) > 0 {
		b.Queue(`DELETE FROM box_state WHERE box_id = ANY($1)`, gone)
		b.Queue(`DELETE FROM due WHERE box_id = ANY($1)`, gone)
	}
	tx.queueDue(b, due)
	tx.queueBoxStates(b, states, today)
}

// dueColumns keeps what stands in due, stateColumns what stands in box_state.
func dueColumns(s *scheduler.BoxState) scheduler.BoxState {
	d := *s
	d.SealingDays, d.RateMean, d.RateVariance, d.Odds, d.Stuck, d.Overdue = 0, 0, 0, 0, 0, false
	return d
}

func stateColumns(s *scheduler.BoxState) scheduler.BoxState {
	return scheduler.BoxState{
		SealingDays: s.SealingDays, RateMean: s.RateMean, RateVariance: s.RateVariance, Odds: s.Odds, Stuck: s.Stuck, Overdue: s.Overdue,
	}
}

func (tx *Tx) queueDue(b *pgx.Batch, states []scheduler.BoxState) {
	if len(states) == 0 {
		return
	}
	n := len(states)
	box, apiary, hive := make([]int64, n), make([]int64, n), make([]int64, n)
	since, last, shut := make([]scheduler.Date, n), make([]scheduler.Date, n), make([]scheduler.Date, n)
	oddsDay, due := make([]scheduler.Date, n), make([]scheduler.Date, n)
	hard, openings := make([]int16, n), make([]int, n)
	dueFirst, dueLast := make([]scheduler.Date, n), make([]scheduler.Date, n)
	reason, moved := make([]string, n), make([]string, n)
	left, words, after := make([]string, n), make([]string, n), make([]string, n)
	for i := range states {
		s := &states[i]
		box[i], apiary[i], hive[i] = s.BoxID, s.ApiaryID, s.HiveID
		since[i], last[i], shut[i], oddsDay[i], due[i] = s.Since, s.LastOpened, s.ShutOn, s.OddsDay, s.Due
		hard[i], openings[i], dueFirst[i], dueLast[i] = int16(s.LastHard), s.Openings, s.DueFirst, s.DueLast
		reason[i], moved[i] = string(s.Reason), string(s.Moved)
		left[i], words[i], after[i] = string(s.LeftAlone.Why), s.LeftAlone.Words, string(s.LeftAlone.After)
	}
	b.Queue(`
		INSERT INTO due (club_id, box_id, apiary_id, hive_id, since, last_opened, last_hard, shut_on, odds_day, due, reason,
		                 moved, left_alone, left_alone_words, left_alone_after, openings, due_first, due_last)
		SELECT $1::bigint, u.* FROM unnest($2::bigint[], $3::bigint[], $4::bigint[], $5::date[], $6::date[], $7::smallint[],
		                           $8::date[], $9::date[], $10::date[], $11::text[], $12::text[], $13::text[], $14::text[],
		                           $15::text[], $16::int[], $17::date[], $18::date[]) u
		ON CONFLICT (club_id, box_id) DO UPDATE SET
			apiary_id = excluded.apiary_id, hive_id = excluded.hive_id, since = excluded.since,
			last_opened = excluded.last_opened, last_hard = excluded.last_hard, shut_on = excluded.shut_on, odds_day = excluded.odds_day,
			due = excluded.due, reason = excluded.reason, moved = excluded.moved, left_alone = excluded.left_alone,
			left_alone_words = excluded.left_alone_words, left_alone_after = excluded.left_alone_after, openings = excluded.openings, due_first = excluded.due_first, due_last = excluded.due_last`,
		tx.club, box, apiary, hive, since, last, hard, shut, oddsDay, due, reason, moved, left, words, after, openings, dueFirst, dueLast)
}

func (tx *Tx) queueBoxStates(b *pgx.Batch, states []scheduler.BoxState, today scheduler.Date) {
	if len(states) == 0 {
		return
	}
	n := len(states)
	box, overdue := make([]int64, n), make([]bool, n)
	sealing, mean, variance := make([]float64, n), make([]float64, n), make([]float64, n)
	odds, stuck := make([]float64, n), make([]float64, n)
	for i := range states {
		s := &states[i]
		box[i], overdue[i] = s.BoxID, s.Overdue
		sealing[i], mean[i], variance[i], odds[i], stuck[i] = s.SealingDays, s.RateMean, s.RateVariance, s.Odds, s.Stuck
	}
	b.Queue(`
		INSERT INTO box_state (club_id, box_id, on_day, sealing_days, rate_mean, rate_variance, odds, stuck, overdue)
		SELECT $1::bigint, u.box_id, $2::date, u.sealing, u.mean, u.variance, u.odds, u.stuck, u.overdue
		  FROM unnest($3::bigint[], $4::float8[], $5::float8[], $6::float8[], $7::float8[], $8::float8[], $9::bool[])
		       AS u(box_id, sealing, mean, variance, odds, stuck, overdue)
		ON CONFLICT (club_id, box_id) DO UPDATE SET
			on_day = excluded.on_day, sealing_days = excluded.sealing_days, rate_mean = excluded.rate_mean,
			rate_variance = excluded.rate_variance, odds = excluded.odds, stuck = excluded.stuck,
			overdue = excluded.overdue`,
		tx.club, today, box, sealing, mean, variance, odds, stuck, overdue)
}
