package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"text/tabwriter"

	"pryday/scheduler"
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
	today := cmp.Or(c.Today, club.Today(term.now()))
	report := newPreviewReport(club, scheduler.Preview(club, rules, today))
	if c.Format == "json" {
		return writeJSON(term, report)
	}
	return report.print(term.out)
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

func (r *previewReport) print(out io.Writer) error {
	fmt.Fprintf(out, "The year from %s, as the records stand:\n\n", r.Today.Format("2 Jan 2006"))
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "\tnow\twith this file\t")
	fmt.Fprintf(t, "visits\t%d\t%d\t\n", r.Before.Visits, r.After.Visits)
	fmt.Fprintf(t, "openings\t%d\t%d\t\n", r.Before.Openings, r.After.Openings)
	fmt.Fprintf(t, "hours\t%.1f\t%.1f\t\n", r.Before.Hours, r.After.Hours)
	fmt.Fprintf(t, "hard openings to be expected\t%.1f\t%.1f\t\n", r.Before.Hard, r.After.Hard)
	fmt.Fprintf(t, "stuck openings to be expected\t%.1f\t%.1f\t\n", r.Before.Stuck, r.After.Stuck)
	t.Flush()
	if len(r.Changes) == 0 {
		_, err := fmt.Fprint(out, "\nNo visit would move.\n")
		return err
	}
	fmt.Fprint(out, "\n")
	const day = "Mon 2 Jan 2006"
	for _, c := range r.Changes {
		switch {
		case c.Was == nil:
			fmt.Fprintf(out, "%s: a visit on %s appears, %s\n", c.Apiary, c.Now.Format(day), countBoxes(c.Boxes))
		case c.Now == nil:
			fmt.Fprintf(out, "%s: the visit on %s vanishes, %s\n", c.Apiary, c.Was.Format(day), countBoxes(c.Boxes))
		default:
			fmt.Fprintf(out, "%s: the visit on %s moves to %s, %s\n", c.Apiary, c.Was.Format(day), c.Now.Format(day), countBoxes(c.Boxes))
		}
	}
	return nil
}

func countBoxes(n int) string {
	if n == 1 {
		return "1 box"
	}
	return fmt.Sprintf("%d boxes", n)
}
