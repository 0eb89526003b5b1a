package backup

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"
)

func TestDailyThroughThreeNights(t *testing.T) {
	t.Parallel()
	now := time.Date(2027, 5, 4, 18, 0, 0, 0, time.UTC)
	room := uint64(LeaveFree + 100<<20)
	var noted []string
	d := &Daily{
		From: Source{URL: demoDatabase(t)}, Folder: filepath.Join(t.TempDir(), "backups"), Log: slog.New(slog.DiscardHandler),
		Now: func() time.Time { return now }, Free: func(string) (uint64, error) { return room, nil },
		Made: func(_ context.Context, file string) error {
			noted = append(noted, file)
			return errors.New("nobody takes notes")
		},
	}
	made := func(n int) []Kept {
		t.Helper()
		all, err := List(d.Folder)
		if err != nil || len(all) != n {
			t.Fatalf("%d backups, want %d: %v", len(all), n, err)
		}
		return all
	}
	if wait := d.Tick(t.Context()); wait != time.Hour {
		t.Errorf("waits %v", wait)
	}
	first := made(1)[0]
	if s := d.State(); s.Newest.File != first.File || s.Newest.Bytes == 0 || s.Failed != "" || s.Stale(now) {
		t.Errorf("state %+v", s)
	}
	now = now.Add(2 * time.Hour)
	d.Tick(t.Context())
	made(1) // none is due before the night
	now = time.Date(2027, 5, 5, 2, 50, 0, 0, time.UTC)
	if wait := d.Tick(t.Context()); wait != 27*time.Minute {
		t.Errorf("waits %v before 3:17", wait)
	}
	now = time.Date(2027, 5, 5, 3, 17, 0, 0, time.UTC)
	d.Tick(t.Context())
	if all := made(2); len(noted) != 2 || noted[1] != all[1].File {
		t.Errorf("noted %q", noted)
	}

	room = LeaveFree - 1
	now = now.AddDate(0, 0, 1)
	d.Tick(t.Context())
	made(2)
	s := d.State()
	if s.Failed == "" || s.Newest.File != Name(now.AddDate(0, 0, -1)) && filepath.Base(s.Newest.File) != Name(now.AddDate(0, 0, -1)) || s.Stale(now) {
		t.Errorf("without room: %+v", s)
	}
	now = now.Add(27 * time.Hour)
	d.Tick(t.Context())
	if !d.State().Stale(now) {
		t.Error("a backup of 51 hours is not stale")
	}
	room = LeaveFree + 100<<20
	now = now.Add(time.Hour)
	d.Tick(t.Context())
	made(3)
	if s := d.State(); s.Failed != "" || s.Stale(now) {
		t.Errorf("with room again: %+v", s)
	}
}

// A backup from the future, made before the clock was put right, puts nothing off.
func TestDailyWithAClockSetBack(t *testing.T) {
	t.Parallel()
	now := time.Date(2029, 5, 4, 18, 0, 0, 0, time.UTC)
	d := &Daily{
		From: Source{URL: demoDatabase(t)}, Folder: t.TempDir(), Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return now },
		Free: func(string) (uint64, error) { return 1 << 40, nil },
	}
	d.Tick(t.Context())
	now = now.AddDate(-2, 0, 0)
	d.Tick(t.Context())
	if s := d.State(); s.Failed != "" || !s.Newest.MadeAt.Equal(now) {
		t.Errorf("state %+v", s)
	}
}

func TestDailyClearsAndEncrypts(t *testing.T) {
	t.Parallel()
	now := time.Date(2027, 5, 9, 3, 17, 0, 0, time.UTC)
	secret, secretErr := "seven smokers in a shed", error(nil)
	d := &Daily{
		From: Source{URL: demoDatabase(t)}, Folder: t.TempDir(), Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return now },
		Free: func(string) (uint64, error) { return 1 << 40, nil }, Passphrase: func() (string, error) { return secret, secretErr },
	}
	for n := 1; n < 40; n++ {
		if err := os.WriteFile(filepath.Join(d.Folder, Name(now.AddDate(0, 0, -n))), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"pryday-notes.txt", "mine.backup", Name(now.AddDate(0, 0, -1)) + ".part-77"} {
		if err := os.WriteFile(filepath.Join(d.Folder, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	d.Tick(t.Context())
	all, err := List(d.Folder)
	if err != nil || len(all) != 12 { // as in TestKeep
		t.Errorf("%d stay: %v", len(all), err)
	}
	if got := names(t, d.Folder); len(got) != 12+2 {
		t.Errorf("other people's files: %v", got)
	}
	f, err := os.Open(d.State().Newest.File)
	if err != nil {
		t.Fatal(d.State(), err)
	}
	defer f.Close()
	if _, err := Check(f, 1<<40, ""); !errors.Is(err, ErrLocked) {
		t.Errorf("the daily backup can be read: %v", err)
	}
	secretErr = errors.New("the passphrase file is gone")
	now = now.AddDate(0, 0, 1)
	d.Tick(t.Context())
	if s := d.State(); s.Failed != secretErr.Error() {
		t.Errorf("made without its passphrase: %+v", s)
	}
}
