package main

import (
	"context"
	"fmt"
	"text/tabwriter"
	"time"

	"pryday/migrations"
	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

type keysCmd struct {
	Rotate keysRotateCmd `cmd:"" help:"Make new signing keys; those of before are known for a while."`
	List   keysListCmd   `cmd:"" help:"List the signing keys: since when, and until when."`
}

type keysRotateCmd struct {
	Keep     int           `default:"90" placeholder:"DAYS" help:"For how many days what the keys of before signed goes on working, 0 to 400. 0 ends all of it at once: for when somebody else has them."`
	Database databaseFlags `embed:""`
}

// Help is what the one line does not say.
func (c *keysRotateCmd) Help() string {
	return `Keys sign the buttons in mails and calendar entries, the addresses that answers come to,
and the cookie by which a browser is known again. New ones sign from now on, also in
services that run. Mail of the last 90 days has buttons that act, which is why keys are
kept as long by default; the one that ends reminders acts for 400. Calendars fetch their
entries anew by themselves.

Nothing else depends on them: calendar addresses go on working, passkeys too, and nobody is
signed out. Backups that were made before have the old keys, and restoring one brings them
back; make new ones after that. With a PostgreSQL of your own this needs the owner's address
(PRYDAY_OWNER_URL, where there are two). The trail of changes says that it was done.`
}

// Validate refuses what would let a key live longer than anything that it signs.
func (c *keysRotateCmd) Validate() error {
	if c.Keep < 0 || c.Keep > 400 {
		return complain("command.error.between", "--keep", fmt.Sprint(c.Keep), "0", "400")
	}
	return nil
}

// Run makes new keys and lists them all.
func (c *keysRotateCmd) Run(ctx context.Context, term *terminal) error {
	keep := time.Duration(c.Keep) * 24 * time.Hour
	done := text.New("command.keys.ended")
	if c.Keep > 0 {
		done = text.New("command.keys.kept", text.Full(scheduler.DateOf(time.Now().Add(keep)))) // real time: keys end by it
	}
	return c.Database.withKeys(ctx, term, func(url string) ([]store.KeyInfo, error) {
		keys, err := store.RotateKeys(ctx, url, keep, done)
		if err != nil {
			return nil, err
		}
		return keys, term.tell("command.keys.rotated", done)
	})
}

type keysListCmd struct {
	Database databaseFlags `embed:""`
}

func (c *keysListCmd) Run(ctx context.Context, term *terminal) error {
	return c.Database.withKeys(ctx, term, func(url string) ([]store.KeyInfo, error) { return store.ListKeys(ctx, url) })
}

// withKeys lets do work with the signing keys as the owner, and prints those that
// it returns.
func (f *databaseFlags) withKeys(ctx context.Context, term *terminal, do func(url string) ([]store.KeyInfo, error)) error {
	if err := f.begun(); err != nil {
		return err
	}
	d, done, err := f.upToDate(ctx, term)
	if err != nil {
		return err
	}
	defer done()
	if err := migrations.CheckOwner(ctx, d.Owner); err != nil {
		return owners(err)
	}
	keys, err := do(d.Owner)
	if err != nil {
		return err
	}
	table := tabwriter.NewWriter(term.out, 0, 0, 3, ' ', 0)
	day := func(t time.Time) string { return t.Local().Format("2006-01-02 15:04 MST") }
	for _, k := range keys {
		until := term.say.Say("command.keys.signs")
		if k.EndsAt != nil {
			until = term.say.Say("command.keys.until", day(*k.EndsAt))
		}
		fmt.Fprintf(table, "%s\t%s\t%s\n", k.Name, day(k.MadeAt), until)
	}
	return table.Flush()
}
