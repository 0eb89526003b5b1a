package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// Apiaries is the club with its members, rules, kinds and apiaries, and
// without a hive: enough for lists, however many boxes there are.
func (tx *Tx) Apiaries(ctx context.Context) (*scheduler.Club, error) {
	l := &loading{}
	var b pgx.Batch
	l.queuePlaces(&b)
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, tx.wrap(err, "read the apiaries")
	}
	if l.club.ID == 0 {
		return nil, tx.wrap(ErrNotFound, "read the apiaries")
	}
	return l.assemble(), nil
}

// queuePlaces reads the club and its apiaries, without a hive.
func (l *loading) queuePlaces(b *pgx.Batch) {
	l.queueClub(b)
	b.Queue(`
		SELECT id, name, latitude, longitude, elevation_m, timezone, travel_hours, season_shift_days, weekdays, access_notes
		  FROM apiary ORDER BY id`).Query(func(rows pgx.Rows) (err error) {
		l.club.Apiaries, err = pgx.CollectRows(rows, scanApiary)
		return err
	})
	queue(b, &l.keepers, `
		SELECT apiary_id, member_id FROM apiary_keeper WHERE apiary_id = `+anyApiary+` ORDER BY apiary_id, position`)
	queue(b, &l.periods, `
		SELECT kind, 0::bigint AS hive_id, coalesce(apiary_id, 0) AS apiary_id, coalesce(member_id, 0) AS member_id,
		       from_day, until_day, reason
		  FROM leave_alone WHERE apiary_id = `+anyApiary+` OR member_id = ANY(ARRAY(SELECT id FROM member))
		 ORDER BY from_day, id`)
}

// Stacks is the club with some of its apiaries, their hives and boxes, and
// without openings and visits.
func (tx *Tx) Stacks(ctx context.Context, apiaries []int64) (*scheduler.Club, error) {
	if apiaries == nil {
		apiaries = []int64{}
	}
	l, err := tx.load(ctx, scope{apiaries: apiaries, since: scheduler.MaxDate})
	if err != nil {
		return nil, err
	}
	return l.assemble(), nil
}

// ApiaryCount is what stands at one apiary and how much of it is late.
type ApiaryCount struct {
	ID      int64
	Hives   int
	Boxes   int
	Overdue int            // boxes past their due day that nothing keeps shut
	Since   scheduler.Date // the earliest of those days; zero for none
	Worst   float64        // the greatest odds of a hard opening today
}

// ApiaryCounts counts hives and boxes by apiary, in the order of their ids. It
// goes from each box to its state by the key, so that it takes no longer while
// Postgres still believes the tables small, as after an import.
func (tx *Tx) ApiaryCounts(ctx context.Context) ([]ApiaryCount, error) {
	out, err := list[ApiaryCount](ctx, tx, `
		WITH h AS MATERIALIZED (
			SELECT apiary_id, count(*) AS hives FROM hive WHERE apiary_id = `+anyApiary+` AND retired_on IS NULL GROUP BY 1),
		d AS MATERIALIZED (
			SELECT d.apiary_id, count(*) AS boxes,
			       count(*) FILTER (WHERE s.overdue AND d.left_alone = '') AS overdue,
			       min(d.due) FILTER (WHERE s.overdue AND d.left_alone = '') AS since, max(s.odds) AS worst
			  FROM due d
			 CROSS JOIN LATERAL (SELECT overdue, odds FROM box_state WHERE club_id = d.club_id AND box_id = d.box_id OFFSET 0) s
			 WHERE d.apiary_id = `+anyApiary+` GROUP BY 1)
		SELECT a.id, coalesce(h.hives, 0) AS hives, coalesce(d.boxes, 0) AS boxes, coalesce(d.overdue, 0) AS overdue,
		       d.since, coalesce(d.worst, 0) AS worst
		  FROM apiary a LEFT JOIN h ON h.apiary_id = a.id LEFT JOIN d ON d.apiary_id = a.id
		 ORDER BY a.id`)
	return out, tx.wrap(err, "count the boxes of the apiaries")
}

// OpenedOn lists the days since one on which boxes were opened that stand at
// an apiary now, by apiary.
func (tx *Tx) OpenedOn(ctx context.Context, apiaries []int64, since scheduler.Date) (map[int64][]scheduler.Date, error) {
	rows, err := tx.tx.Query(ctx, `
		SELECT DISTINCT h.apiary_id, o.on_day
		  FROM hive h
		 CROSS JOIN LATERAL (SELECT id FROM box WHERE club_id = h.club_id AND hive_id = h.id OFFSET 0) b
		 CROSS JOIN LATERAL (
			SELECT on_day FROM opening o WHERE o.club_id = h.club_id AND o.box_id = b.id AND o.on_day >= $2 AND `+counts(boxesAt)+` OFFSET 0) o
		 WHERE h.apiary_id = ANY($1)
		 ORDER BY 1, 2`, apiaries, since)
	if err != nil {
		return nil, tx.wrap(err, "list the days of openings")
	}
	out := map[int64][]scheduler.Date{}
	var apiary int64
	var on scheduler.Date
	_, err = pgx.ForEachRow(rows, []any{&apiary, &on}, func() error {
		out[apiary] = append(out[apiary], on)
		return nil
	})
	return out, tx.wrap(err, "list the days of openings")
}

// OpenVisits lists the visits to come from a day on, by day, without their
// boxes.
func (tx *Tx) OpenVisits(ctx context.Context, from scheduler.Date) ([]VisitRecord, error) {
	rows, err := tx.tx.Query(ctx, selectVisits+`
		WHERE v.status IN ('tentative', 'confirmed') AND v.on_day >= $1`+byDay, from)
	if err != nil {
		return nil, tx.wrap(err, "list the visits to come")
	}
	out, err := pgx.CollectRows(rows, scanVisit)
	return out, tx.wrap(err, "list the visits to come")
}

// FillBoxes reads the boxes of visits into them.
func (tx *Tx) FillBoxes(ctx context.Context, visits []VisitRecord) error {
	if len(visits) == 0 {
		return nil
	}
	ids := make([]int64, len(visits))
	for i := range visits {
		ids[i] = visits[i].ID
	}
	boxes, err := list[visitBoxRow](ctx, tx, selectVisitBoxes+`WHERE visit_id = ANY($1) ORDER BY visit_id, n`, ids)
	addVisitBoxes(visits, boxes)
	return tx.wrap(err, "read the boxes of %d visits", len(visits))
}
