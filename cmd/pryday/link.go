package main

import (
	"context"
	"errors"
	"fmt"
	"text/tabwriter"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/web/feed"
)

type linkCmd struct {
	List   linkListCmd   `cmd:"" default:"withargs" help:"List the calendar addresses and when they were last read."`
	Add    linkAddCmd    `cmd:"" help:"Make a calendar address and print it once."`
	Revoke linkRevokeCmd `cmd:"" help:"Withdraw a calendar address."`
	Rotate linkRotateCmd `cmd:"" help:"Replace a calendar address by a new one."`
}

type linkAddCmd struct {
	Email         string        `arg:"" help:"Whose address it is."`
	Apiary        string        `placeholder:"NAME" xor:"what" help:"Show the visits of this apiary, whoever goes."`
	Whole         bool          `xor:"what" help:"Show the visits of the whole club."`
	Label         string        `placeholder:"TEXT" help:"For which device it is."`
	ConfirmedOnly bool          `help:"Leave tentative visits out."`
	Far           bool          `help:"Show tentative visits beyond eight weeks too."`
	Alarms        bool          `help:"Let the calendar remind at 18:00 on the evening before."`
	Timed         bool          `help:"Show visits at the member's visit hours, where they set some, instead of all day."`
	ExactPlace    bool          `help:"Give the place on the map; only on a calendar of one's own visits."`
	PublicURL     string        `name:"public-url" env:"PRYDAY_PUBLIC_URL" default:"http://127.0.0.1:8080" help:"The address that people reach the service at."`
	Club          string        `placeholder:"NAME" help:"The club, where the database holds several."`
	Database      databaseFlags `embed:""`
}

func (c *linkAddCmd) Run(ctx context.Context, term *terminal) error {
	public, err := publicURL(c.PublicURL)
	if err != nil {
		return err
	}
	if c.ExactPlace && (c.Whole || c.Apiary != "") {
		return complain("command.error.exact-place")
	}
	var address string
	err = c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) error {
		m, err := memberByEmail(ctx, tx, c.Email)
		if err != nil {
			return err
		}
		club, err := tx.Apiaries(ctx)
		if err != nil {
			return err
		}
		kind, apiary := store.MemberLink, int64(0)
		switch {
		case c.Whole:
			kind = store.ClubLink
		case c.Apiary != "":
			kind = store.ApiaryLink
			a := club.ApiaryNamed(c.Apiary)
			if a == nil {
				return complain("command.error.apiary", c.Apiary, club.Name)
			}
			apiary = a.ID
		}
		link, token, err := tx.CreateLink(ctx, kind, m.ID, apiary, store.LinkOptions{
			Label: c.Label, ConfirmedOnly: c.ConfirmedOnly, Far: c.Far, Alarms: c.Alarms, Timed: c.Timed, ExactPlace: c.ExactPlace,
		})
		if err != nil {
			return err
		}
		address = feed.Address(public, token, club, link)
		return noteLink(ctx, tx, "make calendar address", link)
	})
	if err != nil {
		return err
	}
	fmt.Fprintln(term.out, address)
	term.warnLocal(c.PublicURL)
	fmt.Fprintln(term.err, term.say.Say("command.link.keep"))
	return nil
}

type linkListCmd struct {
	Club     string        `placeholder:"NAME" help:"The club, where the database holds several."`
	Database databaseFlags `embed:""`
}

func (c *linkListCmd) Run(ctx context.Context, term *terminal) error {
	return c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) error {
		club, err := tx.Outline(ctx)
		if err != nil {
			return err
		}
		links, err := tx.Links(ctx, 0)
		if err != nil {
			return err
		}
		names := scheduler.NewNames(club)
		table := tabwriter.NewWriter(term.out, 0, 0, 2, ' ', 0)
		for _, l := range links {
			fmt.Fprintf(table, "%d\t%s\t%s\t%s\t%s\n", l.ID, names.Member(l.MemberID), term.say.Tell(linkShows(&l, names)), l.Label, term.say.Terse(0).Tell(linkState(&l)))
		}
		return table.Flush()
	})
}

func linkShows(l *store.Link, names *scheduler.Names) text.Text {
	switch l.Kind {
	case store.MemberLink:
		return text.New("command.link.own")
	case store.ClubLink:
		return text.New("command.link.whole")
	}
	return text.New("form.said", names.Apiary(l.ApiaryID))
}

// noteLink notes whose address it is, and what it shows.
func noteLink(ctx context.Context, tx *store.Tx, action string, l *store.Link) error {
	club, err := tx.Outline(ctx)
	if err != nil {
		return err
	}
	names := scheduler.NewNames(club)
	return tx.Note(ctx, 0, action, text.New("audit.about.role", names.Member(l.MemberID), linkShows(l, names)))
}

// linkState says what became of a calendar address.
func linkState(l *store.Link) text.Text {
	switch {
	case !l.RevokedAt.IsZero():
		return text.New("command.link.withdrawn", scheduler.DateOf(l.RevokedAt))
	case !l.ReplacedAt.IsZero():
		return text.New("command.link.replaced", scheduler.DateOf(l.ReplacedAt))
	case !l.FetchedAt.IsZero():
		return text.New("command.link.read", scheduler.DateOf(l.FetchedAt), l.FetchedAt.Format("15:04"), l.FetchedBy)
	}
	return text.New("command.link.never-read")
}

type linkRevokeCmd struct {
	ID       int64         `arg:"" help:"The number that link list shows."`
	Club     string        `placeholder:"NAME" help:"The club, where the database holds several."`
	Database databaseFlags `embed:""`
}

func (c *linkRevokeCmd) Run(ctx context.Context, term *terminal) error {
	return c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) error {
		link, err := tx.Link(ctx, c.ID)
		if err == nil {
			err = tx.RevokeLink(ctx, c.ID)
		}
		if err != nil {
			return linkProblem(c.ID, err)
		}
		if err := noteLink(ctx, tx, "revoke calendar address", link); err != nil {
			return err
		}
		return term.tell("command.link.withdrew")
	})
}

type linkRotateCmd struct {
	ID        int64         `arg:"" help:"The number that link list shows."`
	PublicURL string        `name:"public-url" env:"PRYDAY_PUBLIC_URL" default:"http://127.0.0.1:8080" help:"The address that people reach the service at."`
	Club      string        `placeholder:"NAME" help:"The club, where the database holds several."`
	Database  databaseFlags `embed:""`
}

func (c *linkRotateCmd) Run(ctx context.Context, term *terminal) error {
	public, err := publicURL(c.PublicURL)
	if err != nil {
		return err
	}
	return c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) error {
		club, err := tx.Apiaries(ctx)
		if err != nil {
			return err
		}
		link, token, err := tx.RotateLink(ctx, c.ID)
		if err != nil {
			return linkProblem(c.ID, err)
		}
		if err := noteLink(ctx, tx, "rotate calendar address", link); err != nil {
			return err
		}
		term.warnLocal(c.PublicURL)
		_, err = fmt.Fprintln(term.out, feed.Address(public, token, club, link))
		return err
	})
}

func linkProblem(id int64, err error) error {
	if errors.Is(err, store.ErrNotFound) {
		return complain("command.error.no-link", int(id))
	}
	return err
}
