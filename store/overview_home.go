package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// Home is what a member's first page begins with, of one moment. However many
// boxes a club has, it is read in the time that its apiaries take.
type Home struct {
	Club    *scheduler.Club // as Apiaries reads it
	Late    []ApiaryLate    // the longest overdue first, after those of the member's own apiaries
	Asked   []AskedVisit    // of which the member may be asked what else was opened, by day
	Recent  []RecentOpening // what the member recorded within the last day
	Guessed []HiveGuessed   // to be asked about

	Subscribed bool // the member has a calendar address that holds
}

// ApiaryLate is an apiary with boxes past their due day that nothing keeps shut,
// as it was planned last.
type ApiaryLate struct {
	ID      int64
	Overdue int            // of them
	Since   scheduler.Date // the earliest of those days
}

// HomeWish says for whom it is read.
type HomeWish struct {
	Member   int64
	Leads    bool           // an organiser: to others, the apiaries that they look after come first
	Since    scheduler.Date // openings and visits of these days matter
	MostLate int            // apiaries with late boxes
}

// Home reads it with what concerns one member.
func (tx *Tx) Home(ctx context.Context, w HomeWish) (*Home, error) {
	h, l := &Home{}, &loading{}
	var b pgx.Batch
	l.queuePlaces(&b)
	queue(&b, &h.Late, `
		SELECT id, overdue, overdue_since AS since FROM apiary a WHERE overdue > 0
		 ORDER BY CASE WHEN $2 OR EXISTS (SELECT FROM apiary_keeper k WHERE k.apiary_id = a.id AND k.member_id = $1) THEN 0 ELSE 1 END, overdue_since, id
		 LIMIT $3`, w.Member, w.Leads, w.MostLate)
	queueAsked(&b, w.Member, w.Since, &h.Asked)
	queueRecent(&b, w.Member, w.Since, &h.Recent)
	queueGuessed(&b, &h.Guessed)
	b.Queue(`SELECT EXISTS (SELECT FROM calendar_link WHERE member_id = $1 AND replaced_at IS NULL AND revoked_at IS NULL)`, w.Member).QueryRow(func(row pgx.Row) error {
		return row.Scan(&h.Subscribed)
	})
	err := tx.tx.SendBatch(ctx, &b).Close()
	if err == nil && l.club.ID == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, tx.wrap(err, "read what member %d sees first", w.Member)
	}
	h.Club = l.assemble()
	return h, nil
}

// HomeWindow says which visits a member's first page may show.
type HomeWindow struct {
	Member      int64
	Today       scheduler.Date
	From, Until scheduler.Date // the days that it shows, both included
	Soon        scheduler.Date // until this day, visits that nobody goes to come first
	Most        int            // of those days: nobody's, then the member's, then the others
	Whole       []int64        // apiaries of which it shows every visit from From on
	FirstAt     []int64        // apiaries of which it says when the next one is
}

// HomeVisits are open visits from a day on.
type HomeVisits struct {
	Visits  []VisitRecord       // by day, without their boxes: those asked for, and the next of the member and of the club
	Lacking []scheduler.Lacking // from today up to scheduler.OverloadDays
	All     int
	Near    int // of all, those within the days shown
	First   map[int64]scheduler.Date
}

// HomeVisits reads the visits that the page may show and counts the others.
func (tx *Tx) HomeVisits(ctx context.Context, w HomeWindow) (*HomeVisits, error) {
	h := &HomeVisits{First: map[int64]scheduler.Date{}}
	var b pgx.Batch
	w.queueCounts(&b, h)
	w.queueShown(&b, h)
	b.Queue(`
		SELECT a.id, v.on_day FROM unnest($2::bigint[]) AS a(id)
		 CROSS JOIN LATERAL (SELECT v.* FROM visit v WHERE v.apiary_id = a.id AND `+openFrom+` ORDER BY v.on_day LIMIT 1) v`,
		w.From, orEmpty(w.FirstAt)).Query(func(rows pgx.Rows) error {
		var apiary int64
		var on scheduler.Date
		_, err := pgx.ForEachRow(rows, []any{&apiary, &on}, func() error { h.First[apiary] = on; return nil })
		return err
	})
	return h, tx.wrap(tx.tx.SendBatch(ctx, &b).Close(), "read the visits that member %d sees first", w.Member)
}

// openFrom are the open visits from day $1 on; visit_open has a club's by day.
const openFrom = `v.status IN ('tentative', 'confirmed') AND v.on_day >= $1`

// withSomebody holds for a visit v that somebody is expected on: looked up for each that is asked about.
const withSomebody = `EXISTS (SELECT FROM visit_member m WHERE m.club_id = v.club_id AND m.visit_id = v.id AND m.said <> 'cannot' OFFSET 0)`

// queueCounts reads how many there are, and those that lack people.
func (w *HomeWindow) queueCounts(b *pgx.Batch, h *HomeVisits) {
	b.Queue(`SELECT count(*), count(*) FILTER (WHERE v.on_day <= $2) FROM visit v WHERE `+openFrom, w.From, w.Until).QueryRow(func(row pgx.Row) error {
		return row.Scan(&h.All, &h.Near)
	})
	b.Queue(`
		SELECT v.apiary_id, v.on_day, w.openings, w.hard, w.stuck
		  FROM (SELECT * FROM visit v WHERE `+openFrom+` AND v.no_time AND v.on_day BETWEEN $2 AND $3 AND NOT `+withSomebody+` OFFSET 0) v`+itsWork+byDay,
		w.From, w.Today, w.Today+scheduler.OverloadDays).Query(func(rows pgx.Rows) error {
		var l scheduler.Lacking
		_, err := pgx.ForEachRow(rows, []any{&l.ApiaryID, &l.On, &l.Openings, &l.Hard, &l.Stuck}, func() error {
			h.Lacking = append(h.Lacking, l)
			return nil
		})
		return err
	})
}

// itsMembersVisits are those of them that member $5 is expected on, looked up one by one.
const itsMembersVisits = `(SELECT club_id, visit_id FROM visit_member WHERE member_id = $5 AND said <> 'cannot') m
				 CROSS JOIN LATERAL (
					SELECT v.id, v.apiary_id, v.on_day FROM visit v WHERE v.club_id = m.club_id AND v.id = m.visit_id AND ` + openFrom + ` OFFSET 0) v`

// queueShown reads those that may be shown. Of those of the days shown there are at
// most so many of each sort; the first of all by day make up for whatever is of two.
func (w *HomeWindow) queueShown(b *pgx.Batch, h *HomeVisits) {
	b.Queue(selectVisits+`
		WHERE v.id = ANY(ARRAY(
			(SELECT id FROM (
				(SELECT v.id, v.apiary_id, v.on_day, 0 AS sort
				   FROM (SELECT v.* FROM visit v WHERE `+openFrom+` AND v.on_day <= $3`+byDay+` OFFSET 0) v WHERE NOT `+withSomebody+byDay+` LIMIT $4)
				UNION ALL
				(SELECT v.id, v.apiary_id, v.on_day, 1 FROM `+itsMembersVisits+` WHERE v.on_day <= $2`+byDay+` LIMIT $4)
				UNION ALL
				(SELECT v.id, v.apiary_id, v.on_day, 2 FROM visit v WHERE `+openFrom+` AND v.on_day <= $2`+byDay+` LIMIT $4)) v
			  GROUP BY v.id, v.apiary_id, v.on_day ORDER BY min(v.sort), v.on_day, v.apiary_id, v.id LIMIT $4)
			UNION ALL
			(SELECT v.id FROM `+itsMembersVisits+byDay+` LIMIT 1)
			UNION ALL
			(SELECT v.id FROM (SELECT v.* FROM visit v WHERE `+openFrom+byDay+` OFFSET 0) v WHERE `+withSomebody+byDay+` LIMIT 1)
			UNION ALL
			(SELECT v.id FROM unnest($6::bigint[]) AS whole(id)
			  CROSS JOIN LATERAL (SELECT v.* FROM visit v WHERE v.apiary_id = whole.id AND `+openFrom+` OFFSET 0) v)))`+byDay,
		w.From, w.Until, min(w.Soon, w.Until), w.Most, w.Member, orEmpty(w.Whole)).Query(func(rows pgx.Rows) (err error) {
		h.Visits, err = appendVisits(make([]VisitRecord, 0, 3*w.Most), rows)
		return err
	})
}

// queueVisitLists reads what visits open, in short, by their ids. Which box must be opened
// soonest is as scheduler.ExplainVisit has it; those of each visit are looked at in that
// order until one stands there.
func queueVisitLists(b *pgx.Batch, into map[int64]scheduler.VisitList, visits []VisitRecord) {
	b.Queue(`
		SELECT v.id, n.openings, n.hard, n.stuck, n.worst, coalesce(f.box_id, 0), f.due, coalesce(f.reason, ''), coalesce(f.odds, 0), coalesce(f.stuck, 0),
		       coalesce(f.hive, ''), coalesce(f.box, '')
		  FROM visit v
		 CROSS JOIN LATERAL (
			SELECT count(*) AS openings, coalesce(sum(x.odds - x.stuck), 0) AS hard, coalesce(sum(x.stuck), 0) AS stuck, coalesce(max(x.odds), 0) AS worst
			  FROM visit_box x WHERE x.club_id = v.club_id AND x.visit_id = v.id) n
		  LEFT JOIN LATERAL (
			SELECT x.box_id, x.due, x.reason, x.odds, x.stuck, h.name AS hive, b.name AS box
			  FROM (SELECT * FROM visit_box x WHERE x.club_id = v.club_id AND x.visit_id = v.id
			         ORDER BY CASE x.reason WHEN 'above' THEN 2 WHEN '' THEN 1 ELSE 0 END,
			                  CASE WHEN x.reason <> 'above' THEN x.due END NULLS FIRST, x.n OFFSET 0) x
			 CROSS JOIN LATERAL (SELECT name, hive_id FROM box b WHERE b.club_id = x.club_id AND b.id = x.box_id OFFSET 0) b
			 CROSS JOIN LATERAL (
				SELECT name FROM hive h WHERE h.club_id = x.club_id AND h.id = b.hive_id AND h.apiary_id = v.apiary_id OFFSET 0) h
			 LIMIT 1) f ON true
		 WHERE v.id = ANY($1)`, visitIDs(visits)).Query(func(rows pgx.Rows) error {
		var id int64
		var l scheduler.VisitList
		f := &l.First
		_, err := pgx.ForEachRow(rows, []any{&id, &l.Openings, &l.Hard, &l.Stuck, &l.Worst, &f.BoxID, &f.Due, &f.Reason, &f.Odds, &f.Stuck, &l.FirstHive, &l.FirstBox},
			func() error { into[id] = l; return nil })
		return err
	})
}

// ApiaryCounts counts what stands at each apiary, in the order of their ids.
func (tx *Tx) ApiaryCounts(ctx context.Context) ([]ApiaryCount, error) {
	counts, err := list[ApiaryCount](ctx, tx, selectApiaryCounts)
	return counts, tx.wrap(err, "count what stands at the apiaries")
}
