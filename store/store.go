// Package store remembers: all SQL of Pryday stands here, one file per noun.
//
// A club's rows are read and written inside InClub alone. The serving pool
// runs as a role that row-level security binds, so a forgotten WHERE cannot
// show another club.
package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"pryday/migrations"
)

// What callers branch on. Each comes wrapped with what was being done to
// which record.
var (
	ErrNotFound      = errors.New("not found")
	ErrGone          = errors.New("this address has been withdrawn")
	ErrVisitChanged  = errors.New("this visit has changed")
	ErrSuperseded    = errors.New("this opening has been corrected already")
	ErrExists        = errors.New("there is one already")
	ErrLastOrganiser = errors.New("a club keeps at least one organiser")
	ErrTokenSpent    = errors.New("this address has been used or has expired")
	ErrSchemaOlder   = migrations.ErrSchemaOlder
	ErrSchemaNewer   = migrations.ErrSchemaNewer
	ErrUnguarded     = errors.New("row-level security does not bind the serving role")
)

// Config says which database to remember in.
type Config struct {
	URL      string // of the owner of the tables; the serving pool steps down from it
	MaxConns int32  // of the serving pool; 0 takes pgx's default
}

// Store is the memory of one installation.
type Store struct {
	pool *pgxpool.Pool
	cfg  Config
}

// Tx is one transaction that sees one club.
type Tx struct {
	tx   pgx.Tx
	club int64
}

// FeedChannel is the notification channel on which every committed change of
// what a calendar shows is told, as "<club> <feed version>".
const FeedChannel = "pryday_feed"

// Open connects the serving pool. It refuses a schema older or newer than
// this program (ErrSchemaOlder, ErrSchemaNewer) and a role that row-level
// security does not bind (ErrUnguarded).
func Open(ctx context.Context, cfg Config) (*Store, error) { panic("not written yet") }

// Close ends the serving pool.
func (s *Store) Close() { s.pool.Close() }

// Ready returns nil when the database answers and has this program's schema.
func (s *Store) Ready(ctx context.Context) error { panic("not written yet") }

// Pool is the serving pool, for the session library.
func (s *Store) Pool() *pgxpool.Pool { return s.pool }

// JobsPool opens a pool as the owner, for the job engine alone.
func (s *Store) JobsPool(ctx context.Context, maxConns int32) (*pgxpool.Pool, error) {
	panic("not written yet")
}

// Listen opens a connection of its own that listens on channels.
func (s *Store) Listen(ctx context.Context, channels ...string) (*pgx.Conn, error) {
	panic("not written yet")
}

// InClub runs fn in one READ COMMITTED transaction that sees one club, and
// commits unless fn returns an error or panics. A deadlock or a change of
// what must be locked runs fn again, so fn must not have effects of its own.
func (s *Store) InClub(ctx context.Context, club int64, fn func(*Tx) error) error {
	panic("not written yet")
}

// InSnapshot runs fn in one read-only transaction whose statements all see
// the same moment.
func (s *Store) InSnapshot(ctx context.Context, club int64, fn func(*Tx) error) error {
	panic("not written yet")
}

// ClubID is the club that tx sees.
func (tx *Tx) ClubID() int64 { return tx.club }

// Secret returns the installation's signing key of a name, 32 random bytes
// made at the first call.
func (s *Store) Secret(ctx context.Context, name string) ([]byte, error) { panic("not written yet") }

// AuditEntry is one line of who changed what.
type AuditEntry struct {
	ID       int64
	At       time.Time
	MemberID int64  // 0 for the program itself
	Action   string // a verb, such as "move visit"
	Subject  string // what it was done to, in words
	Detail   any    // anything JSON can hold; nil for none
}

// Audit adds one line.
func (tx *Tx) Audit(ctx context.Context, e AuditEntry) error { panic("not written yet") }

// AuditTrail lists the newest lines first, before an id (0 for the newest).
func (tx *Tx) AuditTrail(ctx context.Context, before int64, limit int) ([]AuditEntry, error) {
	panic("not written yet")
}
