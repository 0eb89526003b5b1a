package localpg

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

const unfinished = "data.new-" // prefix of the side name that initdb works under

// prepareData creates the data directory if there is none: under a side name that
// is renamed when it is complete, so that a first start cut short leaves no half.
func (l layout) prepareData(ctx context.Context, bin installation, who account, o Options) error {
	if err := os.Mkdir(l.cluster, 0o700); err != nil && !os.IsExist(err) {
		return fmt.Errorf("create %s: %w", l.cluster, err)
	}
	if err := who.give(l.cluster); err != nil {
		return fmt.Errorf("make %s private: %w", l.cluster, err)
	}
	leftovers, _ := filepath.Glob(filepath.Join(escapeGlob(l.cluster), unfinished+"*"))
	for _, dir := range leftovers {
		o.Logger.Info("removing an unfinished first start", "directory", dir)
		// An initdb that outlived its daemon may still be writing; the next start
		// sweeps again. It cannot harm this one, which works under another name.
		if err := os.RemoveAll(dir); err != nil {
			o.Logger.Warn("could not remove it", "error", err)
		}
	}
	if _, err := os.Lstat(l.data); err == nil {
		return nil
	}
	began := time.Now()
	side := filepath.Join(l.cluster, fmt.Sprintf("%s%d-%d", unfinished, os.Getpid(), began.UnixNano()))
	if err := l.initdb(ctx, bin, who, side, o.Disposable); err != nil {
		os.RemoveAll(side)
		return err
	}
	if err := os.Rename(side, l.data); err != nil {
		return fmt.Errorf("put the new data directory in place: %w", err)
	}
	if err := syncDir(l.cluster); err != nil {
		return fmt.Errorf("put the new data directory in place: %w", err)
	}
	o.Logger.Info("created the private PostgreSQL", "version", bin.major, "data", l.data,
		"took", time.Since(began).Round(time.Millisecond))
	return nil
}

func (l layout) initdb(ctx context.Context, bin installation, who account, side string, disposable bool) error {
	out, start, err := l.openLog()
	if err != nil {
		return err
	}
	defer out.Close()
	args := []string{
		"-D", side, "--username", superuser, "--encoding", "UTF8", "--locale", utf8Locale(),
		"--auth-local", "trust", // whoever gets through the 0700 directory is us
		"--auth-host", "reject",
		"--no-instructions",
	}
	if disposable {
		args = append(args, "--no-sync")
	} else {
		args = append(args, "--data-checksums")
	}
	cmd := exec.CommandContext(ctx, bin.initdb(), args...)
	cmd.Dir = l.cluster
	cmd.Env = serverEnvironment()
	cmd.Stdout, cmd.Stderr = out, out
	cmd.SysProcAttr = who.attributes()
	cmd.Cancel = func() error { return cmd.Process.Signal(syscall.SIGINT) }
	cmd.WaitDelay = 5 * time.Second
	err = cmd.Run()
	switch {
	case ctx.Err() != nil:
		return fmt.Errorf("create the database files: %w", ctx.Err())
	case err != nil && cmd.ProcessState == nil:
		return fmt.Errorf("run initdb: %w%s", err, who.hint(side, bin.initdb()))
	case err != nil:
		return fmt.Errorf("create the database files: %w", l.explainExit(err, start, who))
	}
	return nil
}

// ensureDatabase creates the roles and the database where they are missing, and
// lets the serving role of an earlier version log in. Each step stands alone, since
// a start can be cut off between any two.
func (s *Server) ensureDatabase(ctx context.Context) error {
	conn, err := pgx.Connect(ctx, s.url(superuser, superuser))
	if err != nil {
		return fmt.Errorf("connect to the private PostgreSQL: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var owner, app, login, member, database bool
	err = conn.QueryRow(ctx, `SELECT
		EXISTS (SELECT FROM pg_roles WHERE rolname = $1),
		EXISTS (SELECT FROM pg_roles WHERE rolname = $2),
		EXISTS (SELECT FROM pg_roles WHERE rolname = $2 AND rolcanlogin),
		EXISTS (SELECT FROM pg_auth_members m JOIN pg_roles r ON r.oid = m.roleid JOIN pg_roles o ON o.oid = m.member
			WHERE r.rolname = $2 AND o.rolname = $1),
		EXISTS (SELECT FROM pg_database WHERE datname = $3)`, OwnerRole, AppRole, Database).
		Scan(&owner, &app, &login, &member, &database)
	if err != nil {
		return fmt.Errorf("look for the database: %w", err)
	}
	for _, step := range []struct {
		done bool
		sql  string
	}{
		// Not a superuser. CREATEDB lets it restore a backup beside the original.
		{owner, "CREATE ROLE " + OwnerRole + " LOGIN CREATEDB"},
		{app, "CREATE ROLE " + AppRole},
		{login, "ALTER ROLE " + AppRole + " LOGIN"},
		{member, "GRANT " + AppRole + " TO " + OwnerRole},
		{database, "CREATE DATABASE " + Database + " OWNER " + OwnerRole},
	} {
		if step.done {
			continue
		}
		if _, err := conn.Exec(ctx, step.sql); err != nil {
			return fmt.Errorf("%s: %w", step.sql, err)
		}
	}
	return nil
}

// letServe lets the serving role log in, beside a daemon of an earlier version
// under which it could not.
func (s *Server) letServe(ctx context.Context) error {
	conn, err := pgx.Connect(ctx, s.url(superuser, superuser))
	if err != nil {
		return fmt.Errorf("connect to the private PostgreSQL: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var barred bool
	err = conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_roles WHERE rolname = $1 AND NOT rolcanlogin)`, AppRole).Scan(&barred)
	if err == nil && barred {
		_, err = conn.Exec(ctx, "ALTER ROLE "+AppRole+" LOGIN")
	}
	if err != nil {
		return fmt.Errorf("let the serving role log in: %w", err)
	}
	return nil
}

func syncDir(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer f.Close()
	return f.Sync()
}
