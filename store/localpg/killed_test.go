package localpg

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

func TestKilledDaemonLeavesAServerToTakeOver(t *testing.T) {
	eachUsed(t, func(t *testing.T, p person, dir string) {
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
	eachUsed(t, func(t *testing.T, p person, dir string) {
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
	eachUsed(t, func(t *testing.T, p person, dir string) {
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
			eachUsed(t, func(t *testing.T, p person, dir string) {
				first := run(t, p, dir)
				first.kill(t)
				killServer(t, first.PID)
				dead := bystander(t, dir)
				numberIn(t, dir, dead.Process.Pid)
				dead.Process.Kill()
				for inspectProcess(dead.Process.Pid, "") != zombie {
					time.Sleep(time.Millisecond)
				}
				second := begin(t, p, dir)
				if reaped {
					time.Sleep(200 * time.Millisecond)
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

// A backend in the midst of its work outlives the server. Nothing may open the
// data until it is gone, lock file or not.
func TestSurvivingBackendIsWaitedOut(t *testing.T) {
	for _, lockFile := range []string{"left", "lost"} {
		t.Run(lockFile, func(t *testing.T) {
			eachUsed(t, func(t *testing.T, p person, dir string) {
				first := run(t, p, dir)
				conn := connect(t, first.URL)
				backend := int(conn.PgConn().PID())
				busy := make(chan struct{})
				go func() {
					close(busy)
					conn.Exec(context.Background(), "SELECT count(*) FROM generate_series(1, 4000000000) AS g(n) WHERE n % 2 = 3")
				}()
				<-busy
				for ask[string](t, first.URL, fmt.Sprintf("SELECT state FROM pg_stat_activity WHERE pid = %d", backend)) != "active" {
					time.Sleep(time.Millisecond)
				}
				first.kill(t)
				killServer(t, first.PID)
				if lockFile == "lost" {
					if err := os.Remove(newLayout(dir).pidPath()); err != nil {
						t.Fatal(err)
					}
				}
				second := begin(t, p, dir)
				select {
				case r := <-second.said:
					t.Errorf("a server was started beside a living backend: %+v", r)
				case <-time.After(700 * time.Millisecond):
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

func TestFirstStartCutShort(t *testing.T) {
	each(t, func(t *testing.T, p person, dir string) {
		for cut, tries := 0, 0; cut < 2; tries++ {
			d := begin(t, p, dir)
			for n := 0; len(unfinishedIn(t, dir)) == 0; n++ {
				if n == 5000 {
					t.Fatal("no first start to interrupt")
				}
				time.Sleep(2 * time.Millisecond)
			}
			time.Sleep(time.Duration(cut) * 50 * time.Millisecond) // once at its beginning, once in its midst
			d.kill(t)
			if _, err := os.Stat(filepath.Join(dir, "postgres/data")); err != nil {
				cut++
				continue
			}
			// On a busy machine it may have been through by then.
			if tries == 10 {
				t.Fatal("no first start was slow enough to interrupt")
			}
			endServer(t, dir)
			if err := os.RemoveAll(dir); err != nil {
				t.Fatal(err)
			}
			cut = 0
		}
		d := run(t, p, dir)
		exec1(t, d.URL, "CREATE TABLE note ()")
		d.stop(t, dir)
		run(t, p, dir).stop(t, dir)
		if left := unfinishedIn(t, dir); len(left) > 0 {
			t.Errorf("unfinished data directories stay: %v", left)
		}
	})
}

func unfinishedIn(t *testing.T, dir string) []string {
	t.Helper()
	left, err := filepath.Glob(filepath.Join(dir, "postgres", unfinished+"*"))
	if err != nil {
		t.Fatal(err)
	}
	return left
}

// Cleaners of /tmp, or a careless hand, can take the socket from under a server.
func TestServerLeftBehindWithoutItsSocket(t *testing.T) {
	eachUsed(t, func(t *testing.T, p person, dir string) {
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
