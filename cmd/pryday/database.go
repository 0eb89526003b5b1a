package main

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"pryday/migrations"
	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/localpg"
)

// databaseFlags say where the records are.
type databaseFlags struct {
	DatabaseURL     string `name:"database-url" env:"PRYDAY_DATABASE_URL" placeholder:"URL" help:"A PostgreSQL of your own; the private one when left out."`
	DatabaseURLFile string `name:"database-url-file" env:"PRYDAY_DATABASE_URL_FILE" type:"existingfile" placeholder:"FILE" help:"A file that holds the database's address."`
	OwnerURL        string `name:"owner-url" env:"PRYDAY_OWNER_URL" placeholder:"URL" help:"The same PostgreSQL for the owner of the records, who alone migrates, backs up and restores: then the other address can have a login that can do nothing else than serve."`
	OwnerURLFile    string `name:"owner-url-file" env:"PRYDAY_OWNER_URL_FILE" type:"existingfile" placeholder:"FILE" help:"A file that holds the owner's address."`
	StateDir        string `env:"PRYDAY_STATE_DIR" placeholder:"DIR" help:"Where the private PostgreSQL and the mail folder are."`
}

// database is where the records are, for their owner and for what serves.
type database struct {
	localpg.Addresses
	replica string // that follows Serving; empty for none
	private bool
	apart   bool // the two have logins of their own
}

// given reads the addresses of a PostgreSQL of one's own; both are empty where the
// private one is meant. Who gives one address does everything with it.
func (f *databaseFlags) given() (d database, err error) {
	if d.Serving, err = secret("command.error.database-secret", f.DatabaseURL, f.DatabaseURLFile); err != nil {
		return d, err
	}
	if d.Owner, err = secret("command.error.owner-secret", f.OwnerURL, f.OwnerURLFile); err != nil {
		return d, err
	}
	if d.Owner != "" && d.Serving == "" {
		return d, complain("command.error.owner-alone")
	}
	d.apart = d.Owner != ""
	if !d.apart {
		d.Owner = d.Serving
	}
	return d, nil
}

// ownOne reports whether addresses of a PostgreSQL of one's own are given.
func (f *databaseFlags) ownOne() bool { return f.DatabaseURL != "" || f.DatabaseURLFile != "" }

// find finds the database. When it is the private one, and no daemon has it
// running, it is started; done stops it again.
func (f *databaseFlags) find(ctx context.Context, log *slog.Logger) (d database, done func(), err error) {
	d, done, err = f.alone(ctx, log)
	if errors.Is(err, localpg.ErrInUse) {
		d.Addresses, err = localpg.Attach(ctx, f.StateDir)
	}
	return d, done, err
}

// alone finds the database for a command that must have it for itself: a private
// one is started, and it is an error when a daemon has it running.
func (f *databaseFlags) alone(ctx context.Context, log *slog.Logger) (d database, done func(), err error) {
	done = func() {}
	if d, err = f.given(); d.Serving != "" || err != nil {
		return d, done, err
	}
	d.private, d.apart = true, true
	server, err := localpg.Start(ctx, localpg.Options{StateDir: f.StateDir, Logger: log})
	if err != nil {
		return d, done, err
	}
	d.Addresses = server.Addresses()
	return d, func() { stopServer(server, log) }, nil
}

// open opens the store as what serves does.
func (d database) open(ctx context.Context, maxConns int32) (*store.Store, error) {
	s, err := store.Open(ctx, store.Config{URL: d.Serving, MaxConns: maxConns, Apart: d.apart, Replica: d.replica})
	switch {
	case errors.Is(err, store.ErrSchemaOlder):
		return nil, complain("command.error.migrate", err)
	case errors.Is(err, store.ErrMayOwn):
		return nil, complain("command.error.may-own")
	}
	return s, err
}

// owners says what to do about a command that the login at hand may not give.
func owners(err error) error {
	if errors.Is(err, migrations.ErrNotOwner) {
		return complain("command.error.not-owner")
	}
	return err
}

func stopServer(server *localpg.Server, log *slog.Logger) {
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	if err := server.Stop(ctx); err != nil {
		log.Error("the private PostgreSQL did not stop in order", "err", err)
	}
}

// begun returns nil when there may be records: a mistyped directory must not become
// an empty installation.
func (f *databaseFlags) begun() error {
	if d, err := f.given(); d.Serving != "" || err != nil {
		return err
	}
	dir, err := stateDirectory(f.StateDir)
	if err != nil {
		return err
	}
	if has, err := localpg.HasData(dir); has || err != nil {
		return err
	}
	named := text.New("command.error.named-flag")
	switch f.StateDir {
	case "":
		named = text.New("command.error.named-nowhere")
	case os.Getenv("PRYDAY_STATE_DIR"):
		named = text.New("command.error.named-environment")
	}
	demo := filepath.Join(dir, "demo") // what comes after a first look at the demo
	if has, err := localpg.HasData(demo); has && err == nil {
		return complain("command.error.only-demo", dir, named, demo)
	}
	return complain("command.error.no-records", dir, named)
}

// upToDate is find for a command that works with what is there: a private database
// is brought up to this program's schema first.
func (f *databaseFlags) upToDate(ctx context.Context, term *terminal) (d database, done func(), err error) {
	d, done, err = f.find(ctx, term.logger(slog.LevelWarn))
	if err != nil || !d.private {
		return d, done, err
	}
	if err := migrations.Up(ctx, d.Owner); err != nil {
		done()
		return d, func() {}, err
	}
	return d, done, nil
}

// inClub runs one command's work on one club, in a database that is given or in a
// private one that is up to date.
func (f *databaseFlags) inClub(ctx context.Context, term *terminal, club string, fn func(*store.Tx) error) error {
	return f.withStore(ctx, term, func(s *store.Store) error {
		id, err := findClub(ctx, s, club)
		if err != nil {
			return err
		}
		return s.InClub(ctx, id, fn)
	})
}

// withStore runs one command's work on the records that are there.
func (f *databaseFlags) withStore(ctx context.Context, term *terminal, fn func(*store.Store) error) error {
	if err := f.begun(); err != nil {
		return err
	}
	return f.withNewStore(ctx, term, fn)
}

// withNewStore is withStore for a command that may begin the records.
func (f *databaseFlags) withNewStore(ctx context.Context, term *terminal, fn func(*store.Store) error) error {
	d, done, err := f.upToDate(ctx, term)
	if err != nil {
		return err
	}
	defer done()
	s, err := d.open(ctx, 4)
	if err != nil {
		return err
	}
	defer s.Close()
	return fn(s)
}

// findClub finds a club by name; no name will do when there is only one.
func findClub(ctx context.Context, s *store.Store, name string) (int64, error) {
	clubs, err := clubs(ctx, s)
	if err != nil {
		return 0, err
	}
	var names []string
	var found []int64
	for _, c := range clubs {
		names = append(names, c.Name)
		if name == "" || c.Name == name {
			found = append(found, c.ID)
		}
	}
	switch {
	case len(clubs) == 0:
		return 0, complain("command.error.no-club")
	case len(found) == 1:
		return found[0], nil
	case name == "":
		return 0, complain("command.error.which-club", strings.Join(names, ", "))
	case len(found) == 0:
		return 0, complain("command.error.club", name, strings.Join(names, ", "))
	default:
		return 0, complain("command.error.same-club", name, len(found))
	}
}

// clubs reads every club without its openings.
func clubs(ctx context.Context, s *store.Store) ([]*scheduler.Club, error) {
	ids, err := s.ClubIDs(ctx)
	if err != nil {
		return nil, err
	}
	all := make([]*scheduler.Club, len(ids))
	for i, id := range ids {
		if err := s.InSnapshot(ctx, id, func(tx *store.Tx) (err error) {
			all[i], err = tx.Outline(ctx)
			return err
		}); err != nil {
			return nil, err
		}
	}
	return all, nil
}
