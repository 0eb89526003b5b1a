package store

import (
	"context"
	"slices"

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
	b.Queue(`SELECT count(*) FROM apiary`).QueryRow(func(row pgx.Row) error {
		var n int
		err := row.Scan(&n)
		l.club.Apiaries = make([]scheduler.Apiary, 0, n)
		return err
	})
	b.Queue(selectApiaries + `ORDER BY id`).Query(func(rows pgx.Rows) (err error) {
		l.club.Apiaries, err = collectApiaries(l.club.Apiaries, rows)
		return err
	})
	l.queueKeepers(b, anyApiary)
	queue(b, &l.periods, `
		SELECT kind, 0::bigint AS hive_id, coalesce(apiary_id, 0) AS apiary_id, coalesce(member_id, 0) AS member_id,
		       from_day, until_day, reason, after_what
		  FROM leave_alone WHERE apiary_id = `+anyApiary+` OR member_id = ANY(ARRAY(SELECT id FROM member))
		 ORDER BY from_day, id`)
}

// Overview is what pages about a whole club are made from, of one moment.
type Overview struct {
	Club   *scheduler.Club // as Apiaries reads it
	Counts []ApiaryCount
	Visits []VisitRecord // to come from a day on, by day, without their boxes
}

// Overview reads a club's apiaries, what stands at each, and the visits to come
// from a day on.
func (tx *Tx) Overview(ctx context.Context, from scheduler.Date) (*Overview, error) {
	o, l := &Overview{}, &loading{}
	var b pgx.Batch
	l.queuePlaces(&b)
	queue(&b, &o.Counts, selectApiaryCounts)
	queueOpenVisits(&b, &o.Visits, from)
	err := tx.tx.SendBatch(ctx, &b).Close()
	if err == nil && l.club.ID == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, tx.wrap(err, "read the overview")
	}
	o.Club = l.assemble()
	return o, nil
}

// Stacks reads the boxes of visits into them, and of a club the apiaries that
// they go to, their hives and boxes, without openings and visits; and of other
// apiaries the days since one on which boxes were opened that stand there now.
func (tx *Tx) Stacks(ctx context.Context, of *scheduler.Club, visits []VisitRecord, others []int64, since scheduler.Date) (
	*scheduler.Club, map[int64][]scheduler.Date, error,
) {
	return tx.stacks(ctx, of, visits, others, since)
}

// HomeStacks is Stacks of some visits, and of those listed says what they open in short.
func (tx *Tx) HomeStacks(ctx context.Context, of *scheduler.Club, visits, listed []VisitRecord, others []int64, since scheduler.Date) (
	*scheduler.Club, map[int64][]scheduler.Date, map[int64]scheduler.VisitList, error,
) {
	lists := make(map[int64]scheduler.VisitList, len(listed))
	c, opened, err := tx.stacks(ctx, of, visits, others, since, func(b *pgx.Batch) { queueVisitLists(b, lists, listed) })
	return c, opened, lists, err
}

// stacks reads Stacks in one round trip, after what first queues.
func (tx *Tx) stacks(ctx context.Context, of *scheduler.Club, visits []VisitRecord, others []int64, since scheduler.Date, first ...func(*pgx.Batch)) (
	*scheduler.Club, map[int64][]scheduler.Date, error,
) {
	sc := scope{apiaries: []int64{}}
	for i := range visits {
		sc.apiaries = append(sc.apiaries, visits[i].ApiaryID)
	}
	l := &loading{club: scheduler.Club{ID: of.ID, Name: of.Name, Rules: of.Rules, Kinds: of.Kinds, Recalibration: of.Recalibration, Members: slices.Clone(of.Members)}}
	for i := range l.club.Members {
		l.club.Members[i].NoGo = nil // those are read with the apiaries
	}
	var b pgx.Batch
	for _, queue := range first {
		queue(&b)
	}
	queueBoxesOf(&b, &visits, `ANY($1)`, visitIDs(visits))
	l.queueApiaries(&b, sc)
	l.queueBoxes(&b, sc)
	opened := queueOpenedOn(&b, others, since)
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, nil, tx.wrap(err, "read the boxes of %d visits", len(visits))
	}
	return l.assemble(), opened, nil
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

// selectApiaryCounts counts hives and boxes by apiary, in the order of their
// ids. What is late and likely was counted when they were planned.
const selectApiaryCounts = `
		WITH h AS MATERIALIZED (
			SELECT apiary_id, count(*) AS hives FROM hive WHERE apiary_id = ` + anyApiary + ` AND retired_on IS NULL GROUP BY 1),
		d AS MATERIALIZED (
			SELECT apiary_id, count(*) AS boxes FROM due WHERE apiary_id = ` + anyApiary + ` GROUP BY 1)
		SELECT a.id, coalesce(h.hives, 0) AS hives, coalesce(d.boxes, 0) AS boxes, a.overdue,
		       a.overdue_since AS since, coalesce(a.worst_odds, 0) AS worst
		  FROM apiary a LEFT JOIN h ON h.apiary_id = a.id LEFT JOIN d ON d.apiary_id = a.id
		 ORDER BY a.id`

// queueOpenedOn reads the days since one on which boxes were opened that stand
// at an apiary now, by apiary.
func queueOpenedOn(b *pgx.Batch, apiaries []int64, since scheduler.Date) map[int64][]scheduler.Date {
	out := map[int64][]scheduler.Date{}
	b.Queue(`
		SELECT DISTINCT h.apiary_id, o.on_day
		  FROM hive h
		 CROSS JOIN LATERAL (SELECT id FROM box WHERE club_id = h.club_id AND hive_id = h.id OFFSET 0) b
		 CROSS JOIN LATERAL (
			SELECT on_day FROM opening o WHERE o.club_id = h.club_id AND o.box_id = b.id AND o.on_day >= $2 AND `+counts(boxesAt)+` OFFSET 0) o
		 WHERE h.apiary_id = ANY($1)
		 ORDER BY 1, 2`, apiaries, since).Query(func(rows pgx.Rows) error {
		var apiary int64
		var on scheduler.Date
		_, err := pgx.ForEachRow(rows, []any{&apiary, &on}, func() error {
			out[apiary] = append(out[apiary], on)
			return nil
		})
		return err
	})
	return out
}

// queueOpenVisits reads the visits to come from a day on, by day, without their
// boxes.
func queueOpenVisits(b *pgx.Batch, into *[]VisitRecord, from scheduler.Date) {
	b.Queue(selectVisits+`
		WHERE v.status IN ('tentative', 'confirmed') AND v.on_day >= $1`+byDay, from).Query(func(rows pgx.Rows) (err error) {
		*into, err = appendVisits([]VisitRecord{}, rows)
		return err
	})
}
