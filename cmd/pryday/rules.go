package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
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
	rules, _, err := readRulesFile(file)
	return rules, err
}

// readRulesFile reads rules, and the version that they were made from if the
// file says so, else 0.
func readRulesFile(file string) (rules scheduler.Rules, base int, err error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return rules, 0, err
	}
	if rules, err = records.ParseRules(data); err != nil {
		return rules, 0, complain("command.error.rules-file", file, err)
	}
	return rules, records.RulesBase(data), nil
}

type rulesShowCmd struct {
	Default  bool          `help:"Print the rules of a club that changed nothing, without any database."`
	Version  int           `name:"rules-version" placeholder:"N" help:"An earlier version; the present one when left out."`
	Club     string        `placeholder:"NAME" help:"The club, where the database holds several."`
	Database databaseFlags `embed:""`
}

func (c *rulesShowCmd) Run(ctx context.Context, term *terminal) error {
	if c.Default {
		_, err := term.out.Write(records.EncodeRules(scheduler.DefaultRules(), &term.say))
		return err
	}
	return c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) error {
		if c.Version != 0 {
			old, err := tx.RulesAt(ctx, c.Version)
			if err == nil {
				_, err = term.out.Write(records.EncodeRules(old.Rules, &term.say))
			}
			return err
		}
		held, err := tx.Rules(ctx)
		if err == nil {
			_, err = term.out.Write(records.EncodeRulesFrom(held.Version, held.Rules, &term.say))
		}
		return err
	})
}

type rulesApplyCmd struct {
	File     string         `arg:"" type:"existingfile" help:"A rules file (TOML)."`
	Note     string         `placeholder:"TEXT" help:"Why, for the list of versions."`
	MadeFrom int            `placeholder:"N" help:"The version that the file was made from; what the comment on top of it says when left out. Without either, the file replaces whichever version holds."`
	Today    scheduler.Date `placeholder:"DATE" help:"The day to plan from; today when left out."`
	Club     string         `placeholder:"NAME" help:"The club, where the database holds several."`
	Database databaseFlags  `embed:""`
}

func (c *rulesApplyCmd) Run(ctx context.Context, term *terminal) error {
	rules, base, err := readRulesFile(c.File)
	if err != nil {
		return err
	}
	if c.MadeFrom < 0 {
		return complain("command.rules.from-one", c.MadeFrom)
	}
	edit := store.RulesEdit{Rules: rules, Base: cmp.Or(c.MadeFrom, base), Note: c.Note}
	var done store.RulesApplied
	err = c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) error {
		today, err := tx.Today(ctx, term.now())
		if err != nil {
			return err
		}
		done, err = tx.ApplyRules(ctx, edit, cmp.Or(c.Today, today))
		if errors.Is(err, store.ErrRulesChanged) {
			return overtaken(ctx, tx, c.File, &edit)
		}
		if err != nil || done.Version == done.Replaced {
			return err
		}
		return tx.Note(ctx, 0, "change rules", text.New("audit.about.rules", done.Version, exportName(c.File, "")))
	})
	if err != nil {
		return err
	}
	if done.Version == done.Replaced {
		return term.tell("command.rules.held", done.Version)
	}
	if err := term.tell("command.rules.applied", done.Version, done.Replaced); err != nil || done.Restores == 0 {
		return err
	}
	return term.tell("page.rules-back.again", done.Restores)
}

// overtaken says what others changed since the version that a file was made
// from, and what the file changes about it.
func overtaken(ctx context.Context, tx *store.Tx, file string, e *store.RulesEdit) error {
	held, err := tx.Rules(ctx)
	if err != nil {
		return err
	}
	base, err := tx.RulesAt(ctx, e.Base)
	if errors.Is(err, store.ErrNotFound) {
		return complain("command.rules.never", file, e.Base, held.Version)
	}
	if err != nil {
		return err
	}
	return complain("command.rules.overtaken", file, e.Base, held.Version,
		listRules(&base.Rules, &held.Rules), listRules(&base.Rules, &e.Rules), held.Version)
}

// listRules lists the rules that differ, as rules files name and write them.
func listRules(was, now *scheduler.Rules) string {
	var lines []string
	for _, k := range scheduler.DifferentRules(was, now) {
		value := func(r *scheduler.Rules) string { return cmp.Or(scheduler.FormatRule(k.Get(r)), `""`) }
		lines = append(lines, fmt.Sprintf("  %s: %s -> %s", k.Path, value(was), value(now)))
	}
	return strings.Join(lines, "\n")
}
