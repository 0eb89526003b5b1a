package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// CalendarVisit is a visit as a page of a calendar draws it, without its boxes.
type CalendarVisit struct {
	scheduler.Visit
	Work scheduler.Work // that it is expected to be
}

// Calendar is what such a page is made from, of one moment.
type Calendar struct {
	Club   *scheduler.Club // as Apiaries reads it
	Visits []CalendarVisit // by day, apiary order within a day
	After  scheduler.Date  // of the next planned visit behind those days; 0 for none
}

// Calendar reads a club's apiaries and its visits from one day to another, both
// included: all states but those that planning took out, which nobody called off.
func (tx *Tx) Calendar(ctx context.Context, from, until scheduler.Date) (*Calendar, error) {
	c, l := &Calendar{}, &loading{}
	var b pgx.Batch
	l.queuePlaces(&b)
	b.Queue(`
		SELECT v.id, v.uid, v.apiary_id, v.on_day, v.status, v.pinned, v.no_time, m.who, m.taken, w.openings, w.hard, w.stuck
		  FROM visit v`+itsWork+`
		 CROSS JOIN LATERAL (
			SELECT array_agg(m.member_id ORDER BY m.n) AS who, array_agg(m.member_id ORDER BY m.n) FILTER (WHERE m.said = 'going') AS taken
			  FROM visit_member m WHERE m.club_id = v.club_id AND m.visit_id = v.id AND m.said <> 'cannot') m
		 WHERE v.apiary_id = `+anyApiary+` AND v.on_day BETWEEN $1 AND $2 AND (v.status <> 'cancelled' OR v.off_until IS NOT NULL)`+byDay,
		from, until).Query(func(rows pgx.Rows) (err error) {
		c.Visits, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (v CalendarVisit, err error) {
			err = row.Scan(&v.ID, &v.UID, &v.ApiaryID, &v.On, &v.Status, &v.Pinned, &v.NoTime, &v.Who, &v.Taken, &v.Work.Openings, &v.Work.Hard, &v.Work.Stuck)
			return v, err
		})
		return err
	})
	b.Queue(`SELECT min(on_day) FROM visit WHERE apiary_id = `+anyApiary+` AND status IN ('tentative', 'confirmed') AND on_day > $1`, until).QueryRow(func(row pgx.Row) error {
		var after *scheduler.Date
		err := row.Scan(&after)
		if after != nil {
			c.After = *after
		}
		return err
	})
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, tx.wrap(err, "read the visits from %s to %s", from, until)
	}
	if l.club.ID == 0 {
		return nil, tx.wrap(ErrNotFound, "read the visits from %s to %s", from, until)
	}
	c.Club = l.assemble()
	return c, nil
}
