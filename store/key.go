package store

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
)

// KeysChanged is told on FeedChannel when keys were rotated.
const KeysChanged = "keys"

// key is one signing key.
type key struct {
	value  []byte
	endsAt time.Time // until when what it signed is known again; zero for the one that signs
}

// Keys are the installation's signing keys of one name, shared by all its
// daemons. They are safe for concurrent use.
type Keys struct{ all atomic.Pointer[[]key] }

// Valid returns the key that signs, and after it those that signed before and
// whose signatures still count, the newest first.
func (k *Keys) Valid() [][]byte {
	var valid [][]byte
	now := time.Now()
	for _, one := range *k.all.Load() {
		if one.endsAt.IsZero() || now.Before(one.endsAt) {
			valid = append(valid, one.value)
		}
	}
	return valid
}

// Signing returns the key that signs.
func (k *Keys) Signing() []byte { return (*k.all.Load())[0].value }

// keyRing has the keys that were asked for, by name.
type keyRing struct {
	mu     sync.Mutex
	byName map[string]*Keys
}

// Keys returns the keys of a name, the first of which is made at the first
// call. They stay true when ReloadKeys is called after each rotation.
func (s *Store) Keys(ctx context.Context, name string) (*Keys, error) {
	s.keys.mu.Lock()
	defer s.keys.mu.Unlock()
	if known := s.keys.byName[name]; known != nil {
		return known, nil
	}
	k := &Keys{}
	if err := s.loadKeys(ctx, name, k); err != nil {
		return nil, err
	}
	s.keys.byName[name] = k
	return k, nil
}

// ReloadKeys reads all keys anew that were asked for.
func (s *Store) ReloadKeys(ctx context.Context) error {
	s.keys.mu.Lock()
	defer s.keys.mu.Unlock()
	var failed []error
	for name, k := range s.keys.byName {
		failed = append(failed, s.loadKeys(ctx, name, k))
	}
	return errors.Join(failed...)
}

func (s *Store) loadKeys(ctx context.Context, name string, into *Keys) error {
	rows, err := s.pool.Query(ctx, `SELECT value, ends_at FROM signing_keys($1)`, name)
	if err == nil {
		var all []key
		all, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (one key, err error) {
			var ends *time.Time
			err = row.Scan(&one.value, &ends)
			one.endsAt = orZero(ends)
			return one, err
		})
		if err == nil && (len(all) == 0 || len(all[0].value) < 32) {
			err = errors.New("there is none of 32 bytes")
		}
		if err == nil {
			into.all.Store(&all)
			return nil
		}
	}
	return fmt.Errorf("read the signing keys %q: %w", name, err)
}
