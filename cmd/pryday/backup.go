package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"text/tabwriter"

	"pryday/migrations"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/backup"
)

type backupCmd struct {
	File           string        `arg:"" help:"The file to write, which must not be there yet; on another disk, or carried away, it helps most."`
	Encrypt        bool          `short:"e" help:"Encrypt it to a passphrase, for which you are asked twice. Whoever has the file without one has all that the club knows, and its signing keys."`
	PassphraseFile string        `env:"PRYDAY_BACKUP_PASSPHRASE_FILE" type:"existingfile" placeholder:"FILE" help:"Encrypt it to the passphrase in this file instead of asking."`
	Database       databaseFlags `embed:""`
}

// Help is what the one line does not say.
func (c *backupCmd) Help() string {
	return `Everything that the service remembers goes into the file: records, photos, members,
rules with their history, calendar addresses, passkeys, signing keys, what was told to
whom, mail that is still owed, and the audit. It is of one instant, and the service can go
on running. Not in it: settings (pryday.env, files named there) and who is signed in.

Bring it back with: pryday restore FILE

To move to another machine: stop the service here, back up, copy the file and your
settings over, restore there, start the service there. Calendar addresses, passkeys and
buttons in mails go on working, and nobody is mailed twice.`
}

// Run makes the backup and says what is in it.
func (c *backupCmd) Run(ctx context.Context, term *terminal) error {
	file, err := filepath.Abs(c.File)
	if err != nil {
		return err
	}
	passphrase, err := c.passphrase(term)
	if err != nil {
		return err
	}
	if err := c.Database.begun(); err != nil {
		return err
	}
	d, done, err := c.Database.find(ctx, term.logger(slog.LevelWarn))
	if err != nil {
		return err
	}
	defer done()
	made, err := backup.Create(ctx, source(d.Owner), backup.Place{File: file, Passphrase: passphrase, Leave: c.leave(file)}, term.now())
	if err != nil {
		return backupError(err, c.File)
	}
	info, err := os.Stat(file)
	if err != nil {
		return err
	}
	if err := noteBackup(ctx, d, "make backup", filepath.Base(c.File)); err != nil {
		return err
	}
	if err := term.tell("command.backup.made", c.File, megabytes(info.Size())); err != nil {
		return err
	}
	return term.list(made)
}

func (c *backupCmd) passphrase(term *terminal) (string, error) {
	if c.PassphraseFile != "" || !c.Encrypt {
		return passphraseIn(c.PassphraseFile)
	}
	first, err := term.ask("command.backup.ask")
	if err != nil {
		return "", err
	}
	if err := longEnough(first); err != nil {
		return "", err
	}
	second, err := term.ask("command.backup.ask-again")
	if err == nil && first != second {
		err = complain("command.error.passphrases-differ")
	}
	return first, err
}

// leave is what must stay free on the disk of a file: nothing, unless the private
// database is on it too.
func (c *backupCmd) leave(file string) uint64 {
	if c.Database.ownOne() {
		return 0
	}
	dir, err := stateDirectory(c.Database.StateDir)
	if err != nil || !sameDisk(dir, filepath.Dir(file)) {
		return 0
	}
	return backup.LeaveFree
}

// list says what a backup is of.
func (t *terminal) list(m *backup.Manifest) error {
	table := tabwriter.NewWriter(t.out, 0, 0, 3, ' ', 0)
	row := func(key string, value any) { fmt.Fprintf(table, "  %s\t%v\n", t.say.Say(key), value) }
	row("command.backup.made-at", m.MadeAt.Local().Format("2006-01-02 15:04 MST"))
	row("command.backup.host", m.Host)
	row("command.backup.installation", m.Installation)
	row("command.backup.program", m.Program)
	row("command.backup.clubs", t.say.List(m.Clubs))
	for _, part := range []struct{ table, key string }{
		{"member", "command.import.members"},
		{"hive", "command.import.hives"},
		{"box", "command.boxes"},
		{"opening", "command.import.openings"},
		{"photo", "page.script.photos"},
	} {
		for _, has := range m.Tables {
			if has.Name == part.table {
				fmt.Fprintf(table, "  \t%s\n", t.say.Say(part.key, int(has.Rows)))
			}
		}
	}
	row("command.backup.all", t.say.Say("command.backup.rows", int(m.Rows()), len(m.Tables)))
	return table.Flush()
}

// noteBackup notes what was done with all clubs at once. A database of another
// schema, which can be backed up too, has no trail of this program's.
func noteBackup(ctx context.Context, d database, action, subject string) error {
	s, err := store.Open(ctx, store.Config{URL: d.Serving, MaxConns: 2, Apart: d.apart})
	if errors.Is(err, store.ErrSchemaOlder) || errors.Is(err, store.ErrSchemaNewer) {
		return nil
	}
	if err != nil {
		return err
	}
	defer s.Close()
	return s.NoteEverywhere(ctx, store.AuditEntry{Action: action, Subject: subject})
}

// source is this installation as a backup names it.
func source(url string) backup.Source {
	host, _ := os.Hostname() // a backup without a name is one too
	return backup.Source{URL: url, Program: versionLine(thisBuild()), Host: host}
}

// backupError says what to do about what a backup cannot do.
func backupError(err error, file string) error {
	if errors.Is(err, migrations.ErrNotOwner) {
		return owners(err)
	}
	for _, c := range []struct {
		is  error
		key string
	}{
		{fs.ErrExist, "command.error.backup-exists"},
		{backup.ErrNotBackup, "command.error.backup-none"},
		{backup.ErrTorn, "command.error.backup-torn"},
		{backup.ErrLocked, "command.error.backup-locked"},
		{backup.ErrPassphrase, "command.error.backup-passphrase"},
		{backup.ErrNewer, "command.error.backup-newer"},
		{backup.ErrNotEmpty, "command.error.backup-not-empty"},
		{backup.ErrBusy, "command.error.backup-busy"},
		{backup.ErrDiskFull, "command.error.backup-disk"},
	} {
		if errors.Is(err, c.is) {
			return complain(c.key, file, err)
		}
	}
	return err
}

// megabytes is a size for people: with one decimal below ten.
func megabytes(bytes int64) text.Number {
	mb := float64(bytes) / (1 << 20)
	if mb < 10 {
		return text.Number{Value: max(mb, 0.1), Decimals: 1}
	}
	return text.Number{Value: mb}
}
