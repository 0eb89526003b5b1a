package main

import (
	"log/slog"
	"path/filepath"
	"syscall"
	"time"

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

// daily are the backups of the database at url; nil where none are made.
func (f backupFlags) daily(url, stateDir string, private bool, log *slog.Logger) (*backup.Daily, error) {
	if f.Daily == "off" || f.Daily == "" || f.Dir == "" && !private {
		return nil, nil
	}
	if _, err := passphraseIn(f.PassphraseFile); err != nil {
		return nil, err // said now rather than in the night
	}
	folder, err := filepath.Abs(f.Dir)
	if f.Dir == "" {
		folder, err = stateDirectory(stateDir)
		folder = filepath.Join(folder, backupFolder)
	}
	return &backup.Daily{
		From: source(url), Folder: folder, Log: log, Now: time.Now,
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
