package store

import (
	"context"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
)

// Position is how far the primary had written its log, in bytes since it was
// made; zero where nobody cares. A replica that has replayed up to it shows all
// that was committed before.
type Position int64

const (
	watchReplica = time.Second      // between two looks at how far it is
	mostBehind   = 30 * time.Second // a replica that lags more is not read from
	replicaWait  = 2 * time.Second  // for a connection to it, before the primary is asked
	mostLagMarks = 3600
)

// replica is a second server that follows the primary, and what is known of it.
type replica struct {
	pool *pgxpool.Pool
	log  *slog.Logger
	stop context.CancelFunc
	done chan struct{}

	used     atomic.Bool
	replayed atomic.Int64 // Position
	reads    atomic.Int64

	mu    sync.Mutex
	marks []lagMark // of what it has not replayed yet, the oldest first
	lag   time.Duration
	said  string // in the log last
}

// lagMark is how far the primary was at a time.
type lagMark struct {
	at time.Time
	is Position
}

// openReplica prepares to read from a replica; it need not be there yet.
func (s *Store) openReplica(ctx context.Context, url string) error {
	c, err := servingConfig(url)
	if err != nil {
		return fmt.Errorf("replica: %w", err)
	}
	if s.cfg.MaxConns > 0 {
		c.MaxConns = s.cfg.MaxConns
	}
	settle := bound(c, replicaWait)
	settle()
	pool, err := pgxpool.NewWithConfig(ctx, c)
	if err != nil {
		return fmt.Errorf("connect to the replica: %w", err)
	}
	watching, stop := context.WithCancel(context.WithoutCancel(ctx))
	r := &replica{pool: pool, log: s.cfg.Logger, stop: stop, done: make(chan struct{})}
	if r.log == nil {
		r.log = slog.Default()
	}
	s.replica = r
	go func() {
		defer close(r.done)
		tick := time.NewTicker(watchReplica)
		defer tick.Stop()
		for {
			r.note(s.lookAtReplica(watching))
			select {
			case <-watching.Done():
				return
			case <-tick.C:
			}
		}
	}()
	return nil
}

func (r *replica) close() {
	if r == nil {
		return
	}
	r.stop()
	<-r.done
	r.pool.Close()
}

// lookAtReplica finds out how far the replica is behind, and returns why it
// cannot be read from.
func (s *Store) lookAtReplica(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, replicaWait)
	defer cancel()
	r := s.replica
	if here, err := s.Position(ctx); err == nil { // else what was is all that counts
		r.mark(time.Now(), here)
	}
	var follows, guarded bool
	var replayed int64
	err := r.pool.QueryRow(ctx, `
		SELECT pg_is_in_recovery(), row_security_active('box'), coalesce(pg_last_wal_replay_lsn() - '0/0'::pg_lsn, 0)::bigint`).Scan(&follows, &guarded, &replayed)
	switch {
	case err != nil:
		return err
	case !follows:
		return fmt.Errorf("it follows nobody")
	case !guarded:
		return ErrUnguarded
	}
	r.replayed.Store(replayed)
	if lag := r.catchUp(time.Now(), Position(replayed)); lag > mostBehind {
		return fmt.Errorf("it is %s behind", lag.Round(time.Second))
	}
	return nil
}

// note keeps whether the replica is read from.
func (r *replica) note(why error) {
	r.used.Store(why == nil)
	says := "the replica is read from"
	if why != nil {
		says = "the replica is not read from"
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if says == r.said {
		return
	}
	r.said = says
	if why != nil {
		r.log.Warn(says, "err", why)
		return
	}
	r.log.Info(says)
}

// mark notes how far the primary is.
func (r *replica) mark(at time.Time, is Position) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if n := len(r.marks); n < mostLagMarks && (n == 0 || r.marks[n-1].is < is) {
		r.marks = append(r.marks, lagMark{at, is})
	}
}

// catchUp notes how far the replica is, and returns for how long the oldest of
// what it lacks has been there.
func (r *replica) catchUp(at time.Time, replayed Position) time.Duration {
	r.mu.Lock()
	defer r.mu.Unlock()
	for len(r.marks) > 0 && r.marks[0].is <= replayed {
		r.marks = r.marks[1:]
	}
	r.lag = 0
	if len(r.marks) > 0 {
		r.lag = at.Sub(r.marks[0].at)
	}
	return r.lag
}

// has reports whether the replica shows what was committed up to a position.
func (r *replica) has(ctx context.Context, seen Position) bool {
	if int64(seen) <= r.replayed.Load() {
		return true
	}
	var replayed int64
	err := r.pool.QueryRow(ctx, `SELECT coalesce(pg_last_wal_replay_lsn() - '0/0'::pg_lsn, 0)::bigint`).Scan(&replayed)
	return err == nil && int64(seen) <= replayed
}

// Position returns how far the primary has written by now.
func (s *Store) Position(ctx context.Context) (Position, error) {
	var p Position
	err := s.pool.QueryRow(ctx, `SELECT (pg_current_wal_insert_lsn() - '0/0'::pg_lsn)::bigint`).Scan(&p)
	if err != nil {
		return 0, fmt.Errorf("ask how far the database is: %w", err)
	}
	return p, nil
}

// HasReplica reports whether a replica is configured.
func (s *Store) HasReplica() bool { return s.replica != nil }

// ReplicaState is how a replica does.
type ReplicaState struct {
	Configured   bool
	Used         bool          // it is read from
	Lag          time.Duration // of the oldest of what it lacks; 0 while it lacks nothing
	Reads        int64         // of snapshots that it gave
	PrimaryReads int64         // of those that the primary gave
}

// ReplicaState returns how the replica does.
func (s *Store) ReplicaState() ReplicaState {
	state := ReplicaState{PrimaryReads: s.primaryReads.Load()}
	if r := s.replica; r != nil {
		r.mu.Lock()
		defer r.mu.Unlock()
		state.Configured, state.Used, state.Lag, state.Reads = true, r.used.Load(), r.lag, r.reads.Load()
	}
	return state
}
