package store

import "context"

// ApiaryOfHive finds where a hive stands.
func (tx *Tx) ApiaryOfHive(ctx context.Context, hive int64) (int64, error) {
	var apiary int64
	err := tx.tx.QueryRow(ctx, `SELECT apiary_id FROM hive WHERE id = $1`, hive).Scan(&apiary)
	return apiary, tx.wrap(err, "find the apiary of hive %d", hive)
}
