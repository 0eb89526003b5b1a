package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/netip"
	"os"
	"time"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/store"
)

type serveCmd struct {
	Listen   string        `env:"PRYDAY_LISTEN" default:"127.0.0.1:8080" help:"Where to listen; port 0 takes a free one."`
	Drain    time.Duration `env:"PRYDAY_DRAIN" default:"0s" placeholder:"TIME" help:"How long to go on answering after being told to stop, while /readyz already says so; up to 1m."`
	Verbose  bool          `short:"v" help:"Log every request and delivery."`
	Log      logFlags      `embed:""`
	Requests requestFlags  `embed:""`
	Mail     mailFlags     `embed:""`
	Inbound  inboundFlags  `embed:""`
	Backup   backupFlags   `embed:""`
	Database databaseFlags `embed:""`
	Replica  replicaFlags  `embed:""`
}

// replicaFlags say what else may be read from.
type replicaFlags struct {
	ReplicaURL     string `name:"replica-url" env:"PRYDAY_REPLICA_URL" placeholder:"URL" help:"A server that follows the one of --database-url, for the same login; calendars, search and exports read from it."`
	ReplicaURLFile string `name:"replica-url-file" env:"PRYDAY_REPLICA_URL_FILE" type:"existingfile" placeholder:"FILE" help:"A file that holds the replica's address."`
}

// given reads the address; a private database has no replica.
func (f *replicaFlags) given(d *database) (err error) {
	d.replica, err = secret("command.error.replica-secret", f.ReplicaURL, f.ReplicaURLFile)
	if err == nil && d.replica != "" && d.Serving == "" {
		err = complain("command.error.replica-alone")
	}
	return err
}

// requestFlags are how requests are taken.
type requestFlags struct {
	FeedPerMinute int            `name:"feed-per-minute" env:"PRYDAY_FEED_PER_MINUTE" default:"60" placeholder:"N" help:"Answers to one calendar address a minute; whoever asks more often is told to wait."`
	Proxies       []netip.Prefix `env:"PRYDAY_PROXIES" default:"127.0.0.0/8,::1/128" placeholder:"NETWORK,..." help:"Servers before this one whose X-Forwarded-For says who asks."`
}

// Validate refuses a limit that would lock everybody out.
func (f requestFlags) Validate() error {
	if f.FeedPerMinute < 1 {
		return complain("command.error.at-least", "--feed-per-minute", fmt.Sprint(f.FeedPerMinute), "1")
	}
	return nil
}

func (c *serveCmd) Run(ctx context.Context, term *terminal) error {
	ctx = store.WithOrigin(ctx, store.Origin{}) // nobody gives a command for what it does by itself
	level := slog.LevelInfo
	if c.Verbose {
		level = slog.LevelDebug
	}
	log := term.loggerIn(c.Log.Log, level)
	settings, err := c.settings(terminalClock{civil: term.now})
	if err != nil {
		return err
	}
	d, err := startDaemon(ctx, settings, log)
	if err != nil {
		return err
	}
	err = clearScratch(c.Database.StateDir, os.Getenv, term.setenv) // now that no other daemon can be reading there
	if err == nil {
		err = d.welcome(ctx, term)
	}
	if err != nil {
		d.stop()
		return err
	}
	log.Info("serving", "address", "http://"+d.listener.Addr().String(), "public", d.public.String())
	return d.serve(ctx)
}

// mostDrain leaves time for the rest of stopping (TimeoutStopSec of the unit).
const mostDrain = time.Minute

// Validate refuses a time that nobody waits for.
func (c *serveCmd) Validate() error {
	if c.Drain < 0 || c.Drain > mostDrain {
		return complain("command.error.between", "--drain", c.Drain.String(), "0s", mostDrain.String())
	}
	return nil
}

func (c *serveCmd) settings(clock notify.Clock) (s daemonSettings, err error) {
	s = daemonSettings{stateDir: c.Database.StateDir, listen: c.Listen, drain: c.Drain, clock: clock, requests: c.Requests, backup: c.Backup, build: thisBuild()}
	if s.database, err = c.Database.given(); err != nil {
		return s, err
	}
	if err = c.Replica.given(&s.database); err != nil {
		return s, err
	}
	if s.mail, err = c.Mail.settings(); err != nil {
		return s, err
	}
	s.inbound, err = c.Inbound.settings()
	return s, err
}

// terminalClock takes its day from where the command was given.
type terminalClock struct {
	notify.RealClock
	civil func() time.Time
}

// Civil returns the terminal's time.
func (c terminalClock) Civil() time.Time { return c.civil() }

// organiserOf returns the first organiser of a club.
func organiserOf(ctx context.Context, s *store.Store, club int64) (member scheduler.Member, err error) {
	err = s.InClub(ctx, club, func(tx *store.Tx) error {
		members, err := tx.Members(ctx)
		if err != nil {
			return err
		}
		for _, m := range members {
			if m.Role == scheduler.Organiser {
				member = m
				return nil
			}
		}
		return errors.New("the club has no organiser")
	})
	return member, err
}
