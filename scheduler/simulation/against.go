package simulation

import (
	"fmt"
	"io"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// Against is one planner against the planner of another build on the same
// clubs, with straight lines between that one's limits.
type Against struct {
	Policy        string
	EqualHours    Ratio // stuck openings at equal hours
	EqualOpenings Ratio // and at equal openings
	HoursForStuck Ratio // hours at equal stuck openings
}

// Against compares the planners of a run with those that were saved. Intervals
// are those of Compare. Those who know the truth are no planners to compare.
func (r *Results) Against(saved *SavedWorld) []Against {
	before := saved.scores(r.Policies)
	return withIntervals(len(r.Seeds), func(populations []int) []Against {
		return r.against(before, populations)
	}, func(a *Against) []*Ratio { return []*Ratio{&a.EqualHours, &a.EqualOpenings, &a.HoursForStuck} })
}

func (r *Results) against(before *Results, populations []int) []Against {
	var out []Against
	for i := range r.Policies {
		p := &r.Policies[i]
		if !p.plans() {
			continue
		}
		var byHours, byOpenings frontier
		for j := range before.Policies {
			if was := &before.Policies[j]; was.plans() && was.autumn() == p.autumn() {
				s := before.Mean(j, populations)
				byHours, byOpenings = append(byHours, hours(s)), append(byOpenings, openings(s))
			}
		}
		s := r.Mean(i, populations)
		out = append(out, Against{
			Policy:        s.Policy,
			EqualHours:    Ratio{Value: s.Stuck / byHours.stuckAt(s.Hours)},
			EqualOpenings: Ratio{Value: s.Stuck / byOpenings.stuckAt(s.Openings)},
			HoursForStuck: byHours.hoursForStuck(s),
		})
	}
	return out
}

// plans reports whether p is the planner, told nothing but the records.
func (p *Policy) plans() bool {
	return p.Calendar == 0 && p.Thumb == 0 && p.Random == 0 && !p.TrueRates
}

// autumn returns what autumn asks for by the rules of p.
func (p *Policy) autumn() scheduler.Required { return p.Rules.Stages[scheduler.Autumn].Required }

// SameWorld reports whether the fixed calendars came to the same when the scores
// were saved: else the world or its seasons have changed since.
func (r *Results) SameWorld(saved *SavedWorld) bool {
	for i, now := range r.Save(saved.Size).Policies {
		if r.Policies[i].Calendar == 0 {
			continue
		}
		for _, was := range saved.Policies {
			if was.Policy == now.Policy && !slices.Equal(was.Clubs, now.Clubs) {
				return false
			}
		}
	}
	return true
}

// PrintAgainst writes the comparison with what was saved as a table for people.
func (r *Results) PrintAgainst(out io.Writer, say *text.Speaker, saved *SavedWorld, name string) error {
	fmt.Fprintf(out, "\n%s\n\n", say.Say("command.simulate.about-against", name))
	if !r.SameWorld(saved) {
		fmt.Fprintf(out, "%s\n\n", say.Say("command.simulate.other-world"))
	}
	t := table(out)
	row(t, say.Say("command.simulate.policy"), say.Say("command.simulate.equal-hours"),
		say.Say("command.simulate.equal-openings"), say.Say("command.simulate.equal-stuck"))
	for _, a := range r.Against(saved) {
		row(t, a.Policy, a.EqualHours.in(say), a.EqualOpenings.in(say), a.HoursForStuck.in(say))
	}
	return t.Flush()
}
