package simulation

import (
	"fmt"
	"io"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// usualLimit is the odds limit that the default rules have.
const usualLimit = 0.20

// ImperfectPolicies returns what the command compares in the imperfect world:
// fixed calendars, a good keeper's rule of thumb, random visits, the planner at
// several odds limits, and planners that know every seal.
func ImperfectPolicies() []Policy {
	out := calendars()
	for _, days := range []int{60, 90, 120, 180, 270, 365} {
		out = append(out, Thumb(days))
	}
	for _, visits := range []int{2, 4, 6, 8} {
		out = append(out, Random(visits))
	}
	for _, l := range []float64{0.08, 0.12, 0.16, usualLimit, 0.30, 0.40} {
		out = append(out, Planner(l))
	}
	for _, l := range []float64{0.01, 0.03, 0.08, usualLimit, 0.40} {
		p := Planner(l).Told()
		p.Name = fmt.Sprintf("knows-every-seal-%.2f", l)
		out = append(out, p)
	}
	return out
}

// calendars are the fixed calendars of the imperfect world, where little is glued:
// one visit a year is cheap enough to be thought of.
func calendars() []Policy {
	var out []Policy
	for visits := 1; visits <= 6; visits++ {
		out = append(out, Calendar(visits))
	}
	return out
}

// PrintImperfect writes the scores, the comparisons and the calibration of the
// imperfect world as tables for people, in their language.
func (r *Results) PrintImperfect(out io.Writer, say *text.Speaker) error {
	r.printScores(out, say, true)
	fmt.Fprintf(out, "\n%s\n\n", say.Say("command.simulate.about-imperfect"))
	all := r.Compare()
	t := table(out)
	row(t, say.Say("command.simulate.policy"), say.Say("command.simulate.equal-hours"), say.Say("command.simulate.equal-openings"),
		say.Say("command.simulate.equal-stuck"), say.Say("command.simulate.thumb"), say.Say("command.simulate.every-seal"))
	for _, c := range all {
		row(t, c.Policy, c.EqualHours.in(say), c.EqualOpenings.in(say), c.HoursForStuck.in(say), c.Thumb.in(say), c.TrueRates.in(say))
	}
	t.Flush()
	fmt.Fprintf(out, "\n%s\n\n", say.Say("command.simulate.about-calibration"))
	t = table(out)
	row(t, say.Say("command.simulate.policy"), say.Say("command.simulate.gap"), say.Say("command.simulate.brier"))
	for _, c := range all {
		if c.Gap.Value >= 0 {
			row(t, c.Policy, c.Gap.to(say, 3), c.Brier.in(say))
		}
	}
	t.Flush()
	fmt.Fprintf(out, "\n%s\n\n", say.Say("command.simulate.about-own-record"))
	t = table(out)
	row(t, say.Say("command.simulate.policy"), say.Say("command.simulate.gap"), say.Say("command.simulate.corrected-gap"),
		say.Say("command.simulate.brier"), say.Say("command.simulate.corrected-brier"))
	for _, c := range all {
		if c.WrittenGap.Value >= 0 {
			row(t, c.Policy, c.WrittenGap.to(say, 3), c.CorrectedGap.to(say, 3), c.Written.in(say), c.Corrected.in(say))
		}
	}
	t.Flush()
	return r.printTenths(out, say)
}

// printTenths writes what the planner with the usual limit said of its openings
// and what was found, by tenths of the odds.
func (r *Results) printTenths(out io.Writer, say *text.Speaker) error {
	usual := Planner(usualLimit).Name
	for _, s := range r.Rows() {
		if s.Policy != usual {
			continue
		}
		fmt.Fprintf(out, "\n%s\n\n", say.Say("command.simulate.about-tenths", usual))
		t := table(out)
		row(t, say.Say("command.simulate.said"), say.Say("command.simulate.found"), say.Say("command.simulate.of-openings"))
		for i, n := range s.said.openings {
			if n > 0 {
				row(t, say.Number(s.said.odds[i]/float64(n), 2), say.Number(float64(s.said.hard[i])/float64(n), 2), fmt.Sprint(n))
			}
		}
		return t.Flush()
	}
	return nil
}

// Cost is what the imperfect world comes to without one trouble: how the planner
// with the usual limit does in it.
type Cost struct {
	Without string // a trouble's name; empty with all, "all" with none
	Planner Score
	Against Comparison
}

// Costs takes the troubles away, one at a time, on the same clubs, for a planner of
// some rules.
func Costs(rules scheduler.Rules, seeds []int, size Size, a Imperfect) []Cost {
	policies := WithRules(append(calendars(), Planner(usualLimit)), rules)
	cost := func(without string, a Imperfect) Cost {
		r := RunImperfect(policies, seeds, size, a)
		rows := r.Rows()
		return Cost{without, rows[len(rows)-1], r.Compare()[0]}
	}
	out := []Cost{cost("", a)}
	for _, t := range Troubles() {
		out = append(out, cost(t.Name, t.Without(a)))
	}
	return append(out, cost("all", a.WithoutTroubles()))
}

// PrintCosts writes which trouble costs how much.
func PrintCosts(out io.Writer, say *text.Speaker, costs []Cost) error {
	fmt.Fprintf(out, "%s\n\n", say.Say("command.simulate.about-troubles", Planner(usualLimit).Name))
	t := table(out)
	row(t, say.Say("command.simulate.without"), say.Say("command.simulate.openings"), say.Say("command.simulate.visits"),
		say.Say("command.simulate.stuck"), say.Say("command.simulate.hours"), say.Say("command.simulate.equal-hours"),
		say.Say("command.simulate.equal-openings"), say.Say("command.simulate.gap"))
	for _, c := range costs {
		name, s := c.Without, c.Planner
		if name == "" {
			name = "none"
		}
		row(t, say.Say("trouble."+name), say.Number(s.Openings, 2), say.Number(s.Visits, 2), say.Number(s.Stuck, 4),
			say.Number(s.Hours, 1), c.Against.EqualHours.in(say), c.Against.EqualOpenings.in(say), c.Against.Gap.to(say, 3))
	}
	return t.Flush()
}
