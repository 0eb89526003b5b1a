package backup

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"pryday/store/storetest"
	"pryday/testdata/testrun"
)

// asVictim is this test's program once more, to be killed.
func asVictim(role string) int {
	ctx := context.Background()
	var err error
	switch role {
	case "backup":
		_, err = Create(ctx, Source{URL: os.Getenv("PRYDAY_TEST_URL")}, Place{File: os.Getenv("PRYDAY_TEST_FILE")}, night)
	case "restore":
		var f *os.File
		if f, err = os.Open(os.Getenv("PRYDAY_TEST_FILE")); err == nil {
			_, err = Restore(ctx, os.Getenv("PRYDAY_TEST_URL"), f, "")
		}
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

// killedAfter runs the victim, kills it after a time, and reports whether it was
// done before that.
func killedAfter(t *testing.T, role, url, file string, after time.Duration) (done bool) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "PRYDAY_BACKUP_TEST="+role, "PRYDAY_TEST_URL="+url, "PRYDAY_TEST_FILE="+file)
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	kill := time.AfterFunc(after, func() { cmd.Process.Kill() })
	err := cmd.Wait()
	kill.Stop()
	var exit *exec.ExitError
	if err != nil && (!errors.As(err, &exit) || exit.ExitCode() != -1) {
		t.Fatalf("%s: %v", role, err)
	}
	return err == nil
}

// rounds is how often something is killed. make faults kills the program itself
// meanwhile, as often as it is told.
const rounds = 3

func TestKilledBackupLeavesAWholeFileOrNone(t *testing.T) {
	t.Parallel()
	url, folder := demoDatabase(t), t.TempDir()
	whole := took(t, func() { killedAfter(t, "backup", url, filepath.Join(folder, "first.backup"), time.Minute) })
	lot := testrun.Rand(t)
	for n := range rounds {
		file := filepath.Join(folder, fmt.Sprintf("%d.backup", n))
		done := killedAfter(t, "backup", url, file, time.Duration(lot.Int64N(int64(whole))))
		f, err := os.Open(file)
		switch {
		case err == nil:
			if _, err := Check(f, 1<<40, ""); err != nil {
				t.Errorf("round %d: %v", n, err)
			}
			f.Close()
		case done || !errors.Is(err, os.ErrNotExist):
			t.Errorf("round %d: done %v, %v", n, done, err)
		}
		// The next one to the same name works, and takes away what was left.
		os.Remove(file)
		if _, err := Create(t.Context(), Source{URL: url}, Place{File: file}, night); err != nil {
			t.Errorf("round %d, once more: %v", n, err)
		}
	}
	if left, _ := filepath.Glob(filepath.Join(folder, "*.part-*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestKilledRestoreLeavesAWholeDatabaseOrNone(t *testing.T) {
	t.Parallel()
	from := demoDatabase(t)
	data, made := taken(t, from, "")
	file := filepath.Join(t.TempDir(), "bees.backup")
	if err := os.WriteFile(file, data, 0o600); err != nil {
		t.Fatal(err)
	}
	whole := took(t, func() { killedAfter(t, "restore", storetest.New(t), file, time.Minute) })
	lot := testrun.Rand(t)
	for n := range rounds {
		to := storetest.New(t) // with the schema that a killed one leaves
		done := killedAfter(t, "restore", to, file, time.Duration(lot.Int64N(int64(whole))))
		var err error
		testrun.Until(t, "the killed restore's connection is gone", func() bool {
			err = Empty(t.Context(), to)
			return !errors.Is(err, ErrBusy)
		})
		if err == nil {
			if done {
				t.Errorf("round %d: done, and nothing is there", n)
			}
			if err := restored(t, to, data, ""); err != nil {
				t.Errorf("round %d, once more: %v", n, err)
			}
		}
		_, got := taken(t, to, "")
		same(t, got, made)
	}
}

func took(t *testing.T, do func()) time.Duration {
	t.Helper()
	began := time.Now()
	do()
	return time.Since(began)
}
