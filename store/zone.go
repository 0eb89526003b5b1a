package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// Today is the club's civil day at an instant, as scheduler's Club.Today says,
// for who has not read the club.
func (tx *Tx) Today(ctx context.Context, now time.Time) (scheduler.Date, error) {
	c := &scheduler.Club{}
	var b pgx.Batch
	queueZones(&b, c, `0`, `NULL`)
	err := tx.tx.SendBatch(ctx, &b).Close()
	return c.Today(now), tx.wrap(err, "find the day")
}

// queueZones reads of a club what its days hang on, and nothing else: the zones
// of its apiaries, or of one unless that is null, and which of them a member
// looks after. Of those that are alike in both the first stands for all.
func queueZones(b *pgx.Batch, c *scheduler.Club, member, apiary string, args ...any) {
	b.Queue(`
		SELECT timezone, coalesce(`+member+`, 0), id = ANY(ARRAY(SELECT apiary_id FROM apiary_keeper WHERE member_id = `+member+`)) AS keeps
		  FROM apiary WHERE coalesce(id = `+apiary+`, true) GROUP BY timezone, keeps ORDER BY min(id)`, args...).Query(func(rows pgx.Rows) error {
		var zone string
		var keeper int64
		var keeps bool
		_, err := pgx.ForEachRow(rows, []any{&zone, &keeper, &keeps}, func() error {
			a := scheduler.Apiary{Timezone: zone}
			if keeps {
				a.Keepers = []int64{keeper}
			}
			c.Apiaries = append(c.Apiaries, a)
			return nil
		})
		return err
	})
}
