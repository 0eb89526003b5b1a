package store

import (
	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// RecentOpening is an opening that a member recorded within the last day.
type RecentOpening struct {
	scheduler.Opening
	BoxID, HiveID     int64
	Box, Hive, Apiary string // names
}

// recentMost bounds how many openings are listed: a long visit of one person.
const recentMost = 60

// queueRecent reads what a member recorded within the last day and still counts,
// the newest first, of boxes that stand on a hive and days from since on: an old
// notebook that was read in is nobody's doing of today.
func queueRecent(b *pgx.Batch, member int64, since scheduler.Date, into *[]RecentOpening) {
	b.Queue(`
		SELECT o.id::text, o.on_day, o.joint, o.frames, o.left_shut, o.scraped, o.somebody_else, coalesce(o.opened_by_member, 0), o.opened_by_name, o.box_id, h.id, x.name, h.name, a.name
		  FROM (SELECT * FROM opening WHERE by_member = $1 ORDER BY seq DESC LIMIT $2) o
		  JOIN box x ON x.club_id = o.club_id AND x.id = o.box_id
		  JOIN hive h ON h.club_id = x.club_id AND h.id = x.hive_id
		  JOIN apiary a ON a.club_id = h.club_id AND a.id = h.apiary_id
		 WHERE o.recorded_at > now() - interval '1 day' AND o.on_day >= $3 AND `+counts(`o.box_id`)+`
		 ORDER BY o.seq DESC`, member, recentMost, since).Query(func(rows pgx.Rows) (err error) {
		*into, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (r RecentOpening, err error) {
			var another bool
			var opener scheduler.Opener
			err = row.Scan(&r.ID, &r.On, &r.Joint, &r.Frames, &r.LeftShut, &r.Scraped, &another, &opener.Member, &opener.Name, &r.BoxID, &r.HiveID, &r.Box, &r.Hive, &r.Apiary)
			if r.By = member; another {
				r.Opener = &opener
			}
			return r, err
		})
		return err
	})
}
