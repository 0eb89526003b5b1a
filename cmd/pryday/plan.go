package main

import (
	"cmp"
	"context"
	"fmt"
	"os"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/records"
)

type planCmd struct {
	Records  string         `type:"existingfile" placeholder:"FILE" help:"Plan this JSON document, without any database."`
	Today    scheduler.Date `placeholder:"DATE" help:"The day to plan from, as 2027-06-01; today when left out."`
	Days     int            `default:"365" help:"How many days ahead to print, 1 to 365."`
	Club     string         `placeholder:"NAME" help:"The club, where the database holds several."`
	Apiary   string         `placeholder:"NAME" help:"Only this apiary."`
	Format   string         `enum:"text,json" default:"text" help:"text or json."`
	Database databaseFlags  `embed:""`
}

func (c *planCmd) Run(ctx context.Context, term *terminal) error {
	if c.Days < 1 || c.Days > scheduler.HorizonDays {
		return outside("--days", c.Days, 1, scheduler.HorizonDays)
	}
	club, err := c.club(ctx, term)
	if err != nil {
		return err
	}
	if c.Apiary != "" && club.ApiaryNamed(c.Apiary) == nil {
		return complain("command.error.apiary", c.Apiary, club.Name)
	}
	today := cmp.Or(c.Today, club.Today(term.now()))
	say := term.say
	if c.Format == "json" {
		say = text.Speaker{} // programs read it
	}
	report := newPlanReport(club, scheduler.PlanClub(club, today), today+scheduler.Date(c.Days), c.Apiary, say.Terse(today.Year()))
	if c.Format == "json" {
		return writeJSON(term, report)
	}
	return report.print(term)
}

func (c *planCmd) club(ctx context.Context, term *terminal) (*scheduler.Club, error) {
	if c.Records != "" {
		data, err := os.ReadFile(c.Records)
		if err != nil {
			return nil, err
		}
		club, err := records.Parse(data)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", c.Records, err)
		}
		return club, nil
	}
	var club *scheduler.Club
	err := c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) (err error) {
		club, err = tx.Club(ctx)
		return err
	})
	return club, err
}

// planReport is a plan in names instead of numbers, as printed.
type planReport struct {
	Visits []visitRow `json:"visits"`
	Boxes  []boxRow   `json:"boxes"`
}

type visitRow struct {
	Apiary string                `json:"apiary"`
	On     scheduler.Date        `json:"on"`
	Status scheduler.VisitStatus `json:"status"`
	Who    []string              `json:"who,omitempty"`
	Why    string                `json:"why"`
	Boxes  []visitBoxRow         `json:"boxes"`
}

type visitBoxRow struct {
	Hive   string           `json:"hive"`
	Box    string           `json:"box"`
	Due    scheduler.Date   `json:"due"`
	Reason scheduler.Reason `json:"reason"`
	Odds   float64          `json:"odds"`
}

type boxRow struct {
	Apiary       string           `json:"apiary"`
	Hive         string           `json:"hive"`
	Box          string           `json:"box"`
	SealingDays  float64          `json:"sealing_days"`
	RateMean     float64          `json:"rate_mean"`
	RateVariance float64          `json:"rate_variance"`
	Odds         float64          `json:"odds"`
	Due          scheduler.Date   `json:"due"`
	Reason       scheduler.Reason `json:"reason"`
	Why          string           `json:"why"`
}

func newPlanReport(club *scheduler.Club, plan *scheduler.Plan, until scheduler.Date, only string, say *text.Speaker) *planReport {
	names := scheduler.NewNames(club)
	report := &planReport{Visits: []visitRow{}, Boxes: []boxRow{}}
	for i := range plan.Visits {
		v := &plan.Visits[i]
		apiary := names.Apiary(v.ApiaryID)
		if v.On >= until || only != "" && apiary != only {
			continue
		}
		row := visitRow{
			Apiary: apiary, On: v.On, Status: v.Status, Boxes: []visitBoxRow{},
			Why: say.Tell(scheduler.ExplainVisit(club, plan, v).Text()),
		}
		for _, id := range v.Who {
			row.Who = append(row.Who, names.Member(id))
		}
		for _, b := range v.Boxes {
			hive, box := names.Box(b.BoxID)
			row.Boxes = append(row.Boxes, visitBoxRow{hive, box, b.Due, b.Reason, b.Odds})
		}
		report.Visits = append(report.Visits, row)
	}
	for i := range plan.Boxes {
		b := &plan.Boxes[i]
		apiary := names.Apiary(b.ApiaryID)
		if only != "" && apiary != only {
			continue
		}
		hive, box := names.Box(b.BoxID)
		report.Boxes = append(report.Boxes, boxRow{
			apiary, hive, box, b.SealingDays, b.RateMean, b.RateVariance, b.Odds, b.Due, b.Reason,
			say.Tell(scheduler.ExplainBox(club, plan, b).Text()),
		})
	}
	return report
}

func (r *planReport) print(term *terminal) error {
	out := term.out
	if len(r.Visits) == 0 {
		term.tell("command.plan.nothing")
	}
	for _, v := range r.Visits {
		fmt.Fprintf(out, "%s  %s, %s", term.say.Terse(0).Tell(weekdayOf(v.On)), v.Apiary, term.say.Word(v.Status))
		if len(v.Who) > 0 {
			fmt.Fprintf(out, ", %s", term.say.List(v.Who))
		}
		fmt.Fprintf(out, "\n    %s\n", v.Why)
		for _, b := range v.Boxes {
			near := term.say.Terse(v.On.Year())
			fmt.Fprintf(out, "    %s\n", near.Say("command.plan.open-by", b.Hive, b.Box, b.Due, reasonInShort(b.Reason)))
		}
	}
	fmt.Fprintln(out)
	for _, b := range r.Boxes {
		if _, err := fmt.Fprintf(out, "%s: %s\n", b.Apiary, b.Why); err != nil {
			return err
		}
	}
	return nil
}

// reasonInShort names a reason in a word or two, for lists.
func reasonInShort(r scheduler.Reason) text.Text { return text.New("command.plan." + string(r)) }
