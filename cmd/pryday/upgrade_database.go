package main

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"

	"pryday/store"
	"pryday/store/backup"
	"pryday/store/localpg"
)

type upgradeCmd struct {
	FromBackup     string `type:"existingfile" placeholder:"FILE" help:"Take the records from this backup, where the PostgreSQL that wrote the data cannot be installed any more. What was recorded after it was made is then in the old data only."`
	PassphraseFile string `env:"PRYDAY_BACKUP_PASSPHRASE_FILE" type:"existingfile" placeholder:"FILE" help:"The passphrase of that backup, where it is encrypted, instead of asking."`
	StateDir       string `env:"PRYDAY_STATE_DIR" placeholder:"DIR" help:"Where the private PostgreSQL is."`
}

// Help is what the one line does not say.
func (c *upgradeCmd) Help() string {
	return `A new release of the operating system brings a new PostgreSQL, and its data must be taken
along. Stop the service, give this command, start the service. Both versions must be
installed meanwhile (Debian: apt-get install postgresql-NN).

The old data stays where it is, under a name that this command prints, until you delete
it. Whatever goes wrong, the service can go on with it and the old version. Nobody is
signed out, nobody is mailed.`
}

// Run upgrades, and says where the old data is.
func (c *upgradeCmd) Run(ctx context.Context, term *terminal) error {
	state, err := stateDirectory(c.StateDir)
	if err != nil {
		return err
	}
	options := localpg.Options{StateDir: state, Logger: term.logger(slog.LevelWarn)}
	var done localpg.Upgraded
	if c.FromBackup != "" {
		done, err = c.fromBackup(ctx, term, options)
	} else {
		done, err = throughFile(ctx, term, options)
	}
	switch {
	case errors.Is(err, localpg.ErrUpToDate):
		return complain("command.error.up-to-date", err)
	case errors.Is(err, localpg.ErrWrongVersion):
		return complain("command.error.old-version", err, filepath.Join(state, backupFolder))
	case err != nil:
		return complain("command.error.not-upgraded", err)
	}
	return term.tell("command.upgrade.done", done.From, done.To, done.Old)
}

// throughFile takes the records from the old server to a file, and from there to
// the new one. The file goes with the upgrade, since the old data stays.
func throughFile(ctx context.Context, term *terminal, options localpg.Options) (done localpg.Upgraded, err error) {
	folder, err := os.MkdirTemp(options.StateDir, "upgrade-")
	if err != nil {
		return done, err
	}
	defer os.RemoveAll(folder)
	file := filepath.Join(folder, "records.backup")
	save := func(ctx context.Context, at localpg.Addresses) error {
		from := source(at.Owner)
		from.Sessions = true
		made, err := backup.Create(ctx, from, backup.Place{File: file, Leave: backup.LeaveFree}, term.now())
		if err != nil {
			return err
		}
		return term.tell("command.upgrade.saved", int(made.Rows()))
	}
	return localpg.Upgrade(ctx, options, save, func(ctx context.Context, at localpg.Addresses) error {
		if err := restoreFile(ctx, at.Owner, file, ""); err != nil {
			return err
		}
		return noteUpgrade(ctx, at)
	})
}

func (c *upgradeCmd) fromBackup(ctx context.Context, term *terminal, options localpg.Options) (done localpg.Upgraded, err error) {
	passphrase, made, err := unlock(term, c.FromBackup, c.PassphraseFile)
	if err != nil {
		return done, err
	}
	if err := term.list(made); err != nil {
		return done, err
	}
	return localpg.Upgrade(ctx, options, nil, func(ctx context.Context, at localpg.Addresses) error {
		if err := restoreFile(ctx, at.Owner, c.FromBackup, passphrase); err != nil {
			return err
		}
		return noteUpgrade(ctx, at)
	})
}

// noteUpgrade notes in the trails of the new data which version serves it.
func noteUpgrade(ctx context.Context, at localpg.Addresses) error {
	s, err := database{Addresses: at, private: true, apart: true}.open(ctx, 2)
	if err != nil {
		return err
	}
	defer s.Close()
	var version string
	if err := s.Pool().QueryRow(ctx, `SHOW server_version`).Scan(&version); err != nil {
		return err
	}
	return s.NoteEverywhere(ctx, store.AuditEntry{Action: "upgrade database", Subject: "PostgreSQL " + version})
}

func restoreFile(ctx context.Context, url, file, passphrase string) error {
	f, err := os.Open(file)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = backup.Restore(ctx, url, f, passphrase)
	return err
}
