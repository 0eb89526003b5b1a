package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
)

// Person is somebody with an address.
type Person struct {
	ID           int64
	Email        string
	RefusedAt    time.Time // when a mail server refused the address; zero if not
	RefusedReply string
	Invitations  int // to further clubs, where SignedIn read the person
}

func (s *Store) onePerson(ctx context.Context, what, sql string, args ...any) (*Person, error) {
	rows, err := s.pool.Query(ctx, sql, args...)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	p, err := pgx.CollectExactlyOneRow(rows, scanPerson)
	if errors.Is(err, pgx.ErrNoRows) {
		err = ErrNotFound
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	return &p, nil
}

func scanPerson(row pgx.CollectableRow) (p Person, err error) {
	var refused *time.Time
	err = row.Scan(&p.ID, &p.Email, &refused, &p.RefusedReply)
	p.RefusedAt = orZero(refused)
	return p, err
}

func orZero(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return *t
}

// PersonByEmail finds a person; the case of the address does not matter.
func (s *Store) PersonByEmail(ctx context.Context, email string) (*Person, error) {
	return s.onePerson(ctx, "find the person of an address", `SELECT * FROM person_by_email($1)`, normalEmail(email))
}

// Person reads one person.
func (s *Store) Person(ctx context.Context, id int64) (*Person, error) {
	return s.onePerson(ctx, fmt.Sprintf("read person %d", id), `SELECT * FROM person_by_id($1)`, id)
}

// MarkRefused notes that a mail server refused a person's address for good. An
// address that is not, or is no longer, the person's own marks nothing.
func (s *Store) MarkRefused(ctx context.Context, person int64, address, reply string) error {
	return s.changePerson(ctx, "mark the address refused", person, `SELECT mark_refused($1, $2, $3)`, person, address, reply)
}

// MarkRefused notes the same in a transaction of a club's.
func (tx *Tx) MarkRefused(ctx context.Context, person int64, reply string) error {
	var found *bool
	err := tx.tx.QueryRow(ctx, `SELECT mark_refused($1, NULL, $2)`, person, validText(reply, 2000)).Scan(&found)
	if err == nil && found == nil {
		err = ErrNotFound
	}
	return tx.wrap(err, "mark the address of person %d refused", person)
}

// ClearRefused lets mail go to the address again.
func (s *Store) ClearRefused(ctx context.Context, person int64) error {
	return s.changePerson(ctx, "clear the address", person, `SELECT clear_refused($1)`, person)
}

// changePerson calls a function that says whether it found what to change.
func (s *Store) changePerson(ctx context.Context, what string, person int64, sql string, args ...any) error {
	var found *bool
	err := s.pool.QueryRow(ctx, sql, args...).Scan(&found)
	if err == nil && (found == nil || !*found) {
		err = ErrNotFound
	}
	if err != nil {
		return fmt.Errorf("%s of person %d: %w", what, person, err)
	}
	return nil
}

// RefusedMembers lists the members whose address a mail server refused for
// good, with what it said: empty where that came of another club's mail, which
// is none of this one's business, or of one to sign in by a member of several.
func (tx *Tx) RefusedMembers(ctx context.Context) (map[int64]string, error) {
	rows, err := tx.tx.Query(ctx, `
		SELECT m.id, CASE WHEN m.id NOT IN (SELECT members_of_several()) OR EXISTS (
		           SELECT FROM message g WHERE g.member_id = m.id AND g.kind <> 'sign-in' AND (g.state = 'refused' OR g.returned = 'failed'))
		       THEN p.refused_reply ELSE '' END
		  FROM member m JOIN club_people() p ON p.id = m.person_id WHERE p.refused_at IS NOT NULL`)
	if err != nil {
		return nil, tx.wrap(err, "list the refused addresses")
	}
	refused := map[int64]string{}
	var id int64
	var reply string
	_, err = pgx.ForEachRow(rows, []any{&id, &reply}, func() error {
		refused[id] = reply
		return nil
	})
	return refused, tx.wrap(err, "list the refused addresses")
}
