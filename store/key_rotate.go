package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler/text"
)

// KeyInfo says of a signing key what may be known.
type KeyInfo struct {
	Name   string
	MadeAt time.Time
	EndsAt *time.Time // nil for the one that signs
}

const selectKeys = `SELECT name, created_at AS made_at, ends_at FROM secret WHERE ends_at IS NULL OR ends_at > now() ORDER BY name, ends_at DESC`

// ListKeys lists the signing keys by name, of each name the one that signs
// first. url is the address of the owner: the serving role cannot.
func ListKeys(ctx context.Context, url string) ([]KeyInfo, error) {
	return withKeys(ctx, url, func(pgx.Tx) error { return nil })
}

// RotateKeys makes a new signing key of each name, notes it in the trail of
// every club and tells the daemons. Keys of before are known again for so long,
// or until they would have ended; 0 ends them at once. url is the address of the
// owner: nobody who gets at the serving role can choose a key or end one.
func RotateKeys(ctx context.Context, url string, keep time.Duration, subject text.Text) ([]KeyInfo, error) {
	detail, err := json.Marshal(About{subject})
	if err != nil {
		return nil, err
	}
	return withKeys(ctx, url, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `SELECT rotate_keys($1)`, keep); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `INSERT INTO audit (club_id, action, subject, detail, command) SELECT id, 'rotate keys', $1, $2, $3 FROM club ORDER BY id`,
			(&text.Speaker{}).Tell(subject), detail, originOf(ctx).Command)
		return err
	})
}

// withKeys runs do as the owner and returns the keys as they are then.
func withKeys(ctx context.Context, url string, do func(pgx.Tx) error) (keys []KeyInfo, err error) {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return nil, fmt.Errorf("connect to the database as its owner: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	err = pgx.BeginFunc(ctx, conn, func(tx pgx.Tx) error {
		if err := do(tx); err != nil {
			return err
		}
		rows, err := tx.Query(ctx, selectKeys)
		if err != nil {
			return err
		}
		keys, err = pgx.CollectRows(rows, pgx.RowToStructByName[KeyInfo])
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("signing keys: %w", err)
	}
	return keys, nil
}
