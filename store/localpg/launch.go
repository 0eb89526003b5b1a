package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"time"
)

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
			if try == 0 {
				s.log.Info("waiting for what is left of a killed PostgreSQL to end", "data", s.layout.data)
			}
			time.Sleep(100 * time.Millisecond)
			continue
		}
		return err
	}
}

// launch starts the server as a child and waits until it is ready.
func (s *Server) launch(ctx context.Context, bin installation, who account, o Options) error {
	socket, short, err := s.socketDir(who)
	if err != nil {
		return err
	}
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
	exited := make(chan struct{})
	s.now(cmd.Process.Pid, false, exited, socket, short)
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
	set("log_error_verbosity", "terse") // the details of an error may be what a row holds, such as an address
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
