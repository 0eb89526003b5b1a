// Package store remembers: all SQL of Pryday stands here, one file per noun.
//
// A club's rows are read and written inside InClub alone. The serving pool
// runs as a role that row-level security binds, so a forgotten WHERE cannot
// show another club.
package store

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"

	"pryday/migrations"
)

// What callers branch on. Each comes wrapped with what was being done to
// which record.
var (
	ErrNotFound      = errors.New("not found")
	ErrGone          = errors.New("this address has been withdrawn")
	ErrVisitChanged  = errors.New("this visit has changed")
	ErrRulesChanged  = errors.New("the rules have changed")
	ErrSuperseded    = errors.New("this opening has been corrected already")
	ErrTakenBack     = errors.New("this opening has been taken back")
	ErrExists        = errors.New("there is one already")
	ErrStandstill    = errors.New("the apiary is at a standstill")
	ErrStackChanged  = errors.New("this stack has changed")
	ErrBackwards     = errors.New("a box moves forward in time only")
	ErrMarkTaken     = errors.New("a box of the hive has this mark")
	ErrNotEmpty      = errors.New("it is not empty")
	ErrLastOrganiser = errors.New("a club keeps at least one organiser")
	ErrTooMany       = errors.New("this was asked for too often")
	ErrTokenSpent    = errors.New("this address has been used or has expired")
	ErrSchemaOlder   = migrations.ErrSchemaOlder
	ErrSchemaNewer   = migrations.ErrSchemaNewer
	ErrUnguarded     = errors.New("row-level security does not bind the serving role")
	ErrMayOwn        = errors.New("the login that serves can become the owner of the records")
)

// Config says which database to remember in.
type Config struct {
	URL      string        // of a login that may take on the serving role, best one that can be nothing else
	MaxConns int32         // of the serving pool; 0 takes pgx's default
	MaxWait  time.Duration // for one of its connections, and for a statement that nothing else ends; 0 means 10 seconds
	Apart    bool          // refuse a login that can become the owner
	Replica  string        // address of a server that follows the other, for the same login; empty for none
	Logger   *slog.Logger  // nil means slog.Default
}

// Store is the memory of one installation. It is safe for concurrent use.
type Store struct {
	pool *pgxpool.Pool
	jobs *river.Client[pgx.Tx] // inserts only
	cfg  Config
	keys keyRing

	mayOwn       atomic.Bool // see MayOwn
	replica      *replica    // nil for none
	primaryReads atomic.Int64
}

// FeedChannel is the notification channel on which every committed change of
// what a calendar shows is told, as "<club> <feed version>".
const FeedChannel = "pryday_feed"

// ParseFeedChange reads what is told on FeedChannel.
func ParseFeedChange(payload string) (club, version int64, err error) {
	if _, err := fmt.Sscanf(payload, "%d %d", &club, &version); err != nil {
		return 0, 0, fmt.Errorf("feed change %q: %w", payload, err)
	}
	return club, version, nil
}

// Open connects the serving pool. It refuses a schema older or newer than
// this program (ErrSchemaOlder, ErrSchemaNewer), a role that row-level security
// does not bind (ErrUnguarded), and where cfg says so a login that can be more
// than that role (ErrMayOwn).
func Open(ctx context.Context, cfg Config) (*Store, error) {
	c, err := servingConfig(cfg.URL)
	if err != nil {
		return nil, err
	}
	if cfg.MaxConns > 0 {
		c.MaxConns = cfg.MaxConns
	}
	settle := bound(c, cfg.MaxWait)
	pool, err := pgxpool.NewWithConfig(ctx, c)
	if err != nil {
		return nil, fmt.Errorf("connect to the database: %w", err)
	}
	s := &Store{pool: pool, cfg: cfg, keys: keyRing{byName: map[string]*Keys{}}}
	if err := s.guarded(ctx); err != nil {
		pool.Close()
		return nil, err
	}
	settle()
	s.jobs, err = river.NewClient(riverpgxv5.New(pool), &river.Config{})
	if err != nil {
		pool.Close()
		return nil, fmt.Errorf("prepare to insert jobs: %w", err)
	}
	if cfg.Replica != "" {
		if err := s.openReplica(ctx, cfg.Replica); err != nil {
			pool.Close()
			return nil, err
		}
	}
	return s, nil
}

// servingConfig is how the serving role connects, to whichever server.
func servingConfig(url string) (*pgxpool.Config, error) {
	c, err := roleConfig(url)
	if err != nil {
		return nil, err
	}
	// Every statement here finds its rows by an index. Sessions keep plans, and
	// one made while a table was small would go on reading the whole of it as it
	// grows, until Postgres counts the rows anew (plans.md has what was measured).
	// What does read whole tables, club_versions, says so itself.
	c.ConnConfig.RuntimeParams["enable_seqscan"] = "off"
	c.ConnConfig.RuntimeParams["random_page_cost"] = "1.1"
	c.ConnConfig.RuntimeParams["jit"] = "off" // compiling takes longer than any statement here
	// Nobody waits for ever for a daemon that hangs in the middle of a change.
	c.ConnConfig.RuntimeParams["lock_timeout"] = "30s"
	c.ConnConfig.RuntimeParams["statement_timeout"] = "60s" // the longest write of a large import takes a few
	c.ConnConfig.RuntimeParams["idle_in_transaction_session_timeout"] = "60s"
	c.AfterConnect = registerDates
	return c, nil
}

// roleConfig connects as the serving role. Of several servers the one that may be
// written to is meant, unless the address says otherwise.
func roleConfig(url string) (*pgxpool.Config, error) {
	c, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("read the database address: %w", err)
	}
	c.ConnConfig.RuntimeParams["role"] = migrations.Role
	several := slices.ContainsFunc(c.ConnConfig.Fallbacks, func(f *pgconn.FallbackConfig) bool {
		return f.Host != c.ConnConfig.Host || f.Port != c.ConnConfig.Port
	})
	if several && c.ConnConfig.ValidateConnect == nil {
		c.ConnConfig.ValidateConnect = pgconn.ValidateConnectTargetSessionAttrsReadWrite
	}
	return c, nil
}

// guarded returns nil when the schema is this program's and the policies bind.
func (s *Store) guarded(ctx context.Context) error {
	if err := s.pool.Ping(ctx); err != nil {
		switch code(err) {
		case "22023": // role does not exist: nobody ever migrated here
			return fmt.Errorf("%w: the role %s is missing", ErrSchemaOlder, migrations.Role)
		case "42501":
			return fmt.Errorf("the login may not take on the role %s (an administrator can: GRANT %[1]s TO it): %w", migrations.Role, err)
		}
		return fmt.Errorf("reach the database: %w", err)
	}
	if err := migrations.Check(ctx, s.pool); err != nil {
		return err
	}
	var active, more bool
	err := s.pool.QueryRow(ctx, `
		SELECT row_security_active('box'), EXISTS (
		       SELECT FROM pg_roles r JOIN pg_class c ON c.oid = 'box'::regclass
		        WHERE r.rolname = session_user AND (r.rolsuper OR r.rolbypassrls OR r.rolcreaterole OR pg_has_role(r.oid, c.relowner, 'MEMBER')))`).Scan(&active, &more)
	if err != nil {
		return fmt.Errorf("ask whether row-level security is active: %w", err)
	}
	s.mayOwn.Store(more)
	switch {
	case !active:
		return ErrUnguarded
	case more && s.cfg.Apart:
		return ErrMayOwn
	}
	return nil
}

// MayOwn reports whether the login that serves can become the owner of the
// records, or of more: then the policies and the functions hold as long as
// nobody who gets at it thinks of that.
func (s *Store) MayOwn() bool { return s.mayOwn.Load() }

// Close ends the serving pools.
func (s *Store) Close() {
	s.replica.close()
	s.pool.Close()
}

// Ready returns nil when the database answers and has this program's schema.
func (s *Store) Ready(ctx context.Context) error { return s.guarded(ctx) }

// Pool is the serving pool, for its size and for tests.
func (s *Store) Pool() *pgxpool.Pool { return s.pool }

// JobsPool opens a pool for the job engine alone, as the serving role too. Its
// caller closes it.
func (s *Store) JobsPool(ctx context.Context, maxConns int32) (*pgxpool.Pool, error) {
	c, err := roleConfig(s.cfg.URL)
	if err != nil {
		return nil, err
	}
	reach(c)
	if maxConns > 0 {
		c.MaxConns = maxConns
	}
	pool, err := pgxpool.NewWithConfig(ctx, c)
	if err != nil {
		return nil, fmt.Errorf("connect the job engine to the database: %w", err)
	}
	return pool, nil
}

// Listen opens a connection of its own that listens on channels. Its caller
// closes it.
func (s *Store) Listen(ctx context.Context, channels ...string) (*pgx.Conn, error) {
	conn, err := pgx.ConnectConfig(ctx, s.pool.Config().ConnConfig)
	if err != nil {
		return nil, fmt.Errorf("connect to the database to listen: %w", err)
	}
	for _, channel := range channels {
		if _, err := conn.Exec(ctx, `LISTEN `+pgx.Identifier{channel}.Sanitize()); err != nil {
			conn.Close(ctx)
			return nil, fmt.Errorf("listen on %s: %w", channel, err)
		}
	}
	return conn, nil
}

// code returns the SQLSTATE of an error of the database, or "".
func code(err error) string {
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		return pg.Code
	}
	return ""
}

// The SQLSTATEs that callers can do something about.
const (
	uniqueViolation     = "23505"
	foreignKeyViolation = "23503"
	deadlockDetected    = "40P01"
)

// validText makes what a stranger sent fit for a text column: valid UTF-8, no
// NUL, at most max bytes.
func validText(s string, max int) string {
	if len(s) > max {
		s = s[:max]
	}
	return strings.ReplaceAll(strings.ToValidUTF8(s, ""), "\x00", "")
}
