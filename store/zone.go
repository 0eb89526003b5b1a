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
	c, err := tx.zones(ctx, 0, 0)
	return c.Today(now), tx.wrap(err, "find the day")
}

// zones reads of a club what its days hang on, and nothing else: the zones of
// its apiaries, or of one, and which of them a member looks after.
func (tx *Tx) zones(ctx context.Context, member, apiary int64) (*scheduler.Club, error) {
	c := &scheduler.Club{}
	rows, err := tx.tx.Query(ctx, `
		SELECT timezone, id = ANY(ARRAY(SELECT apiary_id FROM apiary_keeper WHERE member_id = $1))
		  FROM apiary WHERE $2 = 0 OR id = $2 ORDER BY id`, member, apiary)
	if err != nil {
		return c, err
	}
	var zone string
	var keeps bool
	_, err = pgx.ForEachRow(rows, []any{&zone, &keeps}, func() error {
		a := scheduler.Apiary{Timezone: zone}
		if keeps {
			a.Keepers = []int64{member}
		}
		c.Apiaries = append(c.Apiaries, a)
		return nil
	})
	return c, err
}
