package store

import (
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// insertNotOpened says of boxes $2 of visit $1 of club $3 that they were not
// opened; of those of which it was said already nothing changes.
const insertNotOpened = `
	INSERT INTO visit_not_opened (club_id, visit_id, box_id)
	SELECT $3::bigint, $1::bigint, u.box_id FROM unnest($2::bigint[]) AS u(box_id)
	ON CONFLICT DO NOTHING`

// SayNotOpened notes that boxes of a done visit were not opened on it, and
// replans: they are not asked about any more. It returns ErrVisitChanged where
// the visit is not done, and ErrNotFound for a box that it had not.
func (tx *Tx) SayNotOpened(ctx context.Context, id int64, boxes []int64, today scheduler.Date) (*Replanned, error) {
	var found []VisitRecord
	lk, err := tx.lock(ctx, apiaryOfVisit, []any{id}, func(b *pgx.Batch) { queueVisits(b, &found, `v.id = $1`, id) })
	if err == nil && len(found) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, tx.wrap(err, "read visit %d", id)
	}
	v := &found[0]
	if v.Status != scheduler.Done {
		return nil, tx.wrap(ErrVisitChanged, "say what was not opened on visit %d, which is %s,", id, v.Status)
	}
	for _, box := range boxes {
		if !v.Lists(box) {
			return nil, tx.wrap(ErrNotFound, "box %d of visit %d", box, id)
		}
	}
	if _, err := tx.tx.Exec(ctx, insertNotOpened, id, orEmpty(boxes), tx.club); err != nil {
		return nil, tx.wrap(err, "say what was not opened on visit %d", id)
	}
	tx.feedChangedAt(lk.all)
	return tx.replan(ctx, lk, today, 0)
}

// queueUnwritten reads of visits that are done since a day the boxes of which
// nobody wrote down or said whether they were opened, as scheduler.UnwrittenOf
// has it; a test holds the two together. The index visit_done leads to them.
func queueUnwritten(b *pgx.Batch, since scheduler.Date, each func(scheduler.Visit, scheduler.Unwritten)) {
	b.Queue(`
		WITH done AS MATERIALIZED (
			SELECT v.club_id, v.id, v.uid, v.apiary_id, v.on_day FROM visit v
			 WHERE v.status = 'done' AND v.on_day >= $1)
		SELECT v.id, v.uid, v.apiary_id, v.on_day, array_agg(vb.box_id ORDER BY vb.n), w.there, coalesce(w.on_day, v.on_day)
		  FROM done v
		  JOIN visit_box vb ON vb.club_id = v.club_id AND vb.visit_id = v.id
		  JOIN box x ON x.club_id = v.club_id AND x.id = vb.box_id
		  JOIN hive h ON h.club_id = x.club_id AND h.id = x.hive_id AND h.apiary_id = v.apiary_id
		 CROSS JOIN LATERAL (
			SELECT coalesce(nullif(array_agg(DISTINCT o.opener ORDER BY o.opener) FILTER (WHERE o.opener IS NOT NULL), '{}'),
			                nullif(ARRAY(SELECT m.member_id FROM visit_member m
			                              WHERE m.club_id = v.club_id AND m.visit_id = v.id AND m.said = 'going' ORDER BY m.n), '{}'),
			                ARRAY(SELECT m.member_id FROM visit_member m
			                       WHERE m.club_id = v.club_id AND m.visit_id = v.id AND m.said <> 'cannot' ORDER BY m.n)) AS there,
			       max(o.on_day) AS on_day
			  FROM visit_box b
			  JOIN box here ON here.club_id = b.club_id AND here.id = b.box_id
			  JOIN hive at ON at.club_id = here.club_id AND at.id = here.hive_id AND at.apiary_id = v.apiary_id
			 CROSS JOIN LATERAL (
				SELECT o.on_day, `+openedBy+` AS opener FROM opening o
				 WHERE o.club_id = b.club_id AND o.box_id = b.box_id AND o.on_day BETWEEN v.on_day - 2 AND v.on_day + 2 AND `+counts(`b.box_id`)+`
				 ORDER BY `+decidesFirst+` LIMIT 1) o
			 WHERE b.club_id = v.club_id AND b.visit_id = v.id) w
		 WHERE NOT EXISTS (SELECT FROM visit_not_opened n WHERE n.club_id = v.club_id AND n.visit_id = v.id AND n.box_id = vb.box_id)
		   AND NOT EXISTS (
			SELECT FROM box y
			 CROSS JOIN LATERAL (
				SELECT o.left_shut FROM opening o
				 WHERE o.club_id = y.club_id AND o.box_id = y.id AND o.on_day >= v.on_day - 2 AND `+counts(`y.id`)+`
				 ORDER BY `+decidesFirst+` LIMIT 1) o
			 WHERE y.club_id = x.club_id AND y.hive_id = x.hive_id AND (y.id = x.id OR y.position < x.position AND NOT o.left_shut))
		 GROUP BY v.id, v.uid, v.apiary_id, v.on_day, w.there, w.on_day ORDER BY v.on_day, v.id`, since).Query(func(rows pgx.Rows) error {
		v := scheduler.Visit{Status: scheduler.Done}
		var u scheduler.Unwritten
		_, err := pgx.ForEachRow(rows, []any{&v.ID, &v.UID, &v.ApiaryID, &v.On, &u.Boxes, &u.There, &u.On}, func() error {
			each(v, scheduler.Unwritten{Boxes: slices.Clone(u.Boxes), There: orNil(slices.Clone(u.There)), On: u.On})
			return nil
		})
		return err
	})
}

// AskedVisit is a done visit with boxes that are asked about.
type AskedVisit struct {
	Visit scheduler.Visit // its identity, apiary and day alone
	About scheduler.Unwritten
}

// queueAsked reads the visits done since a day of which a member, who was there,
// may be asked whether the boxes without a word were opened too.
func queueAsked(b *pgx.Batch, member int64, since scheduler.Date, into *[]AskedVisit) {
	queueUnwritten(b, since, func(v scheduler.Visit, u scheduler.Unwritten) {
		if slices.Contains(u.There, member) {
			*into = append(*into, AskedVisit{v, u})
		}
	})
}
