package main

import (
	"cmp"
	"context"
	"fmt"
	"os"

	"pryday/scheduler"
	"pryday/store"
	"pryday/store/records"
)

type rulesCmd struct {
	Check   rulesCheckCmd   `cmd:"" help:"Say whether a rules file is right, and where not."`
	Show    rulesShowCmd    `cmd:"" help:"Print the club's rules as a file."`
	Preview rulesPreviewCmd `cmd:"" help:"Say what the rules of a file would change in the next year."`
	Apply   rulesApplyCmd   `cmd:"" help:"Make a file the club's rules and replan."`
}

type rulesCheckCmd struct {
	File string `arg:"" type:"existingfile" help:"A rules file (TOML)."`
}

func (c *rulesCheckCmd) Run(term *terminal) error {
	if _, err := readRules(c.File); err != nil {
		return err
	}
	return term.tell("command.rules.fine", c.File)
}

func readRules(file string) (scheduler.Rules, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return scheduler.Rules{}, err
	}
	rules, err := records.ParseRules(data)
	if err != nil {
		return rules, fmt.Errorf("%s:\n%w", file, err)
	}
	return rules, nil
}

type rulesShowCmd struct {
	Default  bool          `help:"Print the rules of a club that changed nothing, without any database."`
	Version  int           `name:"rules-version" placeholder:"N" help:"An earlier version; the present one when left out."`
	Club     string        `placeholder:"NAME" help:"The club, where the database holds several."`
	Database databaseFlags `embed:""`
}

func (c *rulesShowCmd) Run(ctx context.Context, term *terminal) error {
	rules := scheduler.DefaultRules()
	if !c.Default {
		err := c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) error {
			held, err := tx.Rules(ctx)
			if c.Version != 0 {
				held, err = tx.RulesAt(ctx, c.Version)
			}
			if err != nil {
				return err
			}
			rules = held.Rules
			return nil
		})
		if err != nil {
			return err
		}
	}
	_, err := term.out.Write(records.EncodeRules(rules))
	return err
}

type rulesApplyCmd struct {
	File     string         `arg:"" type:"existingfile" help:"A rules file (TOML)."`
	Note     string         `placeholder:"TEXT" help:"Why, for the list of versions."`
	Today    scheduler.Date `placeholder:"DATE" help:"The day to plan from; today when left out."`
	Club     string         `placeholder:"NAME" help:"The club, where the database holds several."`
	Database databaseFlags  `embed:""`
}

func (c *rulesApplyCmd) Run(ctx context.Context, term *terminal) error {
	rules, err := readRules(c.File)
	if err != nil {
		return err
	}
	return c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) error {
		today, err := tx.Today(ctx, term.now())
		if err != nil {
			return err
		}
		version, err := tx.ApplyRules(ctx, rules, 0, c.Note, cmp.Or(c.Today, today))
		if err != nil {
			return err
		}
		return term.tell("command.rules.applied", version)
	})
}
