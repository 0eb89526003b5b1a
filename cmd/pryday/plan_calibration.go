package main

import (
	"fmt"
	"text/tabwriter"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// calibrationReport is a club's record of what was said of openings and what was
// found, as printed.
type calibrationReport struct {
	Openings      int               `json:"openings"`
	From          *scheduler.Date   `json:"from"`  // the first day of the record; null for none
	Until         *scheduler.Date   `json:"until"` // and the last
	Hard          reliabilityRow    `json:"hard"`
	Stuck         reliabilityRow    `json:"stuck"`
	Known         []knownRow        `json:"by_openings_on_record"`
	TrustedFrom   *int              `json:"trusted_from"` // openings on record; null where the record does not show it
	Recalibration *recalibrationRow `json:"recalibration"`
	Cost          costRow           `json:"cost_of_a_year"`
	Needed        int               `json:"openings_needed"` // before the odds are recalibrated
}

type reliabilityRow struct {
	Came   int        `json:"came"`
	Brier  float64    `json:"brier"`
	Always float64    `json:"brier_of_the_mean"`
	Gap    float64    `json:"gap"`
	Tenths []tenthRow `json:"tenths"`
}

type shareRow struct {
	Openings int     `json:"openings"`
	Came     int     `json:"came"`
	Said     float64 `json:"said"`
	Found    float64 `json:"found"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
}

type tenthRow struct {
	From float64 `json:"from"`
	To   float64 `json:"to"`
	shareRow
}

type knownRow struct {
	Known int  `json:"known"`
	More  bool `json:"or_more"`
	shareRow
	Brier   float64 `json:"brier"`
	Always  float64 `json:"brier_of_the_mean"`
	Trusted bool    `json:"trusted"`
}

type recalibrationRow struct {
	MadeOn   scheduler.Date `json:"made_on"`
	Openings int            `json:"openings"`
	Hard     curveRow       `json:"hard"`
	Stuck    curveRow       `json:"stuck"`
}

type curveRow struct {
	Intercept float64 `json:"intercept"`
	Slope     float64 `json:"slope"`
}

type costRow struct {
	From     scheduler.Date `json:"from"`
	Until    scheduler.Date `json:"until"`
	Visits   int            `json:"visits"`
	Openings int            `json:"openings"`
	Hard     int            `json:"hard"`
	Stuck    int            `json:"stuck"`
	Hours    float64        `json:"hours"`
	Prying   float64        `json:"prying_hours"`
}

func newCalibrationReport(club *scheduler.Club, today scheduler.Date) *calibrationReport {
	record := scheduler.Outcomes(club)
	known := scheduler.Knowing(record)
	r := &calibrationReport{
		Openings: len(record), Hard: newReliabilityRow(record, scheduler.Hard), Stuck: newReliabilityRow(record, scheduler.Stuck),
		Known: []knownRow{}, Needed: scheduler.RecalibrateFrom,
		Cost: costRow(scheduler.CalendarCost(club, today-scheduler.HorizonDays+1, today)),
	}
	if len(record) > 0 {
		r.From, r.Until = &record[0].On, &record[len(record)-1].On
	}
	for i, k := range known {
		if k.Share.Openings > 0 {
			r.Known = append(r.Known, knownRow{k.Openings, i == len(known)-1, newShareRow(k.Share), k.Brier, k.Always, k.Trusted})
		}
	}
	if n := scheduler.TrustedFrom(known); n >= 0 {
		r.TrustedFrom = &n
	}
	if c := club.Recalibration; c.Corrects() {
		r.Recalibration = &recalibrationRow{c.MadeOn, c.Openings, curveRow(c.Hard), curveRow(c.Stuck)}
	}
	return r
}

func newReliabilityRow(record []scheduler.Outcome, at scheduler.Difficulty) reliabilityRow {
	all := scheduler.Reliable(record, at)
	out := reliabilityRow{Came: all.Came, Brier: all.Brier, Always: all.Always, Gap: all.Gap, Tenths: []tenthRow{}}
	for t, s := range all.Tenths {
		if s.Openings > 0 {
			out.Tenths = append(out.Tenths, tenthRow{float64(t) / 10, float64(t+1) / 10, newShareRow(s)})
		}
	}
	return out
}

func newShareRow(s scheduler.Share) shareRow {
	return shareRow{s.Openings, s.Came, s.Said, s.Found(), s.Low, s.High}
}

// print says the record in words and tables.
func (r *calibrationReport) print(term *terminal) error {
	if r.Openings == 0 {
		term.tell("command.calibration.nothing", scheduler.LateDays)
	} else {
		term.tell("command.calibration.record", r.Openings, *r.From, *r.Until)
		fmt.Fprintln(term.out)
		term.tell("command.calibration.hard")
		if err := r.Hard.print(term); err != nil {
			return err
		}
		fmt.Fprintln(term.out)
		term.tell("command.calibration.stuck")
		if err := r.Stuck.print(term); err != nil {
			return err
		}
		fmt.Fprintln(term.out)
		r.printKnown(term)
		switch {
		case r.Recalibration != nil:
			term.tell("command.calibration.corrected", r.Recalibration.MadeOn, r.Recalibration.Openings)
		default:
			term.tell("command.calibration.as-made", r.Needed)
		}
	}
	fmt.Fprintln(term.out)
	c := &r.Cost
	term.tell("command.calibration.cost", c.Visits, c.Openings, digits(c.Hours, 1), digits(c.Prying, 1), c.Hard, c.Stuck)
	return nil
}

func (r *reliabilityRow) print(term *terminal) error {
	table := tabwriter.NewWriter(term.out, 0, 0, 2, ' ', tabwriter.AlignRight)
	for _, key := range []string{"command.simulate.said", "command.rules.openings", "command.calibration.mean", "command.simulate.found", "command.calibration.range"} {
		fmt.Fprintf(table, "%s\t", term.say.Say(key))
	}
	fmt.Fprintln(table)
	for _, t := range r.Tenths {
		fmt.Fprintf(table, "%.0f-%.0f %%\t%d\t%.1f %%\t%.1f %%\t%.0f-%.0f %%\t\n",
			100*t.From, 100*t.To, t.Openings, 100*t.Said, 100*t.Found, 100*t.Low, 100*t.High)
	}
	if err := table.Flush(); err != nil {
		return err
	}
	term.tell("command.calibration.score", digits(r.Brier, 3), digits(r.Always, 3), digits(r.Gap, 3))
	return nil
}

func (r *calibrationReport) printKnown(term *terminal) {
	if r.TrustedFrom == nil {
		term.tell("command.calibration.no-trust")
		return
	}
	term.tell("command.calibration.trust", *r.TrustedFrom)
}

func digits(x float64, n int) text.Number { return text.Number{Value: x, Decimals: n} }
