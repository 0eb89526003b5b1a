package store

import (
	"context"
	"fmt"
	"slices"

	"pryday/scheduler"
)

// periods reads the days of one hive, apiary or member; column says which.
func (tx *Tx) periods(ctx context.Context, column string, id int64, kind string) ([]scheduler.Period, error) {
	out, err := list[scheduler.Period](ctx, tx, `
		SELECT from_day AS "From", until_day AS "Until", reason, after_what AS "After" FROM leave_alone
		 WHERE `+column+` = $1 AND kind = $2 ORDER BY from_day, id`, id, kind)
	return orNil(out), tx.wrap(err, "read the %s days of %s %d", kind, column, id)
}

// setPeriods replaces them, if they differ.
func (tx *Tx) setPeriods(ctx context.Context, column string, id int64, kind string, want []scheduler.Period) error {
	_, err := tx.setPeriodsCounted(ctx, column, id, kind, want)
	return err
}

func (tx *Tx) setPeriodsCounted(ctx context.Context, column string, id int64, kind string, want []scheduler.Period) (bool, error) {
	have, err := tx.periods(ctx, column, id, kind)
	if err != nil {
		return false, err
	}
	want = slices.Clone(want)
	slices.SortStableFunc(want, func(a, b scheduler.Period) int { return int(a.From - b.From) })
	if slices.Equal(have, want) {
		return false, nil
	}
	what := fmt.Sprintf("save the %s days of %s %d", kind, column, id)
	if _, err := tx.tx.Exec(ctx, `DELETE FROM leave_alone WHERE `+column+` = $1 AND kind = $2`, id, kind); err != nil {
		return false, tx.wrap(err, "%s", what)
	}
	for _, p := range want {
		_, err := tx.tx.Exec(ctx, `
			INSERT INTO leave_alone (club_id, kind, `+column+`, from_day, until_day, reason, after_what)
			VALUES ($1, $2, $3, $4, $5, $6, $7)`, tx.club, kind, id, p.From, p.Until, p.Reason, p.After)
		if err != nil {
			return false, tx.wrap(err, "%s", what)
		}
	}
	return true, nil
}
