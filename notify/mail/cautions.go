package mail

import (
	"cmp"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/advice"
)

// bring says what to take along: the usual tools, and the parts that the
// boxes asked for last time.
func (r *reminder) bring(v *scheduler.Visit) string {
	return r.say.Tell(advice.BringText(r.Club, v, r.stage(v)))
}

// cautions returns at most two that matter most for the visits of the mail,
// and the full list, each once, the gravest first.
func (r *reminder) cautions() (top, all []string) {
	var matter, list []advice.Caution
	for _, v := range r.visits {
		advice := advice.Cautions(r.Club, v, r.stage(v), r.Member.ID)
		matter, list = append(matter, advice.Top...), append(list, advice.All...)
	}
	byRank := func(a, b advice.Caution) int { return cmp.Compare(b.Rank, a.Rank) }
	slices.SortStableFunc(matter, byRank)
	slices.SortStableFunc(list, byRank)
	top = r.distinct(matter)
	return top[:min(2, len(top))], r.distinct(list)
}

// distinct says cautions, each key once.
func (r *reminder) distinct(cautions []advice.Caution) []string {
	var out []string
	seen := map[string]bool{}
	for _, c := range cautions {
		if !seen[c.Key] {
			seen[c.Key] = true
			out = append(out, oneLine(r.say.Tell(c.Say)))
		}
	}
	return out
}

func (r *reminder) stage(v *scheduler.Visit) scheduler.Stage {
	s := r.seasons[v.ApiaryID]
	if s == nil {
		s = scheduler.NewSeason(r.Club.Apiary(v.ApiaryID).Place(), &r.Club.Rules)
		r.seasons[v.ApiaryID] = s
	}
	return s.Stage(v.On)
}
