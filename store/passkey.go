package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
)

// Passkey is a key in a person's device that signs them in.
type Passkey struct {
	ID         int64
	PersonID   int64
	Credential []byte          // the credential's id
	Data       json.RawMessage // the credential, as the passkey library writes it
	Label      string
	CreatedAt  time.Time
	UsedAt     *time.Time
}

const selectPasskeys = `SELECT id, person_id, credential, data, label, created_at, used_at FROM passkey `

// AddPasskey keeps a new one; ErrExists when the credential is known.
func (s *Store) AddPasskey(ctx context.Context, k Passkey) (int64, error) {
	var id int64
	err := s.pool.QueryRow(ctx, `
		WITH added AS (INSERT INTO passkey (person_id, credential, data, label) VALUES ($1, $2, $3, $4) RETURNING id),
		whose AS (SELECT audit_person($1, 'add passkey', $5, $6))
		SELECT id FROM added, whose`,
		k.PersonID, k.Credential, k.Data, k.Label, originOf(ctx).Command, originOf(ctx).Source).Scan(&id)
	if code(err) == uniqueViolation {
		err = ErrExists
	}
	if err != nil {
		return 0, fmt.Errorf("keep a passkey of person %d: %w", k.PersonID, err)
	}
	return id, nil
}

// Passkeys lists a person's keys, the oldest first.
func (s *Store) Passkeys(ctx context.Context, person int64) ([]Passkey, error) {
	rows, err := s.pool.Query(ctx, selectPasskeys+`WHERE person_id = $1 ORDER BY id`, person)
	if err != nil {
		return nil, fmt.Errorf("list the passkeys of person %d: %w", person, err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByName[Passkey])
	if err != nil {
		return nil, fmt.Errorf("list the passkeys of person %d: %w", person, err)
	}
	return out, nil
}

// PasskeyByCredential finds a key by its credential's id.
func (s *Store) PasskeyByCredential(ctx context.Context, credential []byte) (*Passkey, error) {
	rows, err := s.pool.Query(ctx, selectPasskeys+`WHERE credential = $1`, credential)
	if err != nil {
		return nil, fmt.Errorf("find a passkey: %w", err)
	}
	k, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[Passkey])
	if errors.Is(err, pgx.ErrNoRows) {
		err = ErrNotFound
	}
	if err != nil {
		return nil, fmt.Errorf("find a passkey: %w", err)
	}
	return &k, nil
}

// UsePasskey signs in with a key, and notes the credential's new counter.
// ErrNotFound when the key was removed meanwhile.
func (s *Store) UsePasskey(ctx context.Context, id int64, data json.RawMessage, d Device) (person, signIn int64, err error) {
	return s.beganSignIn(ctx, fmt.Sprintf("use passkey %d", id),
		`WITH who AS (UPDATE passkey SET used_at = now(), data = $8 WHERE id = $1 RETURNING person_id)`, id, ByPasskey, d, data)
}

// RemovePasskey forgets one of a person's keys.
func (s *Store) RemovePasskey(ctx context.Context, person, id int64) error {
	return s.changePasskey(ctx, "remove", id,
		`WITH whose AS (DELETE FROM passkey WHERE person_id = $1 AND id = $2 RETURNING person_id)`+notePerson, noteOf(ctx, "end passkey", person, id)...)
}

func (s *Store) changePasskey(ctx context.Context, what string, id int64, sql string, args ...any) error {
	tag, err := s.pool.Exec(ctx, sql, args...)
	if err == nil && tag.RowsAffected() == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return fmt.Errorf("%s passkey %d: %w", what, id, err)
	}
	return nil
}
