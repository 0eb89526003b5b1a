package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
)

// SignInWay says how somebody signed in.
type SignInWay string

// The ways to sign in.
const (
	ByMail    SignInWay = "mail"    // with an address that was mailed, or printed by the command line
	ByPasskey SignInWay = "passkey" //
	BySetUp   SignInWay = "set-up"  // by making the first club
	Before    SignInWay = "before"  // by a session of an earlier version
)

// Device is what is known of where somebody signs in.
type Device struct {
	Browser, System string // proper names, as "Firefox" and "Android"; empty where unknown
	Source          string // the address that it came from, of IPv6 its network
}

// SignIn is one time that a person signed in. A session names it and holds
// until it is ended.
type SignIn struct {
	ID  int64
	Way SignInWay
	Device
	BeganAt time.Time
	SeenAt  time.Time // to the hour
}

// beginSignIn is a statement that notes a sign-in of the persons that its CTE
// "who" has, with the device in $2 to $5, and unless $6 is empty in the trails of
// their clubs; it returns the persons too.
const beginSignIn = `, begun AS (
	INSERT INTO sign_in (person_id, way, browser, system, source)
	SELECT person_id, $2, $3, $4, $5 FROM who RETURNING id, person_id)
	SELECT person_id, id FROM (
		SELECT person_id, id, CASE WHEN $6::text <> '' THEN audit_person(person_id, $6, $7, $5) END FROM begun OFFSET 0) noted`

func (d Device) args() []any {
	return []any{validText(d.Browser, 60), validText(d.System, 60), validText(d.Source, 60)}
}

// beganSignIn runs a statement that ends with beginSignIn.
func (s *Store) beganSignIn(ctx context.Context, what, who string, key any, way SignInWay, d Device, more ...any) (person, signIn int64, err error) {
	deed := "sign in with " + string(way)
	if way == Before || way == BySetUp { // which has a line of its own
		deed = ""
	}
	args := append(append(append([]any{key, way}, d.args()...), deed, originOf(ctx).Command), more...)
	err = s.pool.QueryRow(ctx, who+beginSignIn, args...).Scan(&person, &signIn)
	if errors.Is(err, pgx.ErrNoRows) {
		err = ErrNotFound
	}
	if err != nil {
		return 0, 0, fmt.Errorf("%s: %w", what, err)
	}
	return person, signIn, nil
}

// BeginSignIn notes that a person signs in.
func (s *Store) BeginSignIn(ctx context.Context, person int64, way SignInWay, d Device) (signIn int64, err error) {
	_, signIn, err = s.beganSignIn(ctx, fmt.Sprintf("sign person %d in", person),
		`WITH who AS (SELECT id AS person_id FROM person WHERE id = $1)`, person, way, d)
	return signIn, err
}

// TakeOverSession notes a session of an earlier version as a sign-in, began at
// which it said. ErrNotFound when it was ended before.
func (s *Store) TakeOverSession(ctx context.Context, person int64, began time.Time, d Device) (signIn int64, err error) {
	_, signIn, err = s.beganSignIn(ctx, fmt.Sprintf("take over a session of person %d", person),
		`WITH who AS (SELECT id AS person_id FROM person WHERE id = $1 AND sessions_since <= $8)`, person, Before, d, began)
	return signIn, err
}

// SignedIn reads whom a sign-in signs in, with the clubs that it may see and
// those for which organisers ended it, in the order of their ids. ErrNotFound
// when it was ended.
func (s *Store) SignedIn(ctx context.Context, person, signIn int64) (p *Person, clubs, ended []Membership, err error) {
	var b pgx.Batch
	var found []Person
	var all []Membership
	b.Queue(`UPDATE sign_in SET seen_at = now() WHERE id = $1 AND ended_at IS NULL AND seen_at < now() - interval '1 hour'`, signIn)
	b.Queue(selectPerson+`JOIN sign_in i ON i.person_id = p.id WHERE p.id = $1 AND i.id = $2 AND i.ended_at IS NULL`, person, signIn).Query(func(rows pgx.Rows) (err error) {
		found, err = pgx.CollectRows(rows, scanPerson)
		return err
	})
	b.Queue(`SELECT m.* FROM person p CROSS JOIN LATERAL memberships(p.email) m WHERE p.id = $1`, person).Query(func(rows pgx.Rows) (err error) {
		all, err = pgx.CollectRows(rows, pgx.RowToStructByName[Membership])
		return err
	})
	var asked int
	b.Queue(`SELECT count(*) FROM invitations_of($1)`, person).QueryRow(func(row pgx.Row) error { return row.Scan(&asked) })
	err = s.pool.SendBatch(ctx, &b).Close()
	if err == nil && len(found) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, nil, nil, fmt.Errorf("read whom sign-in %d of person %d signs in: %w", signIn, person, err)
	}
	for _, c := range all {
		if c.EndedSignIn < signIn {
			clubs = append(clubs, c)
		} else {
			ended = append(ended, c)
		}
	}
	found[0].Invitations = asked
	return &found[0], clubs, ended, nil
}

// SignIns lists the sign-ins of a person that hold, the last one first; those
// of longer ago than sessions last are over.
func (s *Store) SignIns(ctx context.Context, person int64, longest time.Duration) ([]SignIn, error) {
	rows, err := s.pool.Query(ctx, `
		SELECT id, way, browser, system, source, began_at, seen_at FROM sign_in
		 WHERE person_id = $1 AND ended_at IS NULL AND began_at > now() - $2::interval ORDER BY id DESC`, person, longest)
	if err == nil {
		var out []SignIn
		if out, err = pgx.CollectRows(rows, pgx.RowToStructByName[SignIn]); err == nil {
			return out, nil
		}
	}
	return nil, fmt.Errorf("list the sign-ins of person %d: %w", person, err)
}

// EndSignIn ends one of a person's sign-ins. ErrNotFound when it was ended, or
// is not the person's.
func (s *Store) EndSignIn(ctx context.Context, person, signIn int64) error {
	return s.changePerson(ctx, "end a sign-in", person,
		`WITH whose AS (UPDATE sign_in SET ended_at = now() WHERE person_id = $1 AND id = $2 AND ended_at IS NULL RETURNING person_id)`+
			notePerson, noteOf(ctx, "sign out", person, signIn)...)
}

// Everywhere says what ends with a sign-out everywhere beside sign-ins, mailed
// addresses and buttons.
type Everywhere struct {
	Passkeys  bool // or one can come back with them
	Calendars bool // calendar addresses, in every club
}

// SignOutEverywhere ends whatever lets somebody act as a person: sign-ins,
// addresses that were mailed to sign in, changes of address that wait, and
// buttons in mails and calendars.
func (s *Store) SignOutEverywhere(ctx context.Context, person int64, e Everywhere) error {
	for i := 1; ; i++ {
		from := originOf(ctx)
		_, err := s.pool.Exec(ctx, `SELECT sign_out($1, $2, $3), audit_person($1, 'sign out everywhere', $4, $5)`,
			person, e.Passkeys, e.Calendars, from.Command, from.Source)
		if code(err) == deadlockDetected && i < attempts {
			continue
		}
		if err != nil {
			return fmt.Errorf("sign out everywhere of person %d: %w", person, err)
		}
		return nil
	}
}

// SignOutMember ends whatever lets somebody act as a member, for this club
// alone: what signs in for other clubs goes on doing so. Passkeys and calendar
// addresses stay.
func (tx *Tx) SignOutMember(ctx context.Context, member int64) error {
	tx.feedChanged() // entries of the own calendar carry buttons
	_, err := tx.tx.Exec(ctx, `SELECT sign_out_member($1)`, member)
	return tx.wrap(err, "sign member %d out", member)
}

// ForgetSessions deletes the sessions that are over.
func (s *Store) ForgetSessions(ctx context.Context) error {
	if _, err := s.pool.Exec(ctx, `DELETE FROM sessions WHERE expiry < now()`); err != nil {
		return fmt.Errorf("delete sessions that are over: %w", err)
	}
	return nil
}
