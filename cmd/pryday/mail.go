package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"

	"pryday/notify"
	"pryday/notify/smtp"
	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

type mailCmd struct {
	Test    mailTestCmd    `cmd:"" help:"Send one mail that says that mail works."`
	Preview mailPreviewCmd `cmd:"" help:"Write the mails of a day to files, without sending or recording anything."`
}

type mailTestCmd struct {
	Address  string        `arg:"" help:"Where the mail goes."`
	Language string        `default:"en" help:"BCP 47 tag of the language, as en or de."`
	Mail     mailFlags     `embed:""`
	Database databaseFlags `embed:""`
}

func (c *mailTestCmd) Run(ctx context.Context, term *terminal) error {
	return withNotify(ctx, term, &c.Mail, &c.Database, func(n *notify.Service, _ *store.Store, where string) error {
		outcome, err := n.TryMail(ctx, c.Address, c.Language)
		if err != nil {
			return err
		}
		if outcome.Verdict != smtp.Delivered {
			return complain("command.error.mail-refused", where, fmt.Sprint(outcome.Phase), fmt.Sprint(outcome.Verdict), outcome.Reply)
		}
		return term.tell("command.mail.taken", where, c.Address, outcome.Reply)
	})
}

type mailPreviewCmd struct {
	Day      scheduler.Date `placeholder:"DATE" help:"The day, as 2027-05-01; today when left out."`
	Output   string         `short:"o" default:"mail-preview" help:"The folder to write to; it is made when it is not there."`
	Club     string         `placeholder:"NAME" help:"The club, where the database holds several."`
	Mail     mailFlags      `embed:""`
	Database databaseFlags  `embed:""`
}

func (c *mailPreviewCmd) Run(ctx context.Context, term *terminal) error {
	return withNotify(ctx, term, &c.Mail, &c.Database, func(n *notify.Service, s *store.Store, _ string) error {
		id, err := findClub(ctx, s, c.Club)
		if err != nil {
			return err
		}
		var club *scheduler.Club
		if err := s.InSnapshot(ctx, id, func(tx *store.Tx) (err error) {
			club, err = tx.Apiaries(ctx)
			return err
		}); err != nil {
			return err
		}
		day := cmp.Or(c.Day, club.Today(term.now()))
		// Late in the day, so that every member's hour has come.
		previews, err := n.Preview(ctx, id, day.At(23*60+30, club.Zone()))
		if err != nil {
			return err
		}
		if err := os.MkdirAll(c.Output, 0o700); err != nil {
			return err
		}
		written := 0
		for _, p := range previews {
			if p.PassedOver != "" {
				term.tell("command.mail.nothing-for", p.Member, text.New(p.PassedOver))
				continue
			}
			written++
			name := filepath.Join(c.Output, fmt.Sprintf("%s-%02d-%s", day, written, p.Kind))
			for suffix, text := range map[string]string{".eml": string(p.Letter.Text), ".txt": p.Mail.Text, ".html": p.Mail.HTML} {
				if err := os.WriteFile(name+suffix, []byte(text), 0o600); err != nil {
					return err
				}
			}
			term.tell("command.mail.written", p.Member, p.Mail.Subject, name)
		}
		if written > 0 {
			term.warnLocal(cmp.Or(c.Mail.PublicURL, localURL))
		} else {
			term.tell("command.mail.nobody", text.Full(day))
		}
		return nil
	})
}

// withNotify prepares the message service without starting it.
func withNotify(ctx context.Context, term *terminal, flags *mailFlags, database *databaseFlags,
	fn func(n *notify.Service, s *store.Store, where string) error,
) error {
	settings, err := flags.settings()
	if err != nil {
		return err
	}
	return database.withStore(ctx, term, func(s *store.Store) (err error) {
		sender, where, err := settings.sender(database.StateDir)
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, sender.Close()) }()
		if settings.smtp != nil {
			where = settings.smtp.Host
		}
		public := settings.public
		if public == nil {
			public = &url.URL{Scheme: "http", Host: "127.0.0.1:8080"}
		}
		n, err := notify.New(ctx, notify.Config{
			Store: s, Sender: sender, PublicURL: public, From: settings.from, DKIM: settings.dkim, Logger: term.logger(slog.LevelWarn),
		})
		if err != nil {
			return err
		}
		return fn(n, s, where)
	})
}
