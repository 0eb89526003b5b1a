package store

import (
	"context"
	"time"
)

// Person is somebody with an address.
type Person struct {
	ID            int64
	Email         string
	SessionsSince time.Time // sessions begun before are signed out
	RefusedAt     time.Time // when a mail server refused the address; zero if not
	RefusedReply  string
}

// PersonByEmail finds a person; the case of the address does not matter.
func (s *Store) PersonByEmail(ctx context.Context, email string) (*Person, error) {
	panic("not written yet")
}

// Person reads one person.
func (s *Store) Person(ctx context.Context, id int64) (*Person, error) { panic("not written yet") }

// MarkRefused notes that a mail server refused a person's address for good;
// ClearRefused forgets it.
func (s *Store) MarkRefused(ctx context.Context, person int64, reply string) error {
	panic("not written yet")
}

// ClearRefused lets mail go to the address again.
func (s *Store) ClearRefused(ctx context.Context, person int64) error { panic("not written yet") }

// SignOutEverywhere ends every session of a person that began before now.
func (s *Store) SignOutEverywhere(ctx context.Context, person int64) error {
	panic("not written yet")
}

// NewSignIn makes a sign-in token for a person that works once within ttl.
func (s *Store) NewSignIn(ctx context.Context, person int64, ttl time.Duration) (token string, err error) {
	panic("not written yet")
}

// PeekSignIn returns whose token it is without using it up.
func (s *Store) PeekSignIn(ctx context.Context, token string) (*Person, error) {
	panic("not written yet")
}

// UseSignIn uses a token up. ErrTokenSpent when it was used or is too old,
// ErrNotFound when there was never such a token.
func (s *Store) UseSignIn(ctx context.Context, token string) (*Person, error) {
	panic("not written yet")
}
