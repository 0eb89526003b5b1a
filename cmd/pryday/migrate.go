package main

import (
	"context"
	"fmt"
	"log/slog"

	"pryday/migrations"
)

type migrateCmd struct {
	Status   bool          `help:"Only say which steps are done."`
	Database databaseFlags `embed:""`
}

func (c *migrateCmd) Run(ctx context.Context, term *terminal) error {
	if err := c.Database.begun(); err != nil {
		return err
	}
	d, done, err := c.Database.find(ctx, term.logger(slog.LevelWarn))
	if err != nil {
		return err
	}
	defer done()
	if !c.Status {
		if err := migrations.Up(ctx, d.Owner); err != nil {
			return owners(err)
		}
	}
	steps, err := migrations.Status(ctx, d.Owner)
	if err != nil {
		return err
	}
	for _, s := range steps {
		state := term.say.Say("command.migrate-to-do")
		if s.Applied {
			state = term.say.Say("command.migrate-done")
		}
		fmt.Fprintf(term.out, "%5d  %-6s  %s\n", s.Version, state, s.Name)
	}
	return nil
}
