package main

import (
	"cmp"
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"sync"
	"time"

	"pryday/migrations"
	"pryday/notify"
	"pryday/store"
	"pryday/store/backup"
	"pryday/store/localpg"
	"pryday/web"
)

// daemon is the whole service, wired from top to bottom.
type daemon struct {
	settings daemonSettings
	log      *slog.Logger
	database *localpg.Server // nil when the database is somebody else's
	store    *store.Store
	notify   *notify.Service
	pages    *web.Server
	inbound  *inbound
	listener net.Listener
	public   *url.URL
	mailDir  string
	backups  *backup.Daily // nil where none are made
	undo     []func()      // clean-ups, run last first
}

// daemonSettings are what serve and demo decide before anything starts.
type daemonSettings struct {
	database database // without addresses for the private one
	stateDir string
	listen   string
	mail     mailSettings
	inbound  inboundSettings
	clock    notify.Clock
	demo     bool
	requests requestFlags
	backup   backupFlags
	build    web.Build
	drain    time.Duration // how long to go on serving after being told to stop
}

// startDaemon brings everything up except the serving of requests. Whatever
// was started is stopped again when it fails.
func startDaemon(ctx context.Context, settings daemonSettings, log *slog.Logger) (_ *daemon, err error) {
	d := &daemon{settings: settings, log: log}
	defer func() {
		if err != nil {
			d.stop()
		}
	}()
	b := settings.build
	log.Info("starting", "version", cmp.Or(b.Version, "not a release"), "revision", cmp.Or(b.Revision, "unknown"), "modified", b.Modified, "go", b.Go)
	// Listening comes first: a port in use is the likeliest mistake.
	if d.listener, err = listen(settings.listen, os.Getenv); err != nil {
		return nil, complain("command.error.listen", settings.listen, err)
	}
	d.undo = append(d.undo, func() { d.listener.Close() })
	if err = d.openStore(ctx); err != nil {
		return nil, err
	}
	if d.public = settings.mail.public; d.public == nil {
		d.public = &url.URL{Scheme: "http", Host: d.listener.Addr().String()}
	}
	sender, mailDir, err := settings.mail.sender(settings.stateDir)
	if err != nil {
		return nil, err
	}
	d.mailDir = mailDir
	d.undo = append(d.undo, func() { sender.Close() })
	d.notify, err = notify.New(ctx, notify.Config{
		Store: d.store, Sender: sender, Clock: settings.clock, Logger: log,
		PublicURL: d.public, From: settings.mail.from, DKIM: settings.mail.dkim, ReplyTo: settings.inbound.replyTo,
	})
	if err != nil {
		return nil, err
	}
	if d.inbound, err = settings.inbound.open(d.notify.Inbox(), log); err != nil {
		return nil, err
	}
	d.undo = append(d.undo, func() { d.inbound.stop(ctx) })
	d.pages, err = web.New(web.Config{
		Store: d.store, Clock: settings.clock, PublicURL: d.public, Logger: log, Demo: settings.demo,
		Notify: d.notify, FeedPerMinute: settings.requests.FeedPerMinute, Proxies: settings.requests.Proxies, Build: b,
		StateDir: d.ownDisk(), Backups: d.backupState(),
	})
	if err != nil {
		return nil, err
	}
	d.undo = append(d.undo, d.pages.Close)
	return d, nil
}

// openStore finds the database, brings a private one up to the schema, and
// opens the serving pool, which refuses any other schema.
func (d *daemon) openStore(ctx context.Context) (err error) {
	at := d.settings.database
	if at.Serving == "" {
		if d.database, err = localpg.Start(ctx, localpg.Options{StateDir: d.settings.stateDir, Logger: d.log}); err != nil {
			return err
		}
		d.undo = append(d.undo, func() { stopServer(d.database, d.log) })
		at = database{Addresses: d.database.Addresses(), private: true, apart: true}
		if err := migrations.Up(ctx, at.Owner); err != nil {
			return err
		}
	}
	if d.store, err = at.open(ctx, 0); err != nil {
		return err
	}
	d.undo = append(d.undo, d.store.Close)
	if d.store.MayOwn() {
		d.log.Warn("the login in PRYDAY_DATABASE_URL owns the records, or can become who does: " +
			"give serving a login of its own, and the owner's address to PRYDAY_OWNER_URL for migrations and backups (deploy/README.md, \"A PostgreSQL of your own\")")
	}
	d.backups, err = d.settings.backup.daily(ctx, at, d.store, d.settings.stateDir, d.log)
	return err
}

// backupState is how the pages learn of the daily backups; nil where none are made.
func (d *daemon) backupState() func() backup.State {
	if d.backups == nil {
		return nil
	}
	return d.backups.State
}

// backUp makes daily backups until ctx ends; the function that it returns waits for
// the end.
func (d *daemon) backUp(ctx context.Context) (wait func()) {
	if d.backups == nil {
		return func() {}
	}
	var running sync.WaitGroup
	running.Go(func() { d.backups.Run(ctx) })
	return running.Wait
}

// ownDisk is the folder of a database of one's own; empty for somebody else's,
// of whose disk nothing is known.
func (d *daemon) ownDisk() string {
	if d.database == nil {
		return ""
	}
	dir, err := stateDirectory(d.settings.stateDir)
	if err != nil {
		d.log.Warn("disk", "err", err)
		return ""
	}
	return dir
}

// stateDirectory is the given one, or the usual one.
func stateDirectory(given string) (string, error) {
	if given != "" {
		return filepath.Abs(given)
	}
	return localpg.DefaultStateDir()
}

// serve answers requests and delivers mail until ctx ends or a part fails,
// then stops everything in order.
func (d *daemon) serve(ctx context.Context) error {
	defer d.stop()
	if err := d.notify.Start(ctx); err != nil {
		return err
	}
	backing, cancel := context.WithCancel(ctx)
	wait := d.backUp(backing)
	defer func() { cancel(); wait() }()
	arriving := &arrivals{}
	server := &http.Server{
		Handler: d.pages, ErrorLog: slog.NewLogLogger(d.log.Handler(), slog.LevelWarn),
		ReadHeaderTimeout: 10 * time.Second, ReadTimeout: time.Minute, WriteTimeout: time.Minute, IdleTimeout: 2 * time.Minute,
	}
	arriving.watch(server)
	failed, accepted := make(chan error, 2), make(chan struct{})
	go func() { defer close(accepted); failed <- server.Serve(d.listener) }()
	d.inbound.run(ctx, failed, d.log)
	died, rest := d.keepDatabase(ctx)
	defer rest()
	var err error
	select {
	case <-ctx.Done():
		d.log.Info("stopping")
	case err = <-failed:
	case err = <-died:
	}
	if err == nil {
		// Whoever stands before this one hears that it stops, and sends people
		// elsewhere while it still answers.
		d.pages.Drain()
		server.SetKeepAlivesEnabled(false)
		time.Sleep(d.settings.drain)
	}
	patience, cancel := context.WithTimeout(context.WithoutCancel(ctx), 15*time.Second)
	defer cancel()
	d.listener.Close()
	<-accepted
	closeServer := func(ctx context.Context) error { return arriving.closeAfter(ctx, server) }
	ends := []func(context.Context) error{closeServer, d.inbound.stop, d.notify.Stop} // side by side: none takes another's time
	failures := make([]error, len(ends))
	var ending sync.WaitGroup
	for i, end := range ends {
		ending.Go(func() { failures[i] = end(patience) })
	}
	ending.Wait()
	return errors.Join(append(failures, err)...)
}

// keepDatabase starts a private Postgres again whenever it ends. Of one that keeps
// ending it tells; rest waits until it is no longer kept.
func (d *daemon) keepDatabase(ctx context.Context) (died <-chan error, rest func()) {
	if d.database == nil {
		return nil, func() {}
	}
	ctx, cancel := context.WithCancel(ctx)
	told := make(chan error, 1)
	var keeping sync.WaitGroup
	keeping.Go(func() {
		if err := d.database.Keep(ctx); err != nil {
			told <- complain("command.error.database-ended", err)
		}
	})
	return told, func() { cancel(); keeping.Wait() }
}

// stop undoes what was started, last first.
func (d *daemon) stop() {
	for i := len(d.undo) - 1; i >= 0; i-- {
		d.undo[i]()
	}
	d.undo = nil
}
