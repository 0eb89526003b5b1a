package main

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"os"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/records"
)

type planCmd struct {
	Records     string         `type:"existingfile" placeholder:"FILE" help:"Plan this JSON document, without any database."`
	Today       scheduler.Date `placeholder:"DATE" help:"The day to plan from, as 2027-06-01; today when left out."`
	Days        int            `default:"365" help:"How many days ahead to print, 1 to 365. With fewer than 365, boxes that are due later are left out too."`
	Club        string         `placeholder:"NAME" help:"The club, where the database holds several."`
	Apiary      string         `placeholder:"NAME" help:"Only this apiary."`
	Calibration bool           `help:"Print how well the dates fit instead: what was said before each opening against what was found."`
	Format      string         `enum:"text,json" default:"text" help:"text or json."`
	Database    databaseFlags  `embed:""`
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
	if c.Calibration {
		report := newCalibrationReport(club, today)
		if c.Format == "json" {
			return writeJSON(term, report)
		}
		return report.print(term)
	}
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
	Notes  []noteRow  `json:"notes"` // where the dates of an apiary's season come from, where that needs a word
}

type noteRow struct {
	Apiary string `json:"apiary"`
	Note   string `json:"note"`
}

type visitRow struct {
	UID    string                `json:"uid"` // empty for one that no database has seen yet
	Apiary string                `json:"apiary"`
	On     scheduler.Date        `json:"on"`
	Status scheduler.VisitStatus `json:"status"`
	Who    []string              `json:"who,omitempty"`
	Hours  float64               `json:"hours"` // expected of one person, with the journey
	Binds  *bindsRow             `json:"binds"` // the box that must be opened soonest; null where none is
	Why    string                `json:"why"`
	Boxes  []visitBoxRow         `json:"boxes"`
	going  string                // who, by their own word or only expected; empty for nobody
}

// bindsRow is the box that sets the day of a visit, and the limit that does.
type bindsRow struct {
	Hive  string           `json:"hive"`
	Box   string           `json:"box"`
	Due   scheduler.Date   `json:"due"`
	Limit scheduler.Reason `json:"limit"`
}

type visitBoxRow struct {
	Hive   string           `json:"hive"`
	Box    string           `json:"box"`
	Due    scheduler.Date   `json:"due"`
	Reason scheduler.Reason `json:"reason"`
	Odds   float64          `json:"odds"`  // of a hard opening on the visit's day
	Stuck  float64          `json:"stuck"` // of a stuck one
}

type boxRow struct {
	Apiary       string           `json:"apiary"`
	Hive         string           `json:"hive"`
	Box          string           `json:"box"`
	SealingDays  float64          `json:"sealing_days"`
	RateMean     float64          `json:"rate_mean"`
	RateVariance float64          `json:"rate_variance"`
	Openings     int              `json:"openings"` // on record
	Odds         float64          `json:"odds"`     // of a hard opening today
	Stuck        float64          `json:"stuck"`    // of a stuck one
	Due          scheduler.Date   `json:"due"`
	DueFirst     scheduler.Date   `json:"due_first"` // within these days 8 times in 10, were it known how fast it seals
	DueLast      scheduler.Date   `json:"due_last"`
	Reason       scheduler.Reason `json:"reason"` // the limit that binds
	Moved        string           `json:"moved,omitempty"`
	Why          string           `json:"why"`
	sure         string
	later        bool // due after the days that are asked for
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
		why := scheduler.ExplainVisit(club, plan, v)
		row := visitRow{
			Apiary: apiary, On: v.On, Status: v.Status, Boxes: []visitBoxRow{},
			UID: v.UID, Hours: math.Round(100*scheduler.ExpectedHours(club, v)) / 100, Binds: newBindsRow(&why),
			Why: say.Tell(why.Text()),
		}
		for _, id := range v.Who {
			row.Who = append(row.Who, names.Member(id))
		}
		row.going = goingTo(v, names, say)
		for _, b := range v.Boxes {
			hive, box := names.Box(b.BoxID)
			row.Boxes = append(row.Boxes, visitBoxRow{hive, box, b.Due, b.Reason, b.Odds, b.Stuck})
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
		why := scheduler.ExplainBox(club, plan, b)
		report.Boxes = append(report.Boxes, boxRow{
			Apiary: apiary, Hive: hive, Box: box, SealingDays: b.SealingDays, RateMean: b.RateMean, RateVariance: b.RateVariance,
			Openings: b.Openings, Odds: b.Odds, Stuck: b.Stuck, Due: b.Due, DueFirst: b.DueFirst, DueLast: b.DueLast,
			Reason: b.Reason, Moved: string(b.Moved), Why: say.Tell(why.Text()), sure: say.Tell(why.Sure()),
			later: b.Due >= until && until < plan.Today+scheduler.HorizonDays,
		})
	}
	report.Notes = notesOf(club, only, say)
	return report
}

// goingTo names those who said that they go; where nobody did, those who are
// expected, as such.
func goingTo(v *scheduler.Visit, names *scheduler.Names, say *text.Speaker) string {
	ids := v.Who
	if v.IsTaken() {
		ids = v.Taken
	}
	var who []string
	for _, id := range ids {
		who = append(who, names.Member(id))
	}
	said := say.List(who)
	if said == "" || v.IsTaken() {
		return said
	}
	return say.Say("page.calendar.expected", said)
}

func newBindsRow(e *scheduler.VisitExplanation) *bindsRow {
	if e.Boxes == 0 {
		return nil
	}
	return &bindsRow{e.FirstHive, e.FirstBox, e.First.Due, e.First.Reason}
}

// notesOf says of which apiaries the dates of the season are not what their
// latitude says.
func notesOf(club *scheduler.Club, only string, say *text.Speaker) []noteRow {
	notes := []noteRow{}
	for i := range club.Apiaries {
		a := &club.Apiaries[i]
		source := scheduler.NewSeason(a.Place(), &club.Rules).Source()
		if source.From == scheduler.FromTropics && (only == "" || a.Name == only) {
			notes = append(notes, noteRow{a.Name, say.Tell(source.Text())})
		}
	}
	return notes
}
