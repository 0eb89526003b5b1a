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

// AddPasskey keeps a new one; ErrExists when the credential is known.
func (s *Store) AddPasskey(ctx context.Context, k Passkey) (int64, error) {
	var id int64
	err := s.pool.QueryRow(ctx, `SELECT add_passkey($1, $2, $3, $4, $5, $6)`,
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
	rows, err := s.pool.Query(ctx, `SELECT * FROM passkeys_of($1)`, person)
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
	rows, err := s.pool.Query(ctx, `SELECT * FROM passkey_by_credential($1)`, credential)
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
	return s.beganSignIn(ctx, fmt.Sprintf("use passkey %d", id), `SELECT * FROM use_passkey($1, $2, $3, $4, $5, $6)`, d, id, data)
}

// RemovePasskey forgets one of a person's keys.
func (s *Store) RemovePasskey(ctx context.Context, person, id int64) error {
	from := originOf(ctx)
	return s.changePerson(ctx, fmt.Sprintf("remove passkey %d", id), person, `SELECT end_passkey($1, $2, $3, $4)`, person, id, from.Command, from.Source)
}
