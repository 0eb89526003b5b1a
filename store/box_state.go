package store

import (
	"cmp"
	"context"
	"slices"
	"strconv"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// selectDue reads what scanState takes.
const selectDue = `
	SELECT box_id, apiary_id, hive_id, since, last_opened, last_hard, shut_on, odds_day, due, reason, moved, left_alone, left_alone_words, left_alone_after,
	       openings, due_first, due_last, seal_since, seal_left, seal_ages, rate_mean, rate_variance, rated_on, last_tried, listed_on FROM due `

// scanState reads all of a state that does not depend on the day.
func scanState(row pgx.CollectableRow) (s scheduler.BoxState, err error) {
	o := &s.Outlook
	var ages []float64
	err = row.Scan(&s.BoxID, &s.ApiaryID, &s.HiveID, &s.Since, &s.LastOpened, &s.LastHard, &s.ShutOn, &s.OddsDay, &s.Due, &s.Reason,
		&s.Moved, &s.LeftAlone.Why, &s.LeftAlone.Words, &s.LeftAlone.After, &s.Openings, &s.DueFirst, &s.DueLast,
		&o.Since, &o.Left, &ages, &o.Mean, &o.Variance, &o.RatedOn, &s.LastTried, &s.ListedOn)
	o.SetAges(ages)
	return s, err
}

// lasting is what of a state does not depend on the day, which is what is stored.
func lasting(s *scheduler.BoxState) scheduler.BoxState {
	d := *s
	d.SealingDays, d.RateMean, d.RateVariance, d.Odds, d.Stuck, d.Overdue = 0, 0, 0, 0, 0, false
	return d
}

// queueStates reads what is known of the boxes of apiaries, and the days that
// those were planned for last.
func (l *loading) queueStates(b *pgx.Batch, sc scope) {
	b.Queue(selectDue+`WHERE apiary_id = ANY($1) ORDER BY box_id`, sc.apiaries).Query(func(rows pgx.Rows) (err error) {
		l.states, err = pgx.CollectRows(rows, scanState)
		return err
	})
	b.Queue(`SELECT id, planned_on, planned_rules, coalesce(rates_from, 0) FROM apiary WHERE id = ANY($1) AND planned_on IS NOT NULL`, sc.apiaries).Query(func(rows pgx.Rows) error {
		l.planned = map[int64]lastPlan{}
		var id int64
		var p lastPlan
		_, err := pgx.ForEachRow(rows, []any{&id, &p.on, &p.rules, &p.ratesFrom}, func() error { l.planned[id] = p; return nil })
		return err
	})
}

// lastPlan says for which day, and by which version of the rules, an apiary was
// planned last.
type lastPlan struct {
	on        scheduler.Date
	rules     int
	ratesFrom int64 // see scheduler.RateSources
}

// statesThen returns the states that were read, each of the day that its apiary
// was planned for.
func (l *loading) statesThen() []scheduler.BoxState {
	seasons := make(map[int64]*scheduler.Season, len(l.club.Apiaries))
	for i := range l.club.Apiaries {
		a := &l.club.Apiaries[i]
		seasons[a.ID] = scheduler.NewSeason(a.Place(), &l.club.Rules)
	}
	out := slices.Clone(l.states)
	for i := range out {
		if s := &out[i]; seasons[s.ApiaryID] != nil {
			s.OnDay(seasons[s.ApiaryID], l.club.Recalibration, l.planned[s.ApiaryID].on)
		}
	}
	return out
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
	l.queueRules(&b)
	l.queueRecalibration(&b)
	l.queueSomeApiaries(&b, apiaries)
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
	out := l.statesThen()
	slices.SortFunc(out, func(a, b scheduler.BoxState) int {
		return cmp.Or(cmp.Compare(a.ApiaryID, b.ApiaryID), cmp.Compare(a.HiveID, b.HiveID), cmp.Compare(place[a.BoxID], place[b.BoxID]))
	})
	return out, nil
}

// statesByBox finds what was read of each box.
func (l *loading) statesByBox() map[int64]scheduler.BoxState {
	out := make(map[int64]scheduler.BoxState, len(l.states))
	for _, s := range l.statesThen() {
		out[s.BoxID] = s
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

// queueStateWrites writes the states that differ from those read in more than the
// day, and takes out those of boxes that stand there no more.
func (tx *Tx) queueStateWrites(b *pgx.Batch, l *loading, plan *scheduler.Plan) {
	planned := make(map[int64]bool, len(plan.Boxes))
	old := make(map[int64]*scheduler.BoxState, len(l.states))
	for i := range l.states {
		old[l.states[i].BoxID] = &l.states[i]
	}
	apiaries := map[int64]bool{}
	var changed []scheduler.BoxState
	for i := range plan.Boxes {
		s := &plan.Boxes[i]
		planned[s.BoxID], apiaries[s.ApiaryID] = true, true
		if was := old[s.BoxID]; was == nil || *was != lasting(s) {
			changed = append(changed, *s)
		}
	}
	var gone []int64
	for id, s := range old {
		if !planned[id] && apiaries[s.ApiaryID] {
			gone = append(gone, id)
		}
	}
	if len(gone) > 0 {
		b.Queue(`DELETE FROM due WHERE box_id = ANY($1)`, gone)
	}
	tx.queueDue(b, changed)
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
	sealed, rated := make([]scheduler.Date, n), make([]scheduler.Date, n)
	tried, listed := make([]scheduler.Date, n), make([]scheduler.Date, n)
	remains, mean, variance := make([]float64, n), make([]float64, n), make([]float64, n)
	ages := make([]string, n)
	for i := range states {
		s := &states[i]
		box[i], apiary[i], hive[i] = s.BoxID, s.ApiaryID, s.HiveID
		since[i], last[i], shut[i], oddsDay[i], due[i] = s.Since, s.LastOpened, s.ShutOn, s.OddsDay, s.Due
		hard[i], openings[i], dueFirst[i], dueLast[i] = int16(s.LastHard), s.Openings, s.DueFirst, s.DueLast
		reason[i], moved[i] = string(s.Reason), string(s.Moved)
		left[i], words[i], after[i] = string(s.LeftAlone.Why), s.LeftAlone.Words, string(s.LeftAlone.After)
		tried[i], listed[i] = s.LastTried, s.ListedOn
		o := &s.Outlook
		sealed[i], remains[i], mean[i], variance[i], rated[i] = o.Since, o.Left, o.Mean, o.Variance, o.RatedOn
		ages[i] = arrayOf(o.Ages())
	}
	b.Queue(`
		INSERT INTO due (club_id, box_id, apiary_id, hive_id, since, last_opened, last_hard, shut_on, odds_day, due, reason,
		                 moved, left_alone, left_alone_words, openings, due_first, due_last,
		                 seal_since, seal_left, rate_mean, rate_variance, rated_on, seal_ages, left_alone_after, last_tried, listed_on)
		SELECT $1::bigint, u.box, u.apiary, u.hive, u.since, u.last, u.hard, u.shut, u.odds_day, u.due, u.reason,
		       u.moved, u.alone, u.words, u.openings, u.first_day, u.last_day,
		       u.sealed, u.remains, u.mean, u.variance, u.rated, nullif(u.ages, '')::float8[], u.after, u.tried, u.listed
		  FROM unnest($2::bigint[], $3::bigint[], $4::bigint[], $5::date[], $6::date[], $7::smallint[],
		              $8::date[], $9::date[], $10::date[], $11::text[], $12::text[], $13::text[], $14::text[],
		              $15::int[], $16::date[], $17::date[], $18::date[], $19::float8[], $20::float8[], $21::float8[], $22::date[], $23::text[], $24::text[], $25::date[], $26::date[])
		       AS u(box, apiary, hive, since, last, hard, shut, odds_day, due, reason, moved, alone, words, openings, first_day, last_day,
		            sealed, remains, mean, variance, rated, ages, after, tried, listed)
		ON CONFLICT (club_id, box_id) DO UPDATE SET
			apiary_id = excluded.apiary_id, hive_id = excluded.hive_id, since = excluded.since,
			last_opened = excluded.last_opened, last_hard = excluded.last_hard, shut_on = excluded.shut_on, odds_day = excluded.odds_day,
			due = excluded.due, reason = excluded.reason, moved = excluded.moved, left_alone = excluded.left_alone,
			left_alone_words = excluded.left_alone_words, left_alone_after = excluded.left_alone_after, openings = excluded.openings, due_first = excluded.due_first, due_last = excluded.due_last,
			seal_since = excluded.seal_since, seal_left = excluded.seal_left, rate_mean = excluded.rate_mean,
			rate_variance = excluded.rate_variance, rated_on = excluded.rated_on, seal_ages = excluded.seal_ages,
			last_tried = excluded.last_tried, listed_on = excluded.listed_on`,
		tx.club, box, apiary, hive, since, last, hard, shut, oddsDay, due, reason, moved, left, words, openings, dueFirst, dueLast,
		sealed, remains, mean, variance, rated, ages, after, tried, listed)
}

// arrayOf writes numbers as PostgreSQL reads an array of them, exactly; none as
// nothing. Arrays of several lengths cannot be one array.
func arrayOf(all []float64) string {
	if len(all) == 0 {
		return ""
	}
	out := []byte{'{'}
	for i, x := range all {
		if i > 0 {
			out = append(out, ',')
		}
		out = strconv.AppendFloat(out, x, 'g', -1, 64)
	}
	return string(append(out, '}'))
}
