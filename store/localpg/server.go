package localpg

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net/url"
	"os"
	"strings"
	"sync"
	"syscall"
	"time"
)

// Server is a running private Postgres.
type Server struct {
	layout  layout
	log     *slog.Logger
	lock    *os.File
	socket  string        // directory of the socket
	short   bool          // the socket directory is outside the state directory
	pid     int           // the postmaster
	adopted bool          // started by an earlier daemon
	exited  chan struct{} // closed when the server has ended
	halt    sync.Once

	// What starting it again takes.
	bin      installation
	who      account
	options  Options
	lately   sync.Mutex // guards pid, adopted, exited and socket while Keep changes them
	stopping context.Context
	stop     context.CancelFunc
	keeping  sync.WaitGroup
	ends     series // by itself
}

// Start brings the private Postgres of a state directory up and returns when it
// takes connections and the database and its roles are there. It creates the
// data on first use, takes over a server that an earlier daemon left running, and
// recovers one that was killed.
//
// It fails with ErrInUse when another daemon holds the state directory, with
// ErrNotInstalled when there is no Postgres, and with ErrWrongVersion when the
// data needs another version of it. ctx bounds the start only.
func Start(ctx context.Context, o Options) (_ *Server, err error) {
	o, err = o.withDefaults()
	if err != nil {
		return nil, err
	}
	// Before anything is created: what is there, and who may read it.
	found, err := existingLayout(o.StateDir)
	if errors.Is(err, fs.ErrNotExist) {
		found, err = newLayout(o.StateDir), nil
	}
	if err != nil {
		return nil, err
	}
	who, err := chooseAccount(o.Account, found)
	if err != nil {
		return nil, err
	}
	major, err := found.dataMajor()
	if err != nil {
		return nil, err
	}
	if found.cutShort() != "" {
		return nil, fmt.Errorf("%w: finish it with: %s", ErrUpgradeCutShort, upgradeCommand(found.root))
	}
	bin, err := usualLookup(o.BinDir).find(major)
	if newer, _ := usualLookup("").newest(o.BinDir); errors.Is(err, ErrWrongVersion) && newer.major > major {
		return nil, fmt.Errorf("%w. The command that takes the records to the newest version installed, once both are: %s "+
			"(where the old one cannot be had any more, give it a backup: --from-backup FILE)", err, upgradeCommand(found.root))
	}
	if err != nil {
		return nil, err
	}
	l, err := makeStateDir(o.StateDir)
	if err != nil {
		return nil, err
	}
	lock, err := l.takeLock()
	if err != nil {
		return nil, err
	}
	s := &Server{layout: l, log: o.Logger, lock: lock, bin: bin, who: who, options: o}
	s.stopping, s.stop = context.WithCancel(context.Background())
	defer func() {
		if err == nil {
			return
		}
		s.stop()
		if s.exited != nil && !s.adopted {
			stopping, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
			defer cancel()
			err = errors.Join(err, s.stopServer(stopping))
		}
		lock.Close()
	}()
	if err = l.prepareData(ctx, bin, who, o); err != nil {
		return nil, err
	}
	if err = s.run(ctx, bin, who, o); err != nil {
		return nil, err
	}
	if err = s.ensureDatabase(ctx); err != nil {
		return nil, err
	}
	return s, nil
}

// upgradeCommand is what a person types.
func upgradeCommand(stateDir string) string { return "pryday upgrade-database --state-dir " + stateDir }

// URL is the address of the database for its owner, as pgx and psql take it.
func (s *Server) URL() string { return s.url(OwnerRole, Database) }

// Addresses are those of a database: its owner's, and that of what serves, as
// pgx and psql take them.
type Addresses struct{ Owner, Serving string }

// Addresses are those of the server's database.
func (s *Server) Addresses() Addresses {
	return Addresses{Owner: s.URL(), Serving: s.url(AppRole, Database)}
}

func (s *Server) url(role, database string) string {
	s.lately.Lock()
	defer s.lately.Unlock()
	query := url.Values{"host": {s.socket}, "port": {port}, "user": {role}, "sslmode": {"disable"}}
	// In these addresses a plus is a plus (libpq, "Connection URIs"), not a space.
	raw := strings.ReplaceAll(query.Encode(), "+", "%20")
	return (&url.URL{Scheme: "postgres", Path: "/" + database, RawQuery: raw}).String()
}

// PID is the process number of the server.
func (s *Server) PID() int {
	s.lately.Lock()
	defer s.lately.Unlock()
	return s.pid
}

// Adopted tells that the server was started by an earlier daemon.
func (s *Server) Adopted() bool {
	s.lately.Lock()
	defer s.lately.Unlock()
	return s.adopted
}

// Exited is closed when the server has ended, by Stop or by itself. One that Keep
// has started again has another.
func (s *Server) Exited() <-chan struct{} {
	s.lately.Lock()
	defer s.lately.Unlock()
	return s.exited
}

// now notes which process the server is, and where it answers.
func (s *Server) now(pid int, adopted bool, exited chan struct{}, socket string, short bool) {
	s.lately.Lock()
	defer s.lately.Unlock()
	s.pid, s.adopted, s.exited, s.socket, s.short = pid, adopted, exited, socket, short
}

// Stop ends the server in order: sessions are cut off, everything is written, and
// Stop returns when the process is gone and the state directory is free. When ctx
// ends first, the server is told to quit at once, and will recover at the next
// start. A second Stop does nothing.
func (s *Server) Stop(ctx context.Context) error {
	var err error
	s.halt.Do(func() {
		s.stop()
		s.keeping.Wait()
		err = s.stopServer(ctx)
		if s.short {
			os.Remove(s.socket) // fails, as it should, when anything is left in it
		}
		if closeErr := s.lock.Close(); err == nil && closeErr != nil {
			err = fmt.Errorf("release %s: %w", s.layout.lock, closeErr)
		}
	})
	return err
}

func (s *Server) stopServer(ctx context.Context) error {
	began := time.Now()
	// SIGINT is Postgres's fast shutdown, SIGQUIT its immediate one (pg_ctl -m).
	if err := s.signal(syscall.SIGINT); err != nil {
		return err
	}
	select {
	case <-s.exited:
		s.log.Info("private PostgreSQL stopped", "took", time.Since(began).Round(time.Millisecond))
		return nil
	case <-ctx.Done():
	}
	if err := s.signal(syscall.SIGQUIT); err != nil {
		return err
	}
	select {
	case <-s.exited:
		return fmt.Errorf("PostgreSQL did not stop in time and was cut off; it recovers at the next start: %w", ctx.Err())
	case <-time.After(10 * time.Second):
		return fmt.Errorf("PostgreSQL (process %d) does not stop: see %s", s.pid, s.layout.log)
	}
}

func (s *Server) signal(sig syscall.Signal) error {
	select {
	case <-s.exited: // its number may by now be somebody else's
		return nil
	default:
	}
	if err := syscall.Kill(s.pid, sig); err != nil && !errors.Is(err, syscall.ESRCH) {
		return fmt.Errorf("stop PostgreSQL (process %d): %w", s.pid, err)
	}
	return nil
}
