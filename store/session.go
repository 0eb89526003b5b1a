package store

import (
	"context"
	"fmt"
	"time"
)

// Sessions keeps the sessions of browsers for the session library, which hashes
// their tokens. Whoever hangs up in the middle has their session all the same:
// the library gives no context, and the statement's own time limit bounds it.
type Sessions struct{ store *Store }

// Sessions are those of the installation.
func (s *Store) Sessions() Sessions { return Sessions{s} }

// Find reads a session; found is false for none, and for one that is over.
func (k Sessions) Find(token string) (data []byte, found bool, err error) {
	if err := k.store.pool.QueryRow(context.Background(), `SELECT find_session($1)`, token).Scan(&data); err != nil {
		return nil, false, fmt.Errorf("read a session: %w", err)
	}
	return data, data != nil, nil
}

// Commit writes a session that ends at a time.
func (k Sessions) Commit(token string, data []byte, until time.Time) error {
	return k.call("write a session", `SELECT save_session($1, $2, $3)`, token, data, until)
}

// Delete ends a session.
func (k Sessions) Delete(token string) error {
	return k.call("end a session", `SELECT end_session($1)`, token)
}

func (k Sessions) call(what, sql string, args ...any) error {
	if _, err := k.store.pool.Exec(context.Background(), sql, args...); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}
