package store

import (
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// promiseRow is a visit as it takes of people's time.
type promiseRow struct {
	scheduler.Promise
	kept   bool // only a person moves it
	status scheduler.VisitStatus
}

// itsWork joins what a visit v is expected to be at its apiary: see scheduler.Work.
const itsWork = `
	 CROSS JOIN LATERAL (
		SELECT count(*) AS openings, coalesce(sum(b.odds - b.stuck), 0) AS hard, coalesce(sum(b.stuck), 0) AS stuck
		  FROM visit_box b WHERE b.club_id = v.club_id AND b.visit_id = v.id) w`

// selectPromises reads visits that take somebody's time. That of an apiary is
// worked out from what stands on it, whoever has planned it when.
const selectPromises = `
	SELECT v.apiary_id, a.latitude, a.longitude, a.trip, a.travel_hours, v.on_day, v.status,
	       v.pinned OR EXISTS (SELECT FROM visit_not_box n WHERE n.club_id = v.club_id AND n.visit_id = v.id),
	       w.openings, w.hard, w.stuck, m.who, m.taken
	  FROM visit v
	  JOIN apiary a ON a.club_id = v.club_id AND a.id = v.apiary_id` + itsWork + `
	 CROSS JOIN LATERAL (
		SELECT array_agg(m.member_id ORDER BY m.n) AS who, array_agg(m.member_id ORDER BY m.n) FILTER (WHERE m.said = 'going') AS taken
		  FROM visit_member m WHERE m.club_id = v.club_id AND m.visit_id = v.id AND m.said <> 'cannot') m
	 WHERE m.who IS NOT NULL AND v.status IN ('tentative', 'confirmed', 'unanswered', 'done')`

func scanPromise(today scheduler.Date) func(pgx.CollectableRow) (promiseRow, error) {
	return func(row pgx.CollectableRow) (r promiseRow, err error) {
		err = row.Scan(&r.ApiaryID, &r.Latitude, &r.Longitude, &r.Trip, &r.TravelHours, &r.On, &r.status, &r.kept, &r.Openings, &r.Hard, &r.Stuck, flat(&r.Who), flat(&r.Taken))
		r.Over = !r.status.Open() || r.On < today
		r.kept = r.kept || len(r.Taken) > 0
		return r, err
	}
}

// Those whose promises elsewhere count at some apiaries, $1: for planning those
// who look after them, and for what is proposed to people also whoever said that
// they go there.
const (
	keepersThere = `SELECT member_id FROM apiary_keeper WHERE apiary_id = ANY($1)`
	goersThere   = keepersThere + ` UNION
		SELECT m.member_id FROM visit_member m JOIN visit v ON v.club_id = m.club_id AND v.id = m.visit_id
		 WHERE v.apiary_id = ANY($1) AND v.status IN ('tentative', 'confirmed') AND m.said = 'going'`
)

// queueElsewhere reads what some members have promised at other apiaries than
// these, from a week before today on.
func (l *loading) queueElsewhere(b *pgx.Batch, members string, apiaries []int64, today scheduler.Date) {
	b.Queue(selectPromises+`
		AND v.on_day > $2 AND v.apiary_id <> ALL($1)
		AND v.id = ANY(ARRAY(SELECT visit_id FROM visit_member WHERE member_id = ANY(ARRAY(`+members+`))))`,
		apiaries, today-7).Query(func(rows pgx.Rows) error {
		found, err := pgx.CollectRows(rows, scanPromise(today))
		for i := range found {
			l.club.Elsewhere = append(l.club.Elsewhere, found[i].Promise)
		}
		return err
	})
}

// loadOf reads what the members of the club have promised, for planning some of
// its apiaries one after the other: all at the others, and at those what stands
// whatever is planned there or is counted on. It tells by which rules.
func (tx *Tx) loadOf(ctx context.Context, planned []int64, today scheduler.Date) (*scheduler.Load, rulesThen, error) {
	l := &loading{}
	var found []promiseRow
	var b pgx.Batch
	l.queueClub(&b)
	b.Queue(selectPromises+` AND v.on_day > $1 AND v.apiary_id = `+anyApiary+` ORDER BY v.id`, today-7).Query(func(rows pgx.Rows) (err error) {
		found, err = pgx.CollectRows(rows, scanPromise(today))
		return err
	})
	odds := map[int64]float64{} // of the box that was likeliest to be hard when it was worked out last
	b.Queue(`SELECT id, worst_odds FROM apiary WHERE id = ANY($1) AND worst_odds IS NOT NULL`, planned).Query(func(rows pgx.Rows) error {
		var apiary int64
		var worst float64
		_, err := pgx.ForEachRow(rows, []any{&apiary, &worst}, func() error {
			odds[apiary] = worst
			return nil
		})
		return err
	})
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, rulesThen{}, tx.wrap(err, "read what the members have promised")
	}
	turn := make(map[int64]int, len(planned))
	for i, id := range planned {
		turn[id] = i
	}
	load := scheduler.NewLoad(&l.club, today)
	firm, tentative := make([][]*scheduler.Promise, len(planned)), make([][]*scheduler.Promise, len(planned))
	for i := range found {
		r := &found[i]
		switch n, later := turn[r.ApiaryID]; {
		case !later || r.kept && !r.Over:
			load.Add(&r.Promise)
		case r.Over: // it comes with the apiary's own visits
		case r.status == scheduler.Confirmed:
			firm[n] = append(firm[n], &r.Promise)
		default:
			tentative[n] = append(tentative[n], &r.Promise)
		}
	}
	for _, p := range slices.Concat(firm...) {
		load.AddFirm(p)
	}
	for _, p := range slices.Concat(tentative...) {
		load.AddTentative(p, odds[p.ApiaryID])
	}
	return load, rulesThen{l.rules, l.club.Rules}, nil
}
