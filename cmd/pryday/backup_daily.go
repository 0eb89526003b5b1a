package main

import (
	"context"
	"log/slog"
	"path/filepath"
	"syscall"
	"time"

	"pryday/migrations"
	"pryday/store"
	"pryday/store/backup"
)

// backupFolder is where daily backups go, under the state directory.
const backupFolder = "backups"

// backupFlags are the daily backups of a service.
type backupFlags struct {
	Daily          string `name:"backup" enum:"daily,off" default:"daily" env:"PRYDAY_BACKUP" placeholder:"WHEN" help:"daily: back up every night, and keep the last of 7 days, 4 weeks and 12 months; off."`
	Dir            string `name:"backup-dir" env:"PRYDAY_BACKUP_DIR" placeholder:"DIR" help:"Where daily backups go: 'backups' in the state directory when left out; with a PostgreSQL of your own none are made then."`
	PassphraseFile string `name:"backup-passphrase-file" env:"PRYDAY_BACKUP_PASSPHRASE_FILE" type:"existingfile" placeholder:"FILE" help:"Encrypt them to the passphrase in this file. Keep a copy of it elsewhere: without it they are worth nothing."`
}

// daily are the backups of a database, noted in the trails of its clubs; nil where
// none are made.
func (f backupFlags) daily(ctx context.Context, of database, s *store.Store, stateDir string, log *slog.Logger) (*backup.Daily, error) {
	if f.Daily == "off" || f.Daily == "" || f.Dir == "" && !of.private {
		return nil, nil
	}
	// What is wrong is said now rather than in the night.
	if err := migrations.CheckOwner(ctx, of.Owner); err != nil {
		return nil, owners(err)
	}
	if _, err := passphraseIn(f.PassphraseFile); err != nil {
		return nil, err
	}
	folder, err := filepath.Abs(f.Dir)
	if f.Dir == "" {
		folder, err = stateDirectory(stateDir)
		folder = filepath.Join(folder, backupFolder)
	}
	return &backup.Daily{
		From: source(of.Owner), Folder: folder, Log: log, Now: time.Now,
		Made: func(ctx context.Context, file string) error {
			return s.NoteEverywhere(ctx, store.AuditEntry{Action: "make backup", Subject: filepath.Base(file)})
		},
		Passphrase: func() (string, error) { return passphraseIn(f.PassphraseFile) },
	}, err
}

// sameDisk reports whether two folders, or what is above them, lie on one disk.
func sameDisk(a, b string) bool {
	x, okX := diskOf(a)
	y, okY := diskOf(b)
	return okX && okY && x == y
}

func diskOf(folder string) (device uint64, ok bool) {
	for {
		var stat syscall.Stat_t
		err := syscall.Stat(folder, &stat)
		if err == nil {
			return uint64(stat.Dev), true
		}
		if folder == filepath.Dir(folder) {
			return 0, false
		}
		folder = filepath.Dir(folder)
	}
}
