package backup

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"pryday/migrations"
	"pryday/store/storetest"
)

// What another is writing stays; what nobody writes any more goes.
func TestSweepLeavesWhatIsBeingWritten(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "bees.backup")
	part, err := os.Create(file + ".part-1")
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Flock(int(part.Fd()), syscall.LOCK_EX); err != nil {
		t.Fatal(err)
	}
	sweep(file)
	if _, err := os.Stat(part.Name()); err != nil {
		t.Errorf("somebody's unfinished backup was taken away: %v", err)
	}
	part.Close()
	sweep(file)
	if _, err := os.Stat(part.Name()); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("what was cut short stays: %v", err)
	}
}

// A name that is taken is refused before anything is read, and also when it is
// taken while the backup is written.
func TestNoBackupTakesAnothersPlace(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	file, part := filepath.Join(folder, "bees.backup"), filepath.Join(folder, "bees.backup.part-1")
	for name, text := range map[string]string{file: "first", part: "second"} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	nowhere := Source{URL: "postgres:///nowhere?host=/nonexistent"}
	if _, err := Create(t.Context(), nowhere, Place{File: file}, night); !errors.Is(err, os.ErrExist) {
		t.Errorf("a name that is taken: %v", err)
	}
	if err := os.WriteFile(part, []byte("second"), 0o600); err != nil { // what was swept, or not
		t.Fatal(err)
	}
	if err := appear(part, file); !errors.Is(err, os.ErrExist) {
		t.Errorf("a name that was taken meanwhile: %v", err)
	}
	if text, err := os.ReadFile(file); string(text) != "first" {
		t.Errorf("the file that was there says %q, %v", text, err)
	}
}

// A disk that keeps other bytes than were written is found out at once.
func TestCreateReadsBack(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	place := Place{File: filepath.Join(folder, "bees.backup"), Free: func(string) (uint64, error) {
		parts, _ := filepath.Glob(filepath.Join(folder, "*.part-*"))
		for _, part := range parts { // of which the backup writes over the beginning
			if err := os.WriteFile(part, make([]byte, 8<<20), 0o600); err != nil {
				return 0, err
			}
		}
		return 1 << 40, nil
	}}
	if _, err := Create(t.Context(), Source{URL: demoDatabase(t)}, place, night); !errors.Is(err, ErrTorn) {
		t.Errorf("got %v", err)
	}
	if left := names(t, folder); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// A service that has just started has an hour to make the backup that it lacks.
func TestStaleIsSaidAfterAnHour(t *testing.T) {
	t.Parallel()
	if (State{Since: night}).Stale(night.Add(time.Hour)) {
		t.Error("stale within the first hour")
	}
	if !(State{Since: night}).Stale(night.Add(time.Hour + time.Second)) {
		t.Error("none after an hour, and not stale")
	}
}

// The next backup is as large as the last, and that must fit beside what stays free.
func TestRoomForAnotherLikeTheLast(t *testing.T) {
	t.Parallel()
	d := &Daily{Free: func(string) (uint64, error) { return LeaveFree + 50<<20, nil }}
	if err := d.room(50 << 20); err != nil {
		t.Error(err)
	}
	if err := d.room(50<<20 + 1); !errors.Is(err, ErrDiskFull) {
		t.Errorf("a byte too many: %v", err)
	}
}

// As many bytes as were written are not enough: they must be the same.
func TestTablesAreHeldAgainstTheirSums(t *testing.T) {
	t.Parallel()
	of := func(text string) tally {
		sum := newTally()
		sum.Write([]byte(text))
		return sum
	}
	wrote := of("1\tR14\n")
	m := &Manifest{Tables: []Table{{Name: "box", Bytes: wrote.bytes, SHA256: wrote.sum()}}}
	if err := m.holds(map[string]tally{"box": of("1\tR14\n")}); err != nil {
		t.Error(err)
	}
	if err := m.holds(map[string]tally{"box": of("1\tR15\n")}); !errors.Is(err, ErrTorn) {
		t.Errorf("another mark: %v", err)
	}
}

// A backup ends with its manifest.
func TestNothingFollowsTheManifest(t *testing.T) {
	t.Parallel()
	file, _ := taken(t, demoDatabase(t), "")
	packed, err := gzip.NewReader(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	zip := gzip.NewWriter(&out)
	from, to := tar.NewReader(packed), tar.NewWriter(zip)
	add := func(head *tar.Header, body io.Reader) {
		t.Helper()
		if err := to.WriteHeader(head); err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(to, body); err != nil {
			t.Fatal(err)
		}
	}
	for {
		head, err := from.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		add(head, from)
	}
	add(&tar.Header{Name: "more.json", Size: 2, Mode: 0o600}, bytes.NewReader([]byte("{}")))
	if err := errors.Join(to.Close(), zip.Close()); err != nil {
		t.Fatal(err)
	}
	if _, err := Check(bytes.NewReader(out.Bytes()), migrations.Latest(), ""); !errors.Is(err, ErrTorn) {
		t.Errorf("got %v", err)
	}
}

// A backup signs nobody in: sessions stay out of it, and whoever was signed in on
// that day is signed out where it is restored.
func TestRestoreSignsEverybodyOut(t *testing.T) {
	t.Parallel()
	from, to := demoDatabase(t), storetest.Empty(t)
	run(t, from, `INSERT INTO sign_in (id, person_id, way) OVERRIDING SYSTEM VALUE SELECT 901, min(id), 'mail' FROM person`)
	file, m := taken(t, from, "")
	if m.table(sessions) != nil {
		t.Error("the backup has sessions")
	}
	if err := restored(t, to, file, ""); err != nil {
		t.Fatal(err)
	}
	run(t, to, `DO $$ BEGIN IF NOT EXISTS (SELECT FROM sign_in WHERE id = 901 AND ended_at IS NOT NULL) THEN RAISE 'still signed in'; END IF; END $$`)
}
