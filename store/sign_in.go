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

// beganSignIn calls a function that signs somebody in, with what is known of
// where after its own arguments.
func (s *Store) beganSignIn(ctx context.Context, what, call string, d Device, args ...any) (person, signIn int64, err error) {
	args = append(args, validText(d.Browser, 60), validText(d.System, 60), validText(d.Source, 60), originOf(ctx).Command)
	err = s.pool.QueryRow(ctx, call, args...).Scan(&person, &signIn)
	if errors.Is(err, pgx.ErrNoRows) {
		err = ErrNotFound
	}
	if err != nil {
		return 0, 0, fmt.Errorf("%s: %w", what, err)
	}
	return person, signIn, nil
}

const beginSignIn = `SELECT * FROM begin_sign_in($1, $2, $3, $4, $5, $6, $7)`

// BeginSignIn notes that a person signs in.
func (s *Store) BeginSignIn(ctx context.Context, person int64, way SignInWay, d Device) (signIn int64, err error) {
	_, signIn, err = s.beganSignIn(ctx, fmt.Sprintf("sign person %d in", person), beginSignIn, d, person, nil, way)
	return signIn, err
}

// TakeOverSession notes a session of an earlier version as a sign-in, began at
// which it said. ErrNotFound when it was ended before.
func (s *Store) TakeOverSession(ctx context.Context, person int64, began time.Time, d Device) (signIn int64, err error) {
	_, signIn, err = s.beganSignIn(ctx, fmt.Sprintf("take over a session of person %d", person), beginSignIn, d, person, began, Before)
	return signIn, err
}

// SignedIn reads whom a sign-in signs in, with the clubs that it may see and
// those for which organisers ended it, in the order of their ids. ErrNotFound
// when it was ended.
func (s *Store) SignedIn(ctx context.Context, person, signIn int64) (p *Person, clubs, ended []Membership, err error) {
	var b pgx.Batch
	var found []Person
	var all []Membership
	b.Queue(`SELECT * FROM signed_in($1, $2)`, person, signIn).Query(func(rows pgx.Rows) (err error) {
		found, err = pgx.CollectRows(rows, scanPerson)
		return err
	})
	b.Queue(`SELECT * FROM memberships_of($1)`, person).Query(func(rows pgx.Rows) (err error) {
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
	rows, err := s.pool.Query(ctx, `SELECT * FROM sign_ins_of($1, $2)`, person, longest)
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
	from := originOf(ctx)
	return s.changePerson(ctx, "end a sign-in", person, `SELECT end_sign_in($1, $2, $3, $4)`, person, signIn, from.Command, from.Source)
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
	if _, err := s.pool.Exec(ctx, `SELECT clear_sessions()`); err != nil {
		return fmt.Errorf("delete sessions that are over: %w", err)
	}
	return nil
}
