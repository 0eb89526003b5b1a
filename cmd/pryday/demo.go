package main

import (
	"cmp"
	"context"
	"fmt"
	"log/slog"
	"net/mail"
	"os"
	"path/filepath"
	"text/tabwriter"
	"time"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/records"
	"pryday/testdata"
)

type demoCmd struct {
	Listen   string         `env:"PRYDAY_LISTEN" default:"127.0.0.1:8080" help:"Where to listen; port 0 takes a free one."`
	StateDir string         `env:"PRYDAY_STATE_DIR" placeholder:"DIR" help:"Where the demo's database and mail folder go."`
	Today    scheduler.Date `placeholder:"DATE" help:"The day on which the story begins, instead of a fixed spring day."`
	Verbose  bool           `short:"v" help:"Log every request and delivery."`
	Requests requestFlags   `embed:""`
}

const (
	demoSignIn = 24 * time.Hour               // how long the printed sign-in address works
	demoHour   = 7*time.Hour + 30*time.Minute // after the hour at which the club's mail goes out
)

// storyClock begins on a morning of the club, whatever time it is here.
func storyClock(day scheduler.Date, zone *time.Location, now time.Time) notify.ShiftedClock {
	return notify.ShiftedClock{By: day.At(int(demoHour.Minutes()), zone).Sub(now).Round(time.Minute)}
}

// Run starts the story anew each time, so that it always reads the same.
func (c *demoCmd) Run(ctx context.Context, term *terminal) error {
	ctx = store.WithOrigin(ctx, store.Origin{})
	level := slog.LevelWarn
	if c.Verbose {
		level = slog.LevelDebug
	}
	state, err := c.stateDir()
	if err != nil {
		return err
	}
	today := c.Today
	if today == 0 {
		if today, err = scheduler.ParseDate(testdata.DemoDay); err != nil {
			return err
		}
	}
	club, err := records.Parse(testdata.Demo)
	if err != nil {
		return fmt.Errorf("the demo's records: %w", err)
	}
	term.tell("command.demo.starting")
	if err := os.RemoveAll(filepath.Join(state, "mail")); err != nil {
		return err
	}
	d, err := startDaemon(ctx, daemonSettings{
		stateDir: state, listen: c.Listen, mail: mailSettings{from: mail.Address{Name: "Pryday demo", Address: "pryday@localhost"}},
		clock: storyClock(today, club.Zone(), term.now()), demo: true, requests: c.Requests, build: thisBuild(),
	}, term.logger(level))
	if err != nil {
		return err
	}
	id, err := d.beginStory(ctx, club, today)
	if err == nil {
		err = d.tellStory(ctx, term, id, today)
	}
	if err != nil {
		d.stop()
		return err
	}
	return d.serve(ctx)
}

func (c *demoCmd) stateDir() (string, error) {
	if c.StateDir != "" {
		return filepath.Abs(c.StateDir)
	}
	dir, err := stateDirectory("")
	return filepath.Join(dir, "demo"), err
}

// beginStory replaces what an earlier demo left by the club as written.
func (d *daemon) beginStory(ctx context.Context, club *scheduler.Club, today scheduler.Date) (int64, error) {
	ids, err := d.store.ClubIDs(ctx)
	if err != nil {
		return 0, err
	}
	for _, id := range ids {
		if err := d.store.DeleteClub(ctx, id); err != nil {
			return 0, err
		}
	}
	return d.store.FoundClub(ctx, club.Name, func(tx *store.Tx) error {
		if _, err := tx.Import(ctx, club); err != nil {
			return err
		}
		_, err := tx.ReplanAll(ctx, today)
		return err
	})
}

// tellStory prints where to look.
func (d *daemon) tellStory(ctx context.Context, term *terminal, club int64, today scheduler.Date) error {
	organiser, err := organiserOf(ctx, d.store, club)
	if err != nil {
		return err
	}
	token, err := d.store.NewSignIn(ctx, organiser.PersonID, demoSignIn)
	if err != nil {
		return err
	}
	var link *store.Link
	var calendar string
	var records *scheduler.Club
	var plan *scheduler.Plan
	err = d.store.InClub(ctx, club, func(tx *store.Tx) (err error) {
		if link, calendar, err = tx.CreateLink(ctx, store.ClubLink, organiser.ID, 0, store.LinkOptions{Label: "demo", Far: true}); err != nil {
			return err
		}
		if records, err = tx.Outline(ctx); err != nil {
			return err
		}
		plan, err = tx.SavedPlan(ctx, today)
		return err
	})
	if err != nil {
		return err
	}
	say := term.say.Terse(today.Year())
	fmt.Fprintf(term.out, "\n%s\n\n", say.Say("command.demo.on", records.Name, text.Full(today)))
	table := tabwriter.NewWriter(term.out, 0, 0, 3, ' ', 0)
	fmt.Fprintf(table, "  %s\t%s\n", say.Say("command.demo.sign-in"), d.pages.SignInAddress(token))
	fmt.Fprintf(table, "  %s\t%s\n", say.Say("command.demo.calendar"), d.pages.CalendarAddress(calendar, records, link))
	fmt.Fprintf(table, "  %s\t%s\n", say.Say("command.demo.mail"), d.mailDir)
	if err := table.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(term.out, "\n%s\n", say.Say("command.demo.next"))
	table = tabwriter.NewWriter(term.out, 0, 0, 2, ' ', 0)
	for _, v := range newPlanReport(records, plan, today+28, "", say).Visits {
		fmt.Fprintf(table, "  %s\t%s\t%s\t%s\t%s\n", say.Tell(weekdayOf(v.On)), v.Apiary, say.Word(v.Status),
			say.Say("command.boxes", len(v.Boxes)), cmp.Or(v.going, say.Say("command.demo.nobody")))
	}
	if err := table.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(term.out)
	return term.tell("command.demo.stop")
}
