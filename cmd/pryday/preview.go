package main

import (
	"cmp"
	"context"
	"fmt"
	"text/tabwriter"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

type rulesPreviewCmd struct {
	File     string         `arg:"" type:"existingfile" help:"A rules file (TOML)."`
	Records  string         `type:"existingfile" placeholder:"FILE" help:"The club of this JSON document, without any database."`
	Today    scheduler.Date `placeholder:"DATE" help:"The day to plan from; today when left out."`
	Club     string         `placeholder:"NAME" help:"The club, where the database holds several."`
	Format   string         `enum:"text,json" default:"text" help:"text or json."`
	Database databaseFlags  `embed:""`
}

func (c *rulesPreviewCmd) Run(ctx context.Context, term *terminal) error {
	rules, err := readRules(c.File)
	if err != nil {
		return err
	}
	from := planCmd{Records: c.Records, Club: c.Club, Database: c.Database}
	club, err := from.club(ctx, term)
	if err != nil {
		return err
	}
	var back []scheduler.VisitMove
	if c.Records == "" {
		if err := c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) (err error) {
			back, err = tx.MovesBack(ctx, &rules)
			return err
		}); err != nil {
			return err
		}
	}
	today := cmp.Or(c.Today, club.Today(term.now()))
	report := newPreviewReport(club, scheduler.Preview(club, rules, today, back...))
	if c.Format == "json" {
		return writeJSON(term, report)
	}
	return report.print(term)
}

// previewReport is a preview in names instead of numbers, as printed.
type previewReport struct {
	Today   scheduler.Date `json:"today"`
	Before  previewSide    `json:"before"`
	After   previewSide    `json:"after"`
	Changes []changeRow    `json:"changes"`
}

type previewSide struct {
	Visits   int     `json:"visits"`
	Openings int     `json:"openings"`
	Hours    float64 `json:"hours"`
	Hard     float64 `json:"expected_hard"`
	Stuck    float64 `json:"expected_stuck"`
}

// changeRow is a visit that moves (both days), appears (no was) or vanishes
// (no now).
type changeRow struct {
	Apiary string          `json:"apiary"`
	Change string          `json:"change"`
	Was    *scheduler.Date `json:"was,omitempty"`
	Now    *scheduler.Date `json:"now,omitempty"`
	Boxes  int             `json:"boxes"`
}

func newPreviewReport(club *scheduler.Club, p scheduler.PreviewReport) *previewReport {
	names := scheduler.NewNames(club)
	report := &previewReport{
		Today: p.Today, Before: previewSide(p.Before), After: previewSide(p.After), Changes: []changeRow{},
	}
	for i := range p.Changes {
		ch := &p.Changes[i]
		row := changeRow{Apiary: names.Apiary(ch.ApiaryID), Change: "moves", Boxes: ch.Boxes}
		if ch.Was != 0 {
			row.Was = &ch.Was
		} else {
			row.Change = "appears"
		}
		if ch.Now != 0 {
			row.Now = &ch.Now
		} else {
			row.Change = "vanishes"
		}
		report.Changes = append(report.Changes, row)
	}
	return report
}

func (r *previewReport) print(term *terminal) error {
	say := term.say.Terse(0)
	fmt.Fprintf(term.out, "%s\n\n", say.Say("command.rules.year", r.Today))
	t := tabwriter.NewWriter(term.out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(t, "\t%s\t%s\t\n", say.Say("command.rules.now"), say.Say("command.rules.then"))
	row := func(key string, was, now float64, decimals int) {
		fmt.Fprintf(t, "%s\t%s\t%s\t\n", say.Say(key), say.Number(was, decimals), say.Number(now, decimals))
	}
	row("command.rules.visits", float64(r.Before.Visits), float64(r.After.Visits), 0)
	row("command.rules.openings", float64(r.Before.Openings), float64(r.After.Openings), 0)
	row("command.rules.hours", r.Before.Hours, r.After.Hours, 1)
	row("command.rules.hard", r.Before.Hard, r.After.Hard, 1)
	row("command.rules.stuck", r.Before.Stuck, r.After.Stuck, 1)
	t.Flush()
	fmt.Fprintln(term.out)
	if len(r.Changes) == 0 {
		return term.tell("command.rules.none-moves")
	}
	for _, c := range r.Changes {
		if _, err := fmt.Fprintln(term.out, say.Tell(c.text())); err != nil {
			return err
		}
	}
	return nil
}

// text says what becomes of a visit.
func (c *changeRow) text() text.Text {
	boxes := text.New("command.boxes", c.Boxes)
	switch {
	case c.Was == nil:
		return text.New("command.rules.appears", c.Apiary, text.Weekday(*c.Now), *c.Now, boxes)
	case c.Now == nil:
		return text.New("command.rules.vanishes", c.Apiary, text.Weekday(*c.Was), *c.Was, boxes)
	}
	return text.New("command.rules.moves", c.Apiary, text.Weekday(*c.Was), *c.Was, text.Weekday(*c.Now), *c.Now, boxes)
}
