package main

import (
	"context"
	"errors"
	"log/slog"
	"strings"
	"time"

	"pryday/migrations"
	"pryday/scheduler"
	"pryday/store"
	"pryday/store/localpg"
)

// databaseFlags say where the records are.
type databaseFlags struct {
	DatabaseURL     string `name:"database-url" env:"PRYDAY_DATABASE_URL" placeholder:"URL" help:"A PostgreSQL of your own; the private one when left out."`
	DatabaseURLFile string `name:"database-url-file" env:"PRYDAY_DATABASE_URL_FILE" type:"existingfile" placeholder:"FILE" help:"A file that holds the database's address."`
	StateDir        string `env:"PRYDAY_STATE_DIR" placeholder:"DIR" help:"Where the private PostgreSQL and the mail folder are."`
}

// url finds the database. When it is the private one, and no daemon has it
// running, it is started; done stops it again.
func (f *databaseFlags) url(ctx context.Context, log *slog.Logger) (url string, done func(), err error) {
	url, done, err = f.own(ctx, log)
	if errors.Is(err, localpg.ErrInUse) {
		url, err = localpg.Attach(ctx, f.StateDir)
	}
	return url, done, err
}

// own finds the database for a command that must have it for itself: a private one
// is started, and it is an error when a daemon has it running.
func (f *databaseFlags) own(ctx context.Context, log *slog.Logger) (url string, done func(), err error) {
	done = func() {}
	if url, err = secret("command.error.database-secret", f.DatabaseURL, f.DatabaseURLFile); url != "" || err != nil {
		return url, done, err
	}
	server, err := localpg.Start(ctx, localpg.Options{StateDir: f.StateDir, Logger: log})
	if err != nil {
		return "", done, err
	}
	return server.URL(), func() { stopServer(server, log) }, nil
}

func stopServer(server *localpg.Server, log *slog.Logger) {
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	if err := server.Stop(ctx); err != nil {
		log.Error("the private PostgreSQL did not stop in order", "err", err)
	}
}

// inClub runs one command's work on one club. A private database is brought
// up to this program's schema first; one that is given is only checked.
func (f *databaseFlags) inClub(ctx context.Context, term *terminal, club string, fn func(*store.Tx) error) error {
	return f.withStore(ctx, term, func(s *store.Store) error {
		id, err := findClub(ctx, s, club)
		if err != nil {
			return err
		}
		return s.InClub(ctx, id, fn)
	})
}

func (f *databaseFlags) withStore(ctx context.Context, term *terminal, fn func(*store.Store) error) error {
	log := term.logger(slog.LevelWarn)
	url, done, err := f.url(ctx, log)
	if err != nil {
		return err
	}
	defer done()
	if f.DatabaseURL == "" && f.DatabaseURLFile == "" {
		if err := migrations.Up(ctx, url); err != nil {
			return err
		}
	}
	s, err := store.Open(ctx, store.Config{URL: url, MaxConns: 4})
	if err != nil {
		return hintMigrate(err)
	}
	defer s.Close()
	return fn(s)
}

// hintMigrate says what to do about a schema that does not fit.
func hintMigrate(err error) error {
	if errors.Is(err, store.ErrSchemaOlder) {
		return complain("command.error.migrate", err)
	}
	return err
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
