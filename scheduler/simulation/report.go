package simulation

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"
)

// StandardPolicies returns what the command compares: fixed calendars, the
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

// Print writes the scores and the comparisons as tables for people.
func (r *Results) Print(out io.Writer) error {
	fmt.Fprintf(out, "%d populations, each policy on the same ones. Per year:\n\n", len(r.Seeds))
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "policy\topenings/box\tvisits/apiary\thard/box\tstuck/box\thours/apiary\t")
	for _, s := range r.Rows() {
		fmt.Fprintf(t, "%s\t%.2f\t%.2f\t%.3f\t%.4f\t%.1f\t\n", s.Policy, s.Openings, s.Visits, s.Hard, s.Stuck, s.Hours)
	}
	t.Flush()
	fmt.Fprint(out, `
Stuck openings against the fixed calendars (straight lines between them) at
equal hours and at equal openings, hours against them at equal stuck openings,
and stuck openings against planners told the true rates at equal hours. In
brackets what 95 of 100 draws of populations give; "-" where the others have
nothing to compare with, "at most" where no calendar leaves as few stuck.

`)
	t = tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "policy\tequal hours\tequal openings\thours at equal stuck\ttrue rates\t")
	for _, c := range r.Compare() {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t\n", c.Policy, c.EqualHours, c.EqualOpenings, c.HoursForStuck, c.TrueRates)
	}
	return t.Flush()
}

// String writes the ratio with its interval.
func (r Ratio) String() string {
	if math.IsNaN(r.Value) {
		return "-"
	}
	out := fmt.Sprintf("%.2f", r.Value)
	if r.AtMost {
		out = "at most " + out
	}
	if !math.IsNaN(r.Low) {
		out += fmt.Sprintf(" (%.2f to %.2f)", r.Low, r.High)
	}
	return out
}
