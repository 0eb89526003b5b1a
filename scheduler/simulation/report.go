package simulation

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"pryday/scheduler/text"
)

// StandardPolicies returns what the command compares in the tidy world: fixed calendars, the
// planner at several odds limits, the same without the visit that autumn asks
// for, and planners that are told the true rates.
func StandardPolicies() []Policy {
	var out []Policy
	for visits := 2; visits <= 5; visits++ {
		out = append(out, Calendar(visits))
	}
	limits := []float64{0.08, 0.12, 0.16, 0.20, 0.30, 0.40}
	for _, l := range limits {
		out = append(out, Planner(l))
	}
	for _, l := range limits {
		out = append(out, Planner(l).WithoutAutumn())
	}
	for _, l := range []float64{0.01, 0.02, 0.04, 0.08, 0.12, 0.20, 0.30, 0.40} {
		out = append(out, Planner(l).Told())
	}
	return out
}

// Rows returns the mean score of each policy over all populations.
func (r *Results) Rows() []Score {
	all := make([]int, len(r.Seeds))
	for j := range all {
		all[j] = j
	}
	out := make([]Score, len(r.Policies))
	for i := range out {
		out[i] = r.Mean(i, all)
	}
	return out
}

// Print writes the scores and the comparisons of the tidy world as tables for
// people, in their language.
func (r *Results) Print(out io.Writer, say *text.Speaker) error {
	r.printScores(out, say, false)
	fmt.Fprintf(out, "\n%s\n\n", say.Say("command.simulate.about"))
	t := table(out)
	row(t, say.Say("command.simulate.policy"), say.Say("command.simulate.equal-hours"), say.Say("command.simulate.equal-openings"),
		say.Say("command.simulate.equal-stuck"), say.Say("command.simulate.true-rates"))
	for _, c := range r.Compare() {
		row(t, c.Policy, c.EqualHours.in(say), c.EqualOpenings.in(say), c.HoursForStuck.in(say), c.TrueRates.in(say))
	}
	return t.Flush()
}

// printScores writes what each policy came to, with the share of openings in the
// cold where the world tells it.
func (r *Results) printScores(out io.Writer, say *text.Speaker, tellsCold bool) {
	fmt.Fprintf(out, "%s\n\n", say.Say("command.simulate.populations", len(r.Seeds)))
	t := table(out)
	head := []string{
		say.Say("command.simulate.policy"), say.Say("command.simulate.openings"), say.Say("command.simulate.visits"),
		say.Say("command.simulate.hard"), say.Say("command.simulate.stuck"), say.Say("command.simulate.hours"),
	}
	if tellsCold {
		head = append(head, say.Say("command.simulate.cold"))
	}
	row(t, head...)
	for _, s := range r.Rows() {
		cells := []string{s.Policy, say.Number(s.Openings, 2), say.Number(s.Visits, 2), say.Number(s.Hard, 3), say.Number(s.Stuck, 4), say.Number(s.Hours, 1)}
		if tellsCold {
			cells = append(cells, say.Number(s.Cold, 3))
		}
		row(t, cells...)
	}
	t.Flush()
}

// table begins a table whose columns stand to the right.
func table(out io.Writer) *tabwriter.Writer {
	return tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
}

// row writes one line of a table.
func row(t io.Writer, cells ...string) { fmt.Fprintln(t, strings.Join(cells, "\t")+"\t") }

// String writes the ratio with its interval, in English.
func (r Ratio) String() string { return r.in(&text.Speaker{}) }

// in writes the ratio with its interval in a language.
func (r Ratio) in(say *text.Speaker) string { return r.to(say, 2) }

// to writes the ratio with its interval to some decimals.
func (r Ratio) to(say *text.Speaker, decimals int) string {
	if math.IsNaN(r.Value) {
		return "-"
	}
	out := say.Number(r.Value, decimals)
	if r.AtMost {
		out = say.Say("command.simulate.at-most", out)
	}
	if !math.IsNaN(r.Low) {
		out = say.Say("command.simulate.interval", out, say.Number(r.Low, decimals), say.Number(r.High, decimals))
	}
	return out
}
