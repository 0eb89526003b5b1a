package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"pryday/scheduler/owed"
)

// NewSignIn makes a sign-in token for a person that works once within ttl.
func (s *Store) NewSignIn(ctx context.Context, person int64, ttl time.Duration) (token string, err error) {
	token, hash := newToken()
	_, err = s.pool.Exec(ctx, `SELECT new_sign_in($1, $2, $3)`, person, hash, ttl)
	if code(err) == foreignKeyViolation {
		err = ErrNotFound
	}
	if err != nil {
		return "", fmt.Errorf("make a sign-in address for person %d: %w", person, err)
	}
	return token, nil
}

// PeekSignIn returns whose token it is without using it up.
func (s *Store) PeekSignIn(ctx context.Context, token string) (*Person, error) {
	p, err := s.onePerson(ctx, "look at a sign-in address", `SELECT * FROM person_of_token($1)`, hashToken(token))
	return p, s.spentOrUnknown(ctx, token, err)
}

// UseSignIn uses a token up and signs its person in. ErrTokenSpent when it was
// used or is too old, ErrNotFound when there was never such a token.
func (s *Store) UseSignIn(ctx context.Context, token string, d Device) (person, signIn int64, err error) {
	person, signIn, err = s.beganSignIn(ctx, "use a sign-in address", `SELECT * FROM use_sign_in_token($1, $2, $3, $4, $5)`, d, hashToken(token))
	return person, signIn, s.spentOrUnknown(ctx, token, err)
}

func (s *Store) spentOrUnknown(ctx context.Context, token string, err error) error {
	if !errors.Is(err, ErrNotFound) {
		return err
	}
	var known bool
	scan := s.pool.QueryRow(ctx, `SELECT knows_token($1)`, hashToken(token)).Scan(&known)
	if scan == nil && known {
		return ErrTokenSpent
	}
	return err
}

// SignInMails counts the sign-in mails that a member was owed within an hour,
// and says how long ago the last one was: those that the person's own browsers
// asked for, or those of everybody else. All of it goes by the database's clock;
// what was owed by one that has been put back since does not count.
func (tx *Tx) SignInMails(ctx context.Context, member int64, known bool) (n int, newest time.Duration, err error) {
	err = tx.tx.QueryRow(ctx, `
		SELECT count(*), coalesce(now() - max(owed_at), '0'::interval) FROM message
		 WHERE member_id = $1 AND kind = 'sign-in' AND owed_at BETWEEN now() - interval '1 hour' AND now() + interval '1 minute' AND (right(key, length($2)) = $2) = $3`,
		member, owed.KnownBrowser, known).Scan(&n, &newest)
	return n, newest, tx.wrap(err, "count the sign-in mails of member %d", member)
}

// MessageAge is how long ago a message was owed, by the database's clock, which
// noted it: a daemon's may be ahead of that.
func (tx *Tx) MessageAge(ctx context.Context, message int64) (age time.Duration, err error) {
	err = tx.tx.QueryRow(ctx, `SELECT now() - owed_at FROM message WHERE id = $1`, message).Scan(&age)
	return age, tx.wrap(err, "read how old message %d is", message)
}
