package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// takeOver looks at what an earlier daemon left: a server that answers is taken
// over; one that starts or stops is waited for; one that cannot be reached any
// more is stopped; the lock file of a dead one is judged and, where Postgres
// itself would be misled by it, removed. False means that none is running now.
func (s *Server) takeOver(ctx context.Context) (bool, error) {
	const (
		patience = 30 * time.Second // for a server that is there and does not answer
		reaping  = time.Second      // for a dead one's number to be freed
	)
	began, dead := time.Now(), false
	for {
		pf, err := s.layout.readPidFile()
		if err != nil || pf == nil {
			return false, err
		}
		answer := s.ask(ctx, pf.socket)
		if answer == nil {
			return true, s.adopt(pf)
		}
		waited := time.Since(began)
		switch inspectProcess(pf.pid, s.layout.data) {
		case gone:
			// Postgres clears this itself, after looking for survivors.
			return false, nil
		case zombie:
			if !dead {
				dead = true
				s.log.Info("waiting for the number of a dead PostgreSQL to be freed", "pid", pf.pid)
			}
			if waited > reaping {
				return false, s.dropPidFile(pf, "its process is dead, but not reaped")
			}
		case other:
			return false, s.dropPidFile(pf, "its process number is taken by another program")
		case ours:
			_, err := os.Lstat(filepath.Join(pf.socket, socketFile))
			switch {
			case starting(answer):
				// In recovery, or on its way down: either ends by itself.
			case pf.ready && os.IsNotExist(err) && waited > time.Second:
				s.log.Warn("stopping a PostgreSQL left behind whose socket is gone", "pid", pf.pid)
				if err := s.stopUnreachable(ctx, pf.pid); err != nil {
					return false, err
				}
				continue
			case waited > patience:
				return false, fmt.Errorf("a PostgreSQL of an earlier run (process %d) does not answer: %w; see %s",
					pf.pid, answer, s.layout.log)
			}
		}
		select {
		case <-ctx.Done():
			return false, fmt.Errorf("wait for the PostgreSQL of an earlier run: %w", ctx.Err())
		case <-time.After(pause(waited)):
		}
	}
}

// ask connects and makes sure that what answers serves this data directory.
func (s *Server) ask(ctx context.Context, socket string) error {
	if !filepath.IsAbs(socket) {
		return errors.New("no socket is named")
	}
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	conn, err := pgx.Connect(ctx, (&Server{socket: socket}).url(superuser, superuser))
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var data string
	if err := conn.QueryRow(ctx, "SHOW data_directory").Scan(&data); err != nil {
		return err
	}
	if data == s.layout.data {
		return nil
	}
	theirs, err1 := os.Stat(data)
	here, err2 := os.Stat(s.layout.data)
	if err1 != nil || err2 != nil || !os.SameFile(theirs, here) {
		return fmt.Errorf("the server at %s serves %s", socket, data)
	}
	return nil
}

func starting(err error) bool {
	var pg *pgconn.PgError
	return errors.As(err, &pg) && pg.Code == "57P03" // cannot_connect_now
}

// adopt takes responsibility for a server that is not a child.
func (s *Server) adopt(pf *pidFile) error {
	if !isServer(pf.pid) {
		return fmt.Errorf("a PostgreSQL answers at %s, but its process %d cannot be seen from here: "+
			"stop it where it runs (in another container?)", pf.socket, pf.pid)
	}
	exited := make(chan struct{})
	s.now(pf.pid, true, exited, pf.socket, filepath.Dir(pf.socket) != s.layout.cluster)
	go func() {
		defer close(exited)
		for isServer(pf.pid) {
			time.Sleep(20 * time.Millisecond)
		}
	}()
	s.log.Info("took over the private PostgreSQL of an earlier run", "pid", pf.pid, "data", s.layout.data)
	return nil
}

func (s *Server) stopUnreachable(ctx context.Context, pid int) error {
	if err := syscall.Kill(pid, syscall.SIGINT); err != nil && !errors.Is(err, syscall.ESRCH) {
		return fmt.Errorf("stop the PostgreSQL of an earlier run (process %d): %w", pid, err)
	}
	for inspectProcess(pid, s.layout.data) == ours {
		select {
		case <-ctx.Done():
			return fmt.Errorf("stop the PostgreSQL of an earlier run: %w", ctx.Err())
		case <-time.After(20 * time.Millisecond):
		}
	}
	return nil
}

// dropPidFile removes a lock file that Postgres would believe, since all it asks
// is whether some process has the number. Surviving backends are still noticed:
// Postgres finds their shared memory through the data directory's inode.
func (s *Server) dropPidFile(pf *pidFile, why string) error {
	s.log.Warn("removing the lock file of a PostgreSQL that was killed", "pid", pf.pid, "because", why)
	if err := os.Remove(s.layout.pidPath()); err != nil && !os.IsNotExist(err) {
		return fmt.Errorf("remove a stale lock file: %w", err)
	}
	return nil
}
