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

const selectPerson = `
	SELECT p.id, p.email, p.refused_at, coalesce(p.refused_reply, '') FROM person p `

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
	return s.onePerson(ctx, "find the person of an address", selectPerson+`WHERE lower(p.email) = lower($1)`, normalEmail(email))
}

// Person reads one person.
func (s *Store) Person(ctx context.Context, id int64) (*Person, error) {
	return s.onePerson(ctx, fmt.Sprintf("read person %d", id), selectPerson+`WHERE p.id = $1`, id)
}

// MarkRefused notes that a mail server refused a person's address for good. An
// address that is not, or is no longer, the person's own marks nothing.
func (s *Store) MarkRefused(ctx context.Context, person int64, address, reply string) error {
	return s.changePerson(ctx, "mark the address refused", person, `
		UPDATE person SET refused_at = CASE WHEN lower(email) = lower($2) THEN now() ELSE refused_at END,
		       refused_reply = CASE WHEN lower(email) = lower($2) THEN $3 ELSE refused_reply END WHERE id = $1`, person, address, reply)
}

// MarkRefused notes the same in a transaction of a club's.
func (tx *Tx) MarkRefused(ctx context.Context, person int64, reply string) error {
	return tx.one(ctx, fmt.Sprintf("mark the address of person %d refused", person),
		`UPDATE person SET refused_at = now(), refused_reply = $2 WHERE id = $1`, person, validText(reply, 2000))
}

// ClearRefused lets mail go to the address again.
func (s *Store) ClearRefused(ctx context.Context, person int64) error {
	return s.changePerson(ctx, "clear the address", person,
		`UPDATE person SET refused_at = NULL, refused_reply = NULL WHERE id = $1`, person)
}

func (s *Store) changePerson(ctx context.Context, what string, person int64, sql string, args ...any) error {
	tag, err := s.pool.Exec(ctx, sql, args...)
	if err == nil && tag.RowsAffected() == 0 {
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
		  FROM member m JOIN person p ON p.id = m.person_id WHERE p.refused_at IS NOT NULL`)
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
