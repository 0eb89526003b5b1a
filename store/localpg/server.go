package localpg

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
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
	bin, err := usualLookup(o.BinDir).find(major)
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
	s := &Server{layout: l, log: o.Logger, lock: lock}
	defer func() {
		if err == nil {
			return
		}
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

// run takes a living server over or starts one, until one of the two worked.
func (s *Server) run(ctx context.Context, bin installation, who account, o Options) error {
	for try := 0; ; try++ {
		taken, err := s.takeOver(ctx)
		if err != nil || taken {
			return err
		}
		err = s.launch(ctx, bin, who, o)
		// Backends of a killed server hold its memory until they notice.
		if errors.Is(err, errStillHeld) && try < 100 && ctx.Err() == nil {
			time.Sleep(100 * time.Millisecond)
			continue
		}
		return err
	}
}

// launch starts the server as a child and waits until it is ready.
func (s *Server) launch(ctx context.Context, bin installation, who account, o Options) error {
	socket, short, err := s.layout.socketDir(who)
	if err != nil {
		return err
	}
	s.socket, s.short = socket, short
	removeSocket(socket)
	out, start, err := s.layout.openLog()
	if err != nil {
		return err
	}
	defer out.Close()
	cmd := exec.Command(bin.postgres(), serverArguments(s.layout.data, socket, o.Disposable)...)
	cmd.Dir = s.layout.cluster
	cmd.Env = serverEnvironment()
	cmd.Stdout, cmd.Stderr = out, out
	cmd.SysProcAttr = who.attributes()
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("start PostgreSQL: %w%s", err, who.hint(s.layout.data, bin.postgres()))
	}
	s.pid, s.adopted = cmd.Process.Pid, false
	exited := make(chan struct{})
	s.exited = exited
	var waitErr error
	go func() {
		waitErr = cmd.Wait()
		close(exited)
	}()
	began := time.Now()
	for told := began; ; {
		pf, err := s.layout.readPidFile()
		if err != nil {
			return err
		}
		if pf != nil && pf.pid == s.pid && pf.ready {
			s.log.Info("private PostgreSQL started", "version", bin.major, "pid", s.pid, "data", s.layout.data,
				"took", time.Since(began).Round(time.Millisecond))
			return nil
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("start PostgreSQL: %w", ctx.Err())
		case <-exited:
			return s.layout.explainExit(waitErr, start, who)
		case <-time.After(pause(time.Since(began))):
		}
		// Replaying the log of a killed server takes as long as it takes.
		if time.Since(told) > 5*time.Second {
			told = time.Now()
			s.log.Info("waiting for the private PostgreSQL to recover", "log", s.layout.log)
		}
	}
}

// pause is short at first, since a warm start takes hundredths of a second.
func pause(waited time.Duration) time.Duration {
	return min(max(waited/20, 2*time.Millisecond), 200*time.Millisecond)
}

func serverArguments(data, socket string, disposable bool) []string {
	args := []string{"-D", data}
	set := func(name, value string) { args = append(args, "-c", name+"="+value) }
	set("listen_addresses", "")
	set("port", port)
	set("unix_socket_directories", quoteListItem(socket))
	set("unix_socket_permissions", "0700")
	set("cluster_name", "pryday")
	set("timezone", "UTC")
	set("log_timezone", "UTC")
	set("logging_collector", "off")
	set("log_destination", "stderr")
	set("log_checkpoints", "off")
	// Compiling costs more than any query here takes.
	set("jit", "off")
	if disposable {
		set("fsync", "off")
		set("synchronous_commit", "off")
		set("full_page_writes", "off")
		set("wal_level", "minimal")
		set("max_wal_senders", "0")
		set("max_connections", "300") // many parallel tests, each with its pools
	}
	return args
}

// serverEnvironment keeps PGDATA, PGPORT, LC_ALL and the like of the daemon's user
// away from the server.
func serverEnvironment() []string {
	env := []string{"TZ=UTC", "LC_ALL=C"}
	for _, name := range []string{"PATH", "HOME", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH"} {
		if value, ok := os.LookupEnv(name); ok {
			env = append(env, name+"="+value)
		}
	}
	return env
}

// URL is the address of the database for its owner, as pgx and psql take it.
// A serving pool adds the run-time parameter role=pryday_app.
func (s *Server) URL() string { return s.url(OwnerRole, Database) }

func (s *Server) url(role, database string) string {
	query := url.Values{"host": {s.socket}, "port": {port}, "user": {role}, "sslmode": {"disable"}}
	// In these addresses a plus is a plus (libpq, "Connection URIs"), not a space.
	raw := strings.ReplaceAll(query.Encode(), "+", "%20")
	return (&url.URL{Scheme: "postgres", Path: "/" + database, RawQuery: raw}).String()
}

// StateDir is the state directory, symlinks resolved.
func (s *Server) StateDir() string { return s.layout.root }

// PID is the process number of the server.
func (s *Server) PID() int { return s.pid }

// Adopted tells that the server was started by an earlier daemon.
func (s *Server) Adopted() bool { return s.adopted }

// Exited is closed when the server has ended, by Stop or by itself.
func (s *Server) Exited() <-chan struct{} { return s.exited }

// Stop ends the server in order: sessions are cut off, everything is written, and
// Stop returns when the process is gone and the state directory is free. When ctx
// ends first, the server is told to quit at once, and will recover at the next
// start. A second Stop does nothing.
func (s *Server) Stop(ctx context.Context) error {
	var err error
	s.halt.Do(func() {
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

// quoteListItem makes a path safe inside a list setting, where commas separate.
func quoteListItem(path string) string {
	quoted := []byte{'"'}
	for i := range len(path) {
		if path[i] == '"' {
			quoted = append(quoted, '"')
		}
		quoted = append(quoted, path[i])
	}
	return string(append(quoted, '"'))
}

// openLog opens the server's log for appending and tells where this start begins
// in it. A log that has grown is put aside first.
func (l layout) openLog() (*os.File, int64, error) {
	if info, err := os.Lstat(l.log); err == nil && info.Size() > 8<<20 {
		if err := os.Rename(l.log, l.log+".1"); err != nil {
			return nil, 0, fmt.Errorf("put the server's log aside: %w", err)
		}
	}
	f, err := l.openOwn(l.log, os.O_WRONLY|os.O_APPEND)
	if err != nil {
		return nil, 0, fmt.Errorf("open the server's log: %w", err)
	}
	info, err := f.Stat()
	if err != nil {
		f.Close()
		return nil, 0, fmt.Errorf("open the server's log %s: %w", filepath.Base(l.log), err)
	}
	return f, info.Size(), nil
}
