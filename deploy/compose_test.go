package deploy

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"maps"
	"net"
	"net/http"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/jackc/pgx/v5"

	"pryday/testdata/testrun"
)

// composed is what compose.yaml describes, without containers: a PostgreSQL of
// several logins with passwords, which compose's own script makes, and the program
// with the environment of compose's services.
type composed struct {
	*testing.T
	files   string // what stands for the folders of the containers and for the secrets
	program string
	listen  string
}

// TestComposeHasTwoLogins follows compose.yaml from its first lines to a served page:
// the login that serves is made by the script, cannot become the owner, and the nightly
// backup's login is the owner's.
func TestComposeHasTwoLogins(t *testing.T) {
	c := &composed{T: t, files: t.TempDir(), listen: freeAddress(t)}
	for name, text := range map[string]string{"owner-password": "one for the owner", "serving-password": "it's another"} {
		c.write(name, text)
	}
	at := c.postgres()
	// As the first lines say, with the address of this database; passwords of theirs are of plain letters.
	c.write("owner-url", "postgres://pryday:one%20for%20the%20owner@"+at+"/pryday")
	c.write("database-url", "postgres://pryday_app:it%27s%20another@"+at+"/pryday")

	c.program = filepath.Join(t.TempDir(), "pryday")
	if out, err := exec.Command("go", "build", "-trimpath", "-o", c.program, "pryday/cmd/pryday").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	c.must(c.command("migrate"))
	serve := c.command("serve")
	var log bytes.Buffer
	serve.Stdout, serve.Stderr = &log, &log
	if err := serve.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- serve.Wait() }()
	stop := func() {
		_ = serve.Process.Signal(syscall.SIGTERM)
		if err := <-ended; err != nil {
			t.Errorf("the daemon: %v\n%s", err, &log)
		}
	}
	defer func() {
		if stop != nil {
			stop()
		}
	}()
	testrun.Until(t, "the daemon is ready", func() bool {
		select {
		case err := <-ended:
			ended <- nil
			t.Fatalf("it ended: %v\n%s", err, &log)
		default:
		}
		res, err := http.Get("http://" + c.listen + "/readyz")
		if err != nil {
			return false
		}
		defer res.Body.Close()
		said, _ := io.ReadAll(res.Body)
		return res.StatusCode == http.StatusOK && strings.Contains(string(said), "ready")
	})
	backup := filepath.Join(c.files, "one.backup")
	c.must(c.command("migrate", "backup", backup))
	if held, err := os.Stat(backup); err != nil || held.Size() == 0 {
		t.Errorf("there is no backup: %v", err)
	}
	testrun.Until(t, "the daily backup", func() bool {
		made, _ := filepath.Glob(filepath.Join(c.files, "var/backups/pryday", "*"))
		return len(made) > 0
	})
	stop()
	stop = nil
	if strings.Contains(log.String(), "could make itself the owner") || !strings.Contains(log.String(), "/setup/") {
		t.Errorf("the log warns of one login, or leads nobody in:\n%s", &log)
	}

	conn := c.connect(strings.TrimSpace(c.read("database-url")))
	for _, forbidden := range []string{"SET ROLE pryday", "SELECT count(*) FROM person", "TRUNCATE box", "CREATE TABLE mine ()", "ALTER ROLE pryday_app SUPERUSER"} {
		if _, err := conn.Exec(t.Context(), forbidden); err == nil || !strings.Contains(err.Error(), "permission denied") && !strings.Contains(err.Error(), "must be") {
			t.Errorf("%s as the login that serves: %v", forbidden, err)
		}
	}
	if wrong, err := pgx.Connect(t.Context(), "postgres://pryday_app:guessed@"+at+"/pryday"); err == nil {
		_ = wrong.Close(t.Context())
		t.Error("any password serves")
	}
	// It may be run again, which is how a database of one login gets the other.
	c.write("serving-password", "a new one")
	c.loginScript(at)
	c.connect("postgres://pryday_app:a%20new%20one@" + at + "/pryday")
}

// postgres makes and starts a PostgreSQL as the image of the service database does:
// the owner with a password for who comes over the network, and the scripts of its
// folder run once. It returns its address.
func (c *composed) postgres() string {
	c.Helper()
	bin := filepath.Dir(c.postgresProgram())
	home, err := os.MkdirTemp("", "compose") // an account that is not root must get at it
	if err != nil {
		c.Fatal(err)
	}
	c.Cleanup(func() { os.RemoveAll(home) })
	password := filepath.Join(home, "password")
	if err := os.WriteFile(password, []byte(c.read("owner-password")), 0o644); err != nil {
		c.Fatal(err)
	}
	as := &syscall.SysProcAttr{}
	if os.Getuid() == 0 {
		nobody, err := user.Lookup("nobody")
		if err != nil {
			c.Fatal(err)
		}
		uid, _ := strconv.Atoi(nobody.Uid)
		gid, _ := strconv.Atoi(nobody.Gid)
		as.Credential = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
		if err := os.Chown(home, uid, gid); err != nil {
			c.Fatal(err)
		}
	}
	run := func(cmd *exec.Cmd) *exec.Cmd {
		cmd.SysProcAttr, cmd.Dir = as, home
		return cmd
	}
	c.must(run(exec.Command(filepath.Join(bin, "initdb"), "-D", filepath.Join(home, "data"), "-U", "pryday", "--pwfile", password,
		"--auth-host", "scram-sha-256", "--auth-local", "trust", "--no-sync", "-E", "UTF8", "--locale", "C")))
	address := freeAddress(c)
	host, port, _ := net.SplitHostPort(address)
	server := run(exec.Command(filepath.Join(bin, "postgres"), "-D", filepath.Join(home, "data"), "-k", home, "-h", host, "-p", port, "-F"))
	var log bytes.Buffer
	server.Stderr = &log
	if err := server.Start(); err != nil {
		c.Fatal(err)
	}
	c.Cleanup(func() {
		_ = server.Process.Signal(syscall.SIGINT)
		_ = server.Wait()
	})
	testrun.Until(c, "PostgreSQL", func() bool {
		conn, err := pgx.Connect(c.Context(), fmt.Sprintf("host=%s port=%s user=pryday database=postgres", home, port))
		if err != nil {
			return false
		}
		defer conn.Close(context.WithoutCancel(c.Context()))
		_, err = conn.Exec(c.Context(), "CREATE DATABASE pryday")
		return err == nil
	})
	c.loginScript(address)
	return address
}

// loginScript runs compose's script with what its containers hold at their places.
func (c *composed) loginScript(at string) {
	c.Helper()
	script, err := os.ReadFile("postgres-login")
	if err != nil {
		c.Fatal(err)
	}
	host, port, _ := net.SplitHostPort(at)
	cmd := exec.Command("sh", "-c", c.placed(string(script)))
	cmd.Env = append(os.Environ(), "PATH="+filepath.Dir(c.postgresProgram())+":"+os.Getenv("PATH"), "POSTGRES_USER=pryday", "POSTGRES_DB=pryday", "PGHOST="+host, "PGPORT="+port, "PGPASSWORD="+c.read("owner-password"))
	c.must(cmd)
}

// postgresProgram is the newest that is installed.
func (c *composed) postgresProgram() string {
	c.Helper()
	if dir := os.Getenv("PRYDAY_POSTGRES_BIN"); dir != "" {
		return filepath.Join(dir, "postgres")
	}
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/postgres")
	if len(found) > 0 {
		return slices.Max(found)
	}
	path, err := exec.LookPath("postgres")
	if err != nil {
		c.Fatalf("%v: deploy/setup brings it", err)
	}
	return path
}

var (
	service  = regexp.MustCompile(`(?m)^  ([a-z]+):(?: &[a-z]+)?\n((?:    .*\n|\n)+)`)
	variable = regexp.MustCompile(`(?m)^      (PRYDAY_[A-Z_]+): (\S+)`)
	commands = regexp.MustCompile(`(?m)^    command: \[([a-z]+)\]$`)
)

// command is what a service of compose.yaml runs, or other arguments in its place.
func (c *composed) command(name string, instead ...string) *exec.Cmd {
	c.Helper()
	text, err := os.ReadFile("compose.yaml")
	if err != nil {
		c.Fatal(err)
	}
	_, services, _ := strings.Cut(string(text), "\nservices:\n")
	services, _, _ = strings.Cut(services, "\nsecrets:\n")
	env, args := map[string]string{}, instead
	for _, m := range service.FindAllStringSubmatch(services, -1) {
		ours := m[1] == name
		if ours || m[1] == "migrate" { // from which the others take what they do not say
			for _, v := range variable.FindAllStringSubmatch(m[2], -1) {
				env[v[1]] = c.placed(v[2])
			}
		}
		if said := commands.FindStringSubmatch(m[2]); ours && said != nil && len(instead) == 0 {
			args = append(args, said[1])
		}
	}
	if len(args) == 0 || len(env) < 5 {
		c.Fatalf("compose.yaml has no service %s as it was: command %q, environment %v", name, args, env)
	}
	env["PRYDAY_LISTEN"] = c.listen
	cmd := exec.CommandContext(context.WithoutCancel(c.Context()), c.program, args...)
	cmd.Env = append(os.Environ(), "LC_ALL=C")
	for _, key := range slices.Sorted(maps.Keys(env)) {
		cmd.Env = append(cmd.Env, key+"="+env[key])
	}
	return cmd
}

// placed returns a text with the folders of the containers where they are here.
func (c *composed) placed(text string) string {
	return strings.NewReplacer("/run/secrets", c.files, "/var/", filepath.Join(c.files, "var")+"/").Replace(text)
}

func (c *composed) must(cmd *exec.Cmd) {
	c.Helper()
	if out, err := cmd.CombinedOutput(); err != nil {
		c.Fatalf("%s: %v\n%s", cmd, err, out)
	}
}

func (c *composed) write(name, text string) {
	c.Helper()
	if err := os.WriteFile(filepath.Join(c.files, name), []byte(text), 0o600); err != nil {
		c.Fatal(err)
	}
}

func (c *composed) read(name string) string {
	c.Helper()
	text, err := os.ReadFile(filepath.Join(c.files, name))
	if err != nil {
		c.Fatal(err)
	}
	return string(text)
}

func (c *composed) connect(url string) *pgx.Conn {
	c.Helper()
	conn, err := pgx.Connect(c.Context(), url)
	if err != nil {
		c.Fatal(err)
	}
	c.Cleanup(func() { _ = conn.Close(context.WithoutCancel(c.Context())) })
	return conn
}

func freeAddress(t testing.TB) string {
	t.Helper()
	return fmt.Sprintf("127.0.0.1:%d", testrun.FreePort(t))
}
