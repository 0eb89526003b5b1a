package store

import (
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// insertTicks keeps ticks of the visits with the identities $2 of club $1; one
// that is kept already stays as it is.
const insertTicks = `
	INSERT INTO visit_tick (club_id, visit_id, step, hive_id, box_id, by_member, on_day)
	SELECT v.club_id, v.id, u.step, nullif(u.hive, 0), nullif(u.box, 0), nullif(u.by, 0), u.on_day
	  FROM unnest($2::text[], $3::text[], $4::bigint[], $5::bigint[], $6::bigint[], $7::date[]) AS u(uid, step, hive, box, by, on_day)
	  JOIN visit v ON v.uid = u.uid AND v.club_id = $1
	ON CONFLICT DO NOTHING`

// tickRows are ticks as columns.
type tickRows struct {
	uid, step     []string
	hive, box, by []int64
	on            []scheduler.Date
}

func (r *tickRows) add(uid string, t scheduler.Tick) {
	r.uid, r.step, r.hive, r.box = append(r.uid, uid), append(r.step, string(t.Step)), append(r.hive, t.HiveID), append(r.box, t.BoxID)
	r.by, r.on = append(r.by, t.By), append(r.on, t.On)
}

// Tick keeps with a visit, by its calendar identity, which steps of its
// checklist were done, and takes back others. Who ticked a step first stays.
func (tx *Tx) Tick(uid string, done, undone []scheduler.Tick) {
	if len(undone) > 0 {
		var r tickRows
		for _, t := range undone {
			r.add(uid, t)
		}
		tx.later("take back ticks of visit "+uid, `
			DELETE FROM visit_tick t USING visit v, unnest($2::text[], $3::bigint[], $4::bigint[]) AS u(step, hive, box)
			 WHERE v.uid = $1 AND t.club_id = v.club_id AND t.visit_id = v.id AND t.step = u.step
			   AND coalesce(t.hive_id, 0) = u.hive AND coalesce(t.box_id, 0) = u.box`, uid, r.step, r.hive, r.box)
	}
	if len(done) > 0 {
		var r tickRows
		for _, t := range done {
			r.add(uid, t)
		}
		tx.later("keep ticks of visit "+uid, insertTicks, tx.club, r.uid, r.step, r.hive, r.box, r.by, r.on)
	}
}

// queueTicks reads the ticks of visits of which a term is true.
func queueTicks(b *pgx.Batch, into *[]VisitRecord, term string, args ...any) {
	b.Queue(`
		SELECT visit_id, step, coalesce(hive_id, 0), coalesce(box_id, 0), coalesce(by_member, 0), on_day FROM visit_tick
		 WHERE visit_id = ANY(ARRAY(SELECT v.id FROM visit v WHERE `+term+`))`, args...).Query(func(rows pgx.Rows) error {
		ticks := map[int64][]scheduler.Tick{}
		var visit int64
		var t scheduler.Tick
		_, err := pgx.ForEachRow(rows, []any{&visit, &t.Step, &t.HiveID, &t.BoxID, &t.By, &t.On}, func() error {
			ticks[visit] = append(ticks[visit], t)
			return nil
		})
		for i := range *into {
			if of := ticks[(*into)[i].ID]; of != nil {
				slices.SortFunc(of, scheduler.CompareTicks)
				(*into)[i].Ticks = of
			}
		}
		return err
	})
}
