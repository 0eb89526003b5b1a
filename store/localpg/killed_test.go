package localpg

import (
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"pryday/testdata/testrun"
)

func TestKilledDaemonLeavesAServerToTakeOver(t *testing.T) {
	oneUsed(t, func(t *testing.T, p person, dir string) {
		first := run(t, p, dir)
		exec1(t, first.URL, "CREATE TABLE note (said text)")
		first.kill(t)
		if !isServer(first.PID) {
			t.Fatal("the server went with its daemon")
		}
		second := run(t, p, dir)
		if !second.Adopted || second.PID != first.PID {
			t.Errorf("adopted %v, process %d; want process %d", second.Adopted, second.PID, first.PID)
		}
		exec1(t, second.URL, "TABLE note")
		if third := try(t, p, dir); !strings.Contains(third.Failed, ErrInUse.Error()) {
			t.Errorf("beside a daemon that took over, another said %q", third.Failed)
		}
		second.stop(t, dir)
	})
}

func TestBothKilledRecovers(t *testing.T) {
	oneUsed(t, func(t *testing.T, p person, dir string) {
		first := run(t, p, dir, "LOCALPG_TEST_DURABLE=1")
		exec1(t, first.URL, "CREATE TABLE note (said text)")
		exec1(t, first.URL, "INSERT INTO note VALUES ('kept')")
		first.kill(t)
		killServer(t, first.PID)
		second := run(t, p, dir, "LOCALPG_TEST_DURABLE=1")
		if second.Adopted {
			t.Error("a dead server was taken over")
		}
		if got := ask[string](t, second.URL, "SELECT said FROM note"); got != "kept" {
			t.Errorf("note is %q", got)
		}
		second.stop(t, dir)
	})
}

// bystander is a program of the server's account that has nothing to do with it.
func bystander(t *testing.T, dir string) *exec.Cmd {
	t.Helper()
	owner, err := ownerOf(newLayout(dir).cluster)
	if err != nil || owner == nil {
		t.Fatal(owner, err)
	}
	cmd := exec.Command("sleep", "300")
	cmd.Dir = "/"
	if os.Getuid() == 0 {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(owner.uid), Gid: uint32(owner.gid)}}
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if cmd.ProcessState == nil {
			cmd.Process.Kill()
			cmd.Wait()
		}
	})
	return cmd
}

// numberIn puts another process number into the lock files of a killed server.
func numberIn(t *testing.T, dir string, pid int) {
	t.Helper()
	for _, name := range []string{"postgres/data/postmaster.pid", "postgres/run/.s.PGSQL.5432.lock"} {
		path := filepath.Join(dir, name)
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		_, rest, _ := strings.Cut(string(text), "\n")
		if err := os.WriteFile(path, fmt.Appendf(nil, "%d\n%s", pid, rest), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

func TestReusedNumberInTheLockFile(t *testing.T) {
	oneUsed(t, func(t *testing.T, p person, dir string) {
		first := run(t, p, dir)
		first.kill(t)
		killServer(t, first.PID)
		innocent := bystander(t, dir)
		numberIn(t, dir, innocent.Process.Pid)
		run(t, p, dir).stop(t, dir)
		if err := innocent.Process.Signal(syscall.Signal(0)); err != nil {
			t.Errorf("the program with that number was harmed: %v", err)
		}
	})
}

func TestZombieInTheLockFile(t *testing.T) {
	for _, reaped := range []bool{true, false} {
		t.Run(fmt.Sprintf("reaped=%v", reaped), func(t *testing.T) {
			oneUsed(t, func(t *testing.T, p person, dir string) {
				first := run(t, p, dir)
				first.kill(t)
				killServer(t, first.PID)
				dead := bystander(t, dir)
				numberIn(t, dir, dead.Process.Pid)
				dead.Process.Kill()
				testrun.Until(t, "it is dead", func() bool { return inspectProcess(dead.Process.Pid, "") == zombie })
				second := begin(t, p, dir)
				second.logged(t, "number of a dead PostgreSQL")
				if reaped {
					dead.Wait() // its error is that it was killed
				}
				second.listen(t)
				if second.Failed != "" {
					t.Fatal(second.Failed)
				}
				second.stop(t, dir)
			})
		})
	}
}

// A backend that hears nothing for a while outlives the server: one in the midst
// of its work, or stopped. Nothing may open the data until it is gone, lock file
// or not.
func TestSurvivingBackendIsWaitedOut(t *testing.T) {
	for _, lockFile := range []string{"left", "lost"} {
		t.Run(lockFile, func(t *testing.T) {
			oneUsed(t, func(t *testing.T, p person, dir string) {
				first := run(t, p, dir)
				backend := int(connect(t, first.URL).PgConn().PID())
				if err := syscall.Kill(backend, syscall.SIGSTOP); err != nil {
					t.Fatal(err)
				}
				first.kill(t)
				killServer(t, first.PID)
				if lockFile == "lost" {
					if err := os.Remove(newLayout(dir).pidPath()); err != nil {
						t.Fatal(err)
					}
				}
				second := begin(t, p, dir)
				second.logged(t, "what is left of a killed PostgreSQL")
				select {
				case r := <-second.said:
					t.Errorf("a server was started beside a living backend: %+v", r)
				default:
				}
				if err := syscall.Kill(backend, syscall.SIGKILL); err != nil {
					t.Errorf("the backend did not survive, so this shows nothing: %v", err)
				}
				second.listen(t)
				if second.Failed != "" {
					t.Fatalf("%s\n%s", second.Failed, second.errs)
				}
				second.stop(t, dir)
			})
		})
	}
}

// A first start writes some 900 files before it puts them in place. It is cut
// short at its beginning and twice in its midst.
func TestFirstStartCutShort(t *testing.T) {
	one(t, func(t *testing.T, p person, dir string) {
		lots := testrun.Rand(t)
		for _, files := range []int{1, 2 + lots.IntN(300), 302 + lots.IntN(300)} {
			cutFirstStart(t, p, dir, files)
		}
		d := run(t, p, dir)
		exec1(t, d.URL, "CREATE TABLE note ()")
		d.stop(t, dir)
		run(t, p, dir).stop(t, dir)
		if left := unfinishedIn(t, dir, "*"); len(left) > 0 {
			t.Errorf("unfinished data directories stay: %v", left)
		}
	})
}

// cutFirstStart kills a first start when it has made so many files.
func cutFirstStart(t *testing.T, p person, dir string, files int) {
	t.Helper()
	for range 10 {
		d := begin(t, p, dir)
		pid := fmt.Sprint(d.cmd.Process.Pid)
		through := func() bool {
			_, err := os.Stat(filepath.Join(dir, "postgres/data"))
			return err == nil
		}
		testrun.Until(t, fmt.Sprintf("a first start has made %d files", files), func() bool {
			return filesIn(unfinishedIn(t, dir, pid+"-*")) >= files || through()
		})
		d.kill(t)
		if !through() {
			return
		}
		// The machine was busy with something else in the meantime.
		endServer(t, dir)
		if err := os.RemoveAll(dir); err != nil {
			t.Fatal(err)
		}
	}
	t.Fatal("no first start was slow enough to interrupt")
}

// unfinishedIn finds the directories of first starts, of the process numbers and
// times that match.
func unfinishedIn(t *testing.T, dir, match string) []string {
	t.Helper()
	left, err := filepath.Glob(filepath.Join(dir, "postgres", unfinished+match))
	if err != nil {
		t.Fatal(err)
	}
	return left
}

// filesIn counts files and directories below some directories.
func filesIn(dirs []string) int {
	n := 0
	for _, dir := range dirs {
		filepath.WalkDir(dir, func(_ string, _ fs.DirEntry, err error) error {
			if err == nil { // else it went away meanwhile
				n++
			}
			return nil
		})
	}
	return n
}

// Cleaners of /tmp, or a careless hand, can take the socket from under a server.
func TestServerLeftBehindWithoutItsSocket(t *testing.T) {
	oneUsed(t, func(t *testing.T, p person, dir string) {
		first := run(t, p, dir)
		exec1(t, first.URL, "CREATE TABLE note ()")
		first.kill(t)
		if err := os.Remove(filepath.Join(dir, "postgres/run/.s.PGSQL.5432")); err != nil {
			t.Fatal(err)
		}
		second := run(t, p, dir)
		if second.Adopted || isServer(first.PID) {
			t.Error("the unreachable server still runs")
		}
		exec1(t, second.URL, "TABLE note")
		second.stop(t, dir)
	})
}
