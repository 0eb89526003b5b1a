package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// recalibrateAfter is how many days a recalibration holds before it is made
// anew: often enough to follow what is found, seldom enough that dates do not
// move for it every night.
const recalibrateAfter = 28

// queueRecalibration reads the one that holds.
func (l *loading) queueRecalibration(b *pgx.Batch) {
	b.Queue(`
		SELECT made_on, openings, hard_intercept, hard_slope, stuck_intercept, stuck_slope
		  FROM recalibration ORDER BY made_on DESC LIMIT 1`).Query(func(rows pgx.Rows) error {
		r := &l.club.Recalibration
		into := []any{&r.MadeOn, &r.Openings, &r.Hard.Intercept, &r.Hard.Slope, &r.Stuck.Intercept, &r.Stuck.Slope}
		_, err := pgx.ForEachRow(rows, into, func() error { return nil })
		if err == nil && !r.Corrects() {
			*r = scheduler.Recalibration{}
		}
		return err
	})
}

// recalibrate makes the recalibration anew, of what was said and found until a
// day, if the last is old enough.
func (tx *Tx) recalibrate(ctx context.Context, today scheduler.Date) error {
	var last scheduler.Date
	var corrects, enough bool
	err := tx.tx.QueryRow(ctx, `
		SELECT (SELECT max(made_on) FROM recalibration),
		       coalesce((SELECT openings > 0 FROM recalibration ORDER BY made_on DESC LIMIT 1), false),
		       (SELECT count(*) FROM (SELECT FROM forecast LIMIT $1) f) >= $1`, scheduler.RecalibrateFrom).Scan(&last, &corrects, &enough)
	if err != nil {
		return tx.wrap(err, "ask how old the recalibration is")
	}
	if !enough && !corrects || last != 0 && today < last+recalibrateAfter {
		return nil
	}
	record, err := tx.Outcomes(ctx)
	if err != nil {
		return err
	}
	r := scheduler.Recalibrate(record, today)
	if !r.Corrects() && !corrects {
		return nil
	}
	return tx.putRecalibration(ctx, r, today)
}

// putRecalibration lets one hold from a day on, unless there is one of that day.
func (tx *Tx) putRecalibration(ctx context.Context, r scheduler.Recalibration, on scheduler.Date) error {
	if !r.Corrects() {
		r = scheduler.Recalibration{Hard: scheduler.Curve{Slope: 1}, Stuck: scheduler.Curve{Slope: 1}}
	}
	_, err := tx.tx.Exec(ctx, `
		INSERT INTO recalibration (club_id, made_on, openings, hard_intercept, hard_slope, stuck_intercept, stuck_slope)
		VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT DO NOTHING`,
		tx.club, on, r.Openings, r.Hard.Intercept, r.Hard.Slope, r.Stuck.Intercept, r.Stuck.Slope)
	return tx.wrap(err, "keep the recalibration of %s", on)
}

// importRecalibration brings in that of the records where it is newer than the
// one that holds.
func (in *importing) importRecalibration(ctx context.Context) error {
	r := in.doc.Recalibration
	if !r.Corrects() || r.MadeOn <= in.have.Recalibration.MadeOn {
		return nil
	}
	return in.tx.putRecalibration(ctx, r, r.MadeOn)
}
