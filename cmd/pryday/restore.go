package main

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"os"

	"pryday/migrations"
	"pryday/store/backup"
)

type restoreCmd struct {
	File           string        `arg:"" type:"existingfile" help:"The backup."`
	Check          bool          `help:"Only read it to its end and say what is in it; nothing is restored."`
	PassphraseFile string        `env:"PRYDAY_BACKUP_PASSPHRASE_FILE" type:"existingfile" placeholder:"FILE" help:"The passphrase of an encrypted one, instead of asking."`
	Database       databaseFlags `embed:""`
}

// Help is what the one line does not say.
func (c *restoreCmd) Help() string {
	return `Into a state directory without records, or an empty database; what is there already is
never written over. The service must not be running. The backup is checked before anything
is changed, what was restored is counted and compared before it counts, and it is there
whole or not at all: after a power cut, give the command again. A backup of an older
version is brought up to this one.

The state directory is the one that the service uses: --state-dir, or PRYDAY_STATE_DIR as
in its settings. Settings themselves are in no backup: copy pryday.env over.

Everybody signs in anew. Calendar addresses, passkeys and buttons in mails go on working,
also those that were withdrawn after the backup was made. Mail that went out after the
backup was made may go out once more.`
}

// Run restores the backup and says what was in it.
func (c *restoreCmd) Run(ctx context.Context, term *terminal) error {
	passphrase, made, err := unlock(term, c.File, c.PassphraseFile)
	if err != nil {
		return err
	}
	if c.Check {
		if err := term.tell("command.backup.whole", c.File); err != nil {
			return err
		}
		return term.list(made)
	}
	d, done, err := c.Database.alone(ctx, term.logger(slog.LevelWarn))
	if err != nil {
		return err
	}
	defer done()
	if err := restoreFile(ctx, d.Owner, c.File, passphrase); err != nil {
		return backupError(err, c.File)
	}
	if err := noteBackup(ctx, d, "restore backup", made.MadeAt.UTC().Format("2006-01-02 15:04 MST")); err != nil {
		return err
	}
	if err := term.tell("command.backup.restored", c.File); err != nil {
		return err
	}
	if err := term.list(made); err != nil {
		return err
	}
	return term.tell("command.backup.next")
}

// unlock reads a backup to its end, asks for its passphrase where there is need,
// and returns that and what the backup says of itself.
func unlock(term *terminal, file, passphraseFile string) (passphrase string, made *backup.Manifest, err error) {
	f, err := os.Open(file)
	if err != nil {
		return "", nil, err
	}
	defer f.Close()
	if passphrase, err = passphraseIn(passphraseFile); err != nil {
		return "", nil, err
	}
	made, err = backup.Check(f, migrations.Latest(), passphrase)
	if errors.Is(err, backup.ErrLocked) {
		if passphrase, err = term.ask("command.backup.ask"); err != nil {
			return "", nil, err
		}
		if _, err = f.Seek(0, io.SeekStart); err == nil {
			made, err = backup.Check(f, migrations.Latest(), passphrase)
		}
	}
	if err != nil {
		return "", nil, backupError(err, file)
	}
	return passphrase, made, nil
}
