package backup

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/robfig/cron/v3"
)

const (
	// Stale is how old the newest daily backup may become before organisers are
	// told: two nights missed.
	Stale = 50 * time.Hour
	// LeaveFree is the room that daily backups leave on their disk, in bytes:
	// more than the service needs to say that it is ready.
	LeaveFree = 512 << 20

	retryAfter = time.Hour
)

// nightly is when daily backups are made, by the machine's clock.
var nightly = func() cron.Schedule {
	schedule, err := cron.ParseStandard("17 3 * * *")
	if err != nil {
		panic(err) // the words are constant
	}
	return schedule
}()

// Daily makes a backup every night, and keeps some of them.
type Daily struct {
	From       Source
	Folder     string
	Passphrase func() (string, error) // asked for each backup, so that a changed file counts; empty leaves them readable
	Log        *slog.Logger
	Made       func(ctx context.Context, file string) error // is told of each; nil where nobody wants to know
	Now        func() time.Time
	Free       func(folder string) (uint64, error) // nil asks the system

	mutex sync.Mutex
	state State
}

// State is how the daily backups stand.
type State struct {
	Newest Kept      // zero when there is none
	Failed string    // why the last attempt failed, in English for a log; empty when it did not
	Full   bool      // that was because the disk has too little room
	Since  time.Time // when the service began to make them
}

// Stale reports whether the newest backup is older than it should be. A service
// that has just started is given the time to make one.
func (s State) Stale(now time.Time) bool {
	return now.Sub(s.Newest.MadeAt) > Stale && now.Sub(s.Since) > retryAfter
}

// State returns how the daily backups stand.
func (d *Daily) State() State {
	d.mutex.Lock()
	defer d.mutex.Unlock()
	return d.state
}

// Run makes backups until ctx ends: at once when the last night was missed.
func (d *Daily) Run(ctx context.Context) {
	for ctx.Err() == nil {
		timer := time.NewTimer(d.Tick(ctx))
		select {
		case <-ctx.Done():
		case <-timer.C:
		}
		timer.Stop()
	}
}

// Tick makes a backup if one is due, and returns how long to wait for the next
// look, an hour at most, since machines sleep and clocks are set.
func (d *Daily) Tick(ctx context.Context) time.Duration {
	now := d.Now()
	newest, err := d.look(now)
	if err == nil && !nightly.Next(newest.MadeAt.In(now.Location())).After(now) {
		newest, err = d.make(ctx, now)
	}
	if ctx.Err() != nil {
		return 0
	}
	d.mutex.Lock()
	defer d.mutex.Unlock()
	d.state.Newest, d.state.Failed, d.state.Full = newest, "", errors.Is(err, ErrDiskFull)
	if err != nil {
		d.state.Failed = err.Error()
		d.Log.Error("the daily backup failed; it is tried again in an hour", "err", err)
		return retryAfter
	}
	return min(retryAfter, max(time.Second, nightly.Next(now).Sub(now)))
}

// look finds the newest backup. One from the future, made before the clock was
// set back, puts nothing off.
func (d *Daily) look(now time.Time) (newest Kept, err error) {
	d.mutex.Lock()
	if d.state.Since.IsZero() {
		d.state.Since = now
	}
	d.mutex.Unlock()
	all, err := List(d.Folder)
	for _, b := range all {
		if !b.MadeAt.After(now) {
			newest = b
		}
	}
	return newest, err
}

func (d *Daily) make(ctx context.Context, now time.Time) (newest Kept, err error) {
	before, err := List(d.Folder)
	if err != nil {
		return newest, err
	}
	if len(before) > 0 {
		newest = before[len(before)-1]
	}
	if err := os.MkdirAll(d.Folder, 0o700); err != nil {
		return newest, fmt.Errorf("make the folder for backups: %w", err)
	}
	// What was cut short or is too old goes first: it may be the room that is missing.
	if err := clearOld(d.Folder, before); err != nil {
		return newest, fmt.Errorf("take old backups away: %w", err)
	}
	passphrase := ""
	if d.Passphrase != nil {
		if passphrase, err = d.Passphrase(); err != nil {
			return newest, err
		}
	}
	// The next one is about as large as the last.
	to := Place{File: filepath.Join(d.Folder, Name(now)), Passphrase: passphrase, Leave: LeaveFree, Free: d.Free}
	if err := d.room(newest.Bytes); err != nil {
		return newest, err
	}
	began := d.Now()
	m, err := Create(ctx, d.From, to, now)
	if err != nil {
		return newest, err
	}
	after, err := List(d.Folder)
	if err == nil {
		err = clearOld(d.Folder, after)
	}
	info, statErr := os.Stat(to.File)
	if err = errors.Join(err, statErr); err != nil {
		return newest, err
	}
	d.Log.Info("made the daily backup", "file", to.File, "bytes", info.Size(), "rows", m.Rows(), "took", d.Now().Sub(began).Round(time.Millisecond))
	if d.Made != nil {
		if err := d.Made(ctx, to.File); err != nil {
			d.Log.Error("note the daily backup", "err", err) // it is made all the same
		}
	}
	return Kept{to.File, m.MadeAt, info.Size()}, nil
}

// room returns ErrDiskFull when the disk has no room for so many bytes more.
func (d *Daily) room(bytes int64) error {
	ask := d.Free
	if ask == nil {
		ask = FreeDisk
	}
	free, err := ask(d.Folder)
	if err != nil {
		return err
	}
	if needed := LeaveFree + uint64(bytes); free < needed {
		return fmt.Errorf("%w: a backup needs %d MB free in %s, and %d MB are", ErrDiskFull, needed>>20, d.Folder, free>>20)
	}
	return nil
}
