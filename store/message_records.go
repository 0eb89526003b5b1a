package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
	"pryday/scheduler/owed"
)

// OwedRecords reads what owed.Decide asks for beyond a Turn's club, and no
// more: into the club the visits that may still matter, with boxes where there
// may be something to tell of them, and of the openings those that tell whether
// somebody was there when a visit was done; and as the plan what SavedPlan has
// of open visits and of overdue boxes.
func (tx *Tx) OwedRecords(ctx context.Context, t *Turn, now time.Time) (*scheduler.Plan, error) {
	c, today := t.Club, t.Club.Today(now)
	plan := &scheduler.Plan{Today: today}
	var visits []scheduler.Visit
	var b pgx.Batch
	first, last := owed.Reach(c, now, t.Before.Since)
	queueOwedVisits(&b, &visits, scheduler.DateOf(now.UTC())-keysKept, first, last)
	queueOverdue(&b, &plan.Boxes)
	queueRecorded(&b, c, today-1)
	plan.Unwritten = map[int64]scheduler.Unwritten{}
	queueUnwritten(&b, today-scheduler.Date(c.Rules.AnswerDays), func(v scheduler.Visit, u scheduler.Unwritten) { plan.Unwritten[v.ID] = u })
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, tx.wrap(err, "read what is owed")
	}
	c.Visits = visits
	for _, v := range visits {
		if v.Status.Open() && v.On >= today {
			plan.Visits = append(plan.Visits, v)
		}
	}
	return plan, nil
}

// heardOf are the visits of which somebody was told a day from $1 on.
const heardOf = `ANY(ARRAY(SELECT visit_id FROM told WHERE on_day >= $1 AND visit_id IS NOT NULL))`

// queueOwedVisits reads the visits since a day, and older ones that are not
// over yet, that somebody heard of, or that were left without a word since
// somebody last said one about the apiary. Boxes come with those from the first
// to the last day, and with those that are not over or were heard of.
func queueOwedVisits(b *pgx.Batch, into *[]scheduler.Visit, since, first, last scheduler.Date) {
	b.Queue(`
		WITH word AS MATERIALIZED (
			SELECT a.club_id, a.id AS apiary_id, coalesce((
				SELECT w.on_day FROM visit w
				 WHERE w.club_id = a.club_id AND w.apiary_id = a.id
				   AND (w.status = 'done' OR EXISTS (
						SELECT FROM visit_member m WHERE m.club_id = w.club_id AND m.visit_id = w.id AND m.said <> ''))
				 ORDER BY w.on_day DESC LIMIT 1), '-infinity') AS on_day
			  FROM apiary a)
		SELECT v.id, v.uid, v.apiary_id, v.on_day, v.status, v.first_seen, v.off_until, v.no_time, m.ids, m.said,
		       CASE WHEN v.on_day BETWEEN $2 AND $3 OR v.status = 'unanswered' OR v.off_until IS NOT NULL OR v.id = `+heardOf+`
		            THEN ARRAY(SELECT x.box_id FROM visit_box x WHERE x.club_id = v.club_id AND x.visit_id = v.id ORDER BY x.n) END
		  FROM word
		  JOIN visit v ON v.club_id = word.club_id AND v.apiary_id = word.apiary_id
		 CROSS JOIN LATERAL (
			SELECT array_agg(m.member_id ORDER BY m.n) AS ids, array_agg(m.said ORDER BY m.n) AS said
			  FROM visit_member m WHERE m.club_id = v.club_id AND m.visit_id = v.id) m
		 WHERE v.on_day >= least($1, word.on_day) OR v.status IN ('tentative', 'confirmed', 'unanswered')
		    OR v.off_until IS NOT NULL OR v.id = `+heardOf+byDay, since, first, last).
		Query(func(rows pgx.Rows) (err error) {
			*into, err = pgx.CollectRows(rows, scanOwedVisit)
			return err
		})
}

func scanOwedVisit(row pgx.CollectableRow) (v scheduler.Visit, err error) {
	var members, boxes []int64
	var said []string
	err = row.Scan(&v.ID, &v.UID, &v.ApiaryID, &v.On, &v.Status, &v.FirstSeen, &v.OffUntil, &v.NoTime, &members, &said, &boxes)
	for i, m := range members {
		switch said[i] {
		case "cannot":
			v.Refused = append(v.Refused, m)
			continue
		case "going":
			v.Taken = append(v.Taken, m)
		}
		v.Who = append(v.Who, m)
	}
	for _, box := range boxes {
		v.Boxes = append(v.Boxes, scheduler.VisitBox{BoxID: box})
	}
	return v, err
}

// queueOverdue reads the boxes past their due day that nothing keeps shut, as
// boxStates orders them: on the day that each apiary was planned for last.
func queueOverdue(b *pgx.Batch, into *[]scheduler.BoxState) {
	b.Queue(`
		SELECT d.box_id, d.apiary_id, d.hive_id, d.due
		  FROM due d
		  JOIN apiary a ON a.club_id = d.club_id AND a.id = d.apiary_id
		 CROSS JOIN LATERAL (SELECT position FROM box WHERE club_id = d.club_id AND id = d.box_id OFFSET 0) x
		 WHERE d.apiary_id = ` + anyApiary + ` AND d.left_alone = '' AND d.left_alone_words = ''
		   AND d.due < a.planned_on AND d.reason <> 'guess'
		 ORDER BY d.apiary_id, d.hive_id, x.position`).Query(func(rows pgx.Rows) (err error) {
		*into, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (s scheduler.BoxState, err error) {
			s.Overdue = true
			err = row.Scan(&s.BoxID, &s.ApiaryID, &s.HiveID, &s.Due)
			return s, err
		})
		return err
	})
}

// queueRecorded reads into the hives of c who made or recorded an opening at the apiary
// of a visit on the day on which it was done, if somebody was told of a day
// for it from one on.
func queueRecorded(b *pgx.Batch, c *scheduler.Club, from scheduler.Date) {
	b.Queue(`
		SELECT DISTINCT h.apiary_id, h.id, x.id, o.on_day, coalesce(o.by_member, 0), o.somebody_else, coalesce(o.opened_by_member, 0)
		  FROM visit v
		  JOIN hive h ON h.club_id = v.club_id AND h.apiary_id = v.apiary_id
		 CROSS JOIN LATERAL (SELECT id FROM box WHERE club_id = h.club_id AND hive_id = h.id OFFSET 0) x
		 CROSS JOIN LATERAL (
			SELECT on_day, by_member, somebody_else, opened_by_member FROM opening
			 WHERE club_id = h.club_id AND box_id = x.id AND on_day = v.on_day AND coalesce(by_member, opened_by_member) IS NOT NULL OFFSET 0) o
		 WHERE v.id = `+heardOf+` AND v.status = 'done'
		 ORDER BY h.apiary_id, h.id, x.id`, from).Query(func(rows pgx.Rows) error {
		apiaries := make(map[int64]*scheduler.Apiary, len(c.Apiaries))
		for i := range c.Apiaries {
			apiaries[c.Apiaries[i].ID] = &c.Apiaries[i]
		}
		var apiary, hive, box int64
		var o scheduler.Opening
		var another bool
		var opener int64
		_, err := pgx.ForEachRow(rows, []any{&apiary, &hive, &box, &o.On, &o.By, &another, &opener}, func() error {
			o.Opener = nil
			if another {
				o.Opener = &scheduler.Opener{Member: opener}
			}
			if a := apiaries[apiary]; a != nil {
				a.Hives = append(a.Hives, scheduler.Hive{ID: hive, Boxes: []scheduler.Box{{ID: box, Openings: []scheduler.Opening{o}}}})
			}
			return nil
		})
		return err
	})
}
