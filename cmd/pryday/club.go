package main

import (
	"bufio"
	"context"
	"fmt"
	"strings"
	"text/tabwriter"
	"unicode/utf8"

	"pryday/scheduler/text"
	"pryday/store"
)

type clubCmd struct {
	List   clubListCmd   `cmd:"" default:"withargs" help:"List the clubs."`
	Rename clubRenameCmd `cmd:"" help:"Give a club another name."`
	Remove clubRemoveCmd `cmd:"" help:"Remove a club with everything in it."`
}

type clubListCmd struct {
	Format   string        `enum:"text,json" default:"text" help:"text or json."`
	Database databaseFlags `embed:""`
}

type clubRow struct {
	Name     string `json:"name"`
	Members  int    `json:"members"`
	Apiaries int    `json:"apiaries"`
	Boxes    int    `json:"boxes"`
}

func (c *clubListCmd) Run(ctx context.Context, term *terminal) error {
	rows := []clubRow{}
	err := c.Database.withStore(ctx, term, func(s *store.Store) error {
		all, err := clubs(ctx, s)
		for _, club := range all {
			row := clubRow{Name: club.Name, Members: len(club.Members), Apiaries: len(club.Apiaries), Boxes: len(club.Spare)}
			for _, a := range club.Apiaries {
				for _, h := range a.Hives {
					row.Boxes += len(h.Boxes)
				}
			}
			rows = append(rows, row)
		}
		return err
	})
	if err != nil {
		return err
	}
	if c.Format == "json" {
		return writeJSON(term, rows)
	}
	table := tabwriter.NewWriter(term.out, 0, 0, 2, ' ', 0)
	for _, r := range rows {
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\n", r.Name, term.say.Say("command.import.members", r.Members),
			term.say.Say("command.import.apiaries", r.Apiaries), term.say.Say("command.boxes", r.Boxes))
	}
	return table.Flush()
}

type clubRenameCmd struct {
	Name     string        `arg:"" help:"The club's name."`
	To       string        `arg:"" help:"Its name from now on, at most 80 characters."`
	Database databaseFlags `embed:""`
}

func (c *clubRenameCmd) Run(ctx context.Context, term *terminal) error {
	to := strings.TrimSpace(c.To)
	if n := utf8.RuneCountInString(to); n == 0 || n > 80 {
		return complain("command.error.club-name", c.To, 80)
	}
	return c.Database.withStore(ctx, term, func(s *store.Store) error {
		id, err := findClub(ctx, s, c.Name)
		if err != nil {
			return err
		}
		if other, err := clubNamed(ctx, s, to); err != nil || other != 0 && other != id {
			if err == nil {
				err = complain("command.error.club-there", to)
			}
			return err
		}
		err = s.InClub(ctx, id, func(tx *store.Tx) error {
			if err := tx.RenameClub(ctx, to); err != nil {
				return err
			}
			return tx.Audit(ctx, store.AuditEntry{Action: "rename club", Subject: c.Name + " → " + to})
		})
		if err != nil {
			return err
		}
		return term.tell("command.club.renamed", c.Name, to)
	})
}

type clubRemoveCmd struct {
	Name     string        `arg:"" help:"The club's name."`
	Yes      bool          `help:"Do not ask for the name again."`
	Database databaseFlags `embed:""`
}

// Help is what the one line does not say.
func (c *clubRemoveCmd) Help() string {
	return `Records, visits, messages, photos and calendar addresses of the club go, all at once or not
at all. People who belong to other clubs stay; the others are forgotten. There is no way
back but a backup: make one first (pryday backup FILE).`
}

func (c *clubRemoveCmd) Run(ctx context.Context, term *terminal) error {
	return c.Database.withStore(ctx, term, func(s *store.Store) error {
		id, err := findClub(ctx, s, c.Name)
		if err != nil {
			return err
		}
		if !c.Yes {
			fmt.Fprintln(term.err, term.say.Say("command.club.backup-first"))
			if err := term.typeAgain("command.club.type-again", c.Name); err != nil {
				return err
			}
		}
		if err := s.DeleteClub(ctx, id); err != nil {
			return err
		}
		return term.tell("command.club.removed", c.Name)
	})
}

// typeAgain asks for words to be typed once more before what cannot be taken
// back.
func (t *terminal) typeAgain(key, want string) error {
	fmt.Fprint(t.err, t.say.Tell(text.New(key, want)), " ")
	line, _ := bufio.NewReader(t.in).ReadString('\n')
	if strings.TrimSpace(line) != want {
		return complain("command.error.typed-other", strings.TrimSpace(line), want)
	}
	return nil
}
