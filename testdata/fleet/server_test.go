package fleet

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"syscall"
	"testing"

	"github.com/jackc/pgx/v5"

	"pryday/testdata/testrun"
)

// server is a PostgreSQL on a port of this machine.
type server struct {
	t    testing.TB
	dir  string
	port int
	cmd  *exec.Cmd
}

// account is whom PostgreSQL runs as, which refuses to run as root.
func account(t testing.TB) *syscall.SysProcAttr {
	t.Helper()
	if os.Getuid() != 0 {
		return &syscall.SysProcAttr{}
	}
	u, err := user.Lookup("postgres")
	if err != nil {
		t.Fatal(err)
	}
	uid, err := strconv.ParseUint(u.Uid, 10, 32)
	if err != nil {
		t.Fatal(err)
	}
	gid, err := strconv.ParseUint(u.Gid, 10, 32)
	if err != nil {
		t.Fatal(err)
	}
	return &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}
}

// program is one of PostgreSQL's newest installed ones.
func program(t testing.TB, name string) string {
	t.Helper()
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/" + name)
	if err != nil || len(found) == 0 {
		t.Fatalf("there is no %s under /usr/lib/postgresql: %v", name, err)
	}
	return slices.Max(found)
}

// newServer makes a folder for a server and takes a free port.
func newServer(t testing.TB) *server {
	t.Helper()
	// Not t.TempDir: the server's account cannot enter that.
	dir, err := os.MkdirTemp("", "pryday-fleet-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if who := account(t).Credential; who != nil {
		if err := os.Chown(dir, int(who.Uid), int(who.Gid)); err != nil {
			t.Fatal(err)
		}
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return &server{t: t, dir: dir, port: l.Addr().(*net.TCPAddr).Port}
}

// run runs one of PostgreSQL's programs to its end.
func (s *server) run(name string, args ...string) {
	s.t.Helper()
	cmd := exec.Command(program(s.t, name), args...)
	cmd.Dir, cmd.SysProcAttr = s.dir, account(s.t)
	if out, err := cmd.CombinedOutput(); err != nil {
		s.t.Fatalf("%s: %v\n%s", name, err, out)
	}
}

func (s *server) data() string { return filepath.Join(s.dir, "data") }

// start starts the server and waits until it answers.
func (s *server) start(settings ...string) {
	s.t.Helper()
	args := []string{"-D", s.data(), "-p", strconv.Itoa(s.port), "-c", "listen_addresses=127.0.0.1", "-c", "unix_socket_directories=", "-c", "fsync=off"}
	for _, set := range settings {
		args = append(args, "-c", set)
	}
	log, err := os.Create(filepath.Join(s.dir, "log"))
	if err != nil {
		s.t.Fatal(err)
	}
	defer log.Close()
	s.cmd = exec.Command(program(s.t, "postgres"), args...)
	s.cmd.Dir, s.cmd.SysProcAttr, s.cmd.Stdout, s.cmd.Stderr = s.dir, account(s.t), log, log
	if err := s.cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
	s.t.Cleanup(s.crash)
	testrun.Until(s.t, "PostgreSQL answers", func() bool {
		conn, err := pgx.Connect(context.Background(), s.url("postgres", "postgres"))
		if err == nil {
			conn.Close(context.Background())
		}
		return err == nil
	})
}

// crash ends the server at once, as the loss of its machine would.
func (s *server) crash() {
	s.cmd.Process.Signal(syscall.SIGQUIT) // the others of it end too, writing nothing down
	s.cmd.Wait()
}

// url is an address of the server for a login; others may be tried too.
func (s *server) url(login, database string, others ...*server) string {
	hosts := fmt.Sprintf("127.0.0.1:%d", s.port)
	for _, o := range others {
		hosts += fmt.Sprintf(",127.0.0.1:%d", o.port)
	}
	return fmt.Sprintf("postgres://%s@%s/%s?sslmode=disable&connect_timeout=5", login, hosts, database)
}

// query reads one value.
func (s *server) query(sql string, into any) error {
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, s.url("postgres", "pryday"))
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	return conn.QueryRow(ctx, sql).Scan(into)
}

// count reads a number; -1 while the server does not answer.
func (s *server) count(sql string) int {
	n := -1
	if err := s.query(sql, &n); err != nil {
		return -1
	}
	return n
}

// newPrimary starts a server that keeps nothing from its replica.
func newPrimary(t testing.TB) *server {
	t.Helper()
	s := newServer(t)
	s.run("initdb", "-D", s.data(), "-U", "postgres", "--auth", "trust", "-E", "UTF8", "--no-sync", "--no-instructions")
	s.start()
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, s.url("postgres", "postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	for _, sql := range []string{
		`CREATE ROLE pryday LOGIN CREATEROLE`, `CREATE ROLE pryday_app LOGIN`, `GRANT pryday_app TO pryday`, `CREATE DATABASE pryday OWNER pryday`,
	} {
		if _, err := conn.Exec(ctx, sql); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// follow starts a replica of the server, which from then on tells of a commit only
// when the replica has it.
func (s *server) follow() *server {
	s.t.Helper()
	r := newServer(s.t)
	r.run("pg_basebackup", "-d", s.url("postgres", "postgres")+"&application_name=replica", "-D", r.data(), "-R", "-X", "stream", "--checkpoint=fast", "--no-sync")
	r.start("hot_standby_feedback=on")
	conn, err := pgx.Connect(context.Background(), s.url("postgres", "postgres"))
	if err != nil {
		s.t.Fatal(err)
	}
	defer conn.Close(context.Background())
	for _, sql := range []string{`ALTER SYSTEM SET synchronous_standby_names = '*'`, `SELECT pg_reload_conf()`} {
		if _, err := conn.Exec(context.Background(), sql); err != nil {
			s.t.Fatal(err)
		}
	}
	return r
}
