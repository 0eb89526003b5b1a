package simulation

import (
	"runtime"
	"sync"

	"pryday/scheduler"
)

// tally counts what a policy did.
type tally struct {
	visits, openings, hard, stuck int
	lifted                        int // openings of boxes full of honey
	cold                          int // openings on days below coldC, of which the imperfect world knows
}

func (t *tally) count(g scheduler.Difficulty, full bool) {
	t.openings++
	if full {
		t.lifted++
	}
	switch g {
	case scheduler.Hard:
		t.hard++
	case scheduler.Stuck:
		t.stuck++
	}
}

func (t *tally) add(o tally) {
	t.visits += o.visits
	t.openings += o.openings
	t.hard += o.hard
	t.stuck += o.stuck
	t.lifted += o.lifted
	t.cold += o.cold
}

// Score is what a policy comes to in one population or, as a mean, in several.
type Score struct {
	Policy   string  `json:"policy"`
	Openings float64 `json:"openings_per_box_year"`
	Visits   float64 `json:"visits_per_apiary_year"`
	Hard     float64 `json:"hard_per_box_year"`  // of openings, hard and not stuck
	Stuck    float64 `json:"stuck_per_box_year"` // of openings
	Hours    float64 `json:"hours_per_apiary_year"`
	Cold     float64 `json:"cold_share_of_openings"` // on days below coldC; 0 in the tidy world, which does not tell

	said      promise // what the planner of an imperfect club said of its openings
	written   promise // the same against what was written down
	corrected promise // and would have been, had the club corrected the odds by its own record
	count     tally   // in the years that are scored; in one population only
	boxes     int     // of that population
}

// Run scores one policy on a population.
func (p *Population) Run(policy Policy, planner *scheduler.Planner) Score {
	var t tally
	boxes := 0
	for _, s := range p.sites {
		boxes += len(s.boxes)
		if policy.Calendar > 0 {
			t.add(s.follow(&policy))
		} else {
			t.add(s.plan(&policy, planner))
		}
	}
	return t.score(policy.Name, boxes, len(p.sites), p.size.Years)
}

// score returns what the tally of some boxes in some apiaries comes to.
func (t *tally) score(policy string, boxes, apiaries, years int) Score {
	boxYears, apiaryYears := float64(boxes*years), float64(apiaries*years)
	return Score{
		Policy: policy, count: *t, boxes: boxes,
		Openings: float64(t.openings) / boxYears,
		Visits:   float64(t.visits) / apiaryYears,
		Hard:     float64(t.hard) / boxYears,
		Stuck:    float64(t.stuck) / boxYears,
		Hours:    t.hours() / apiaryYears,
		Cold:     float64(t.cold) / max(float64(t.openings), 1),
	}
}

// Results are the scores of policies on populations: Scores[i][j] is that of
// the i-th policy on the j-th population.
type Results struct {
	Policies []Policy
	Seeds    []int
	Scores   [][]Score
}

// Run scores every policy on the tidy population of every seed, on all
// processors.
func Run(policies []Policy, seeds []int, size Size, a Assumptions) *Results {
	return run(policies, seeds, func(seed int) world { return NewPopulation(seed, size, a) })
}

// RunImperfect scores every policy on the imperfect club of every seed, on all
// processors.
func RunImperfect(policies []Policy, seeds []int, size Size, a Imperfect) *Results {
	return run(policies, seeds, func(seed int) world { return NewImperfectClub(seed, size, a) })
}

// world is a club of either world.
type world interface {
	Run(Policy, *scheduler.Planner) Score
}

func run(policies []Policy, seeds []int, world func(seed int) world) *Results {
	r := &Results{Policies: policies, Seeds: seeds, Scores: make([][]Score, len(policies))}
	for i := range r.Scores {
		r.Scores[i] = make([]Score, len(seeds))
	}
	next := make(chan int)
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			var planner scheduler.Planner
			for j := range next {
				population := world(seeds[j])
				for i := range policies {
					r.Scores[i][j] = population.Run(policies[i], &planner)
				}
			}
		})
	}
	for j := range seeds {
		next <- j
	}
	close(next)
	workers.Wait()
	return r
}

// Mean returns the mean score of the i-th policy over populations, which are
// named by their places in Seeds and may repeat.
func (r *Results) Mean(i int, populations []int) Score {
	m := Score{Policy: r.Policies[i].Name}
	for _, j := range populations {
		s := &r.Scores[i][j]
		m.Openings += s.Openings
		m.Visits += s.Visits
		m.Hard += s.Hard
		m.Stuck += s.Stuck
		m.Hours += s.Hours
		m.Cold += s.Cold
		m.said.join(&s.said)
		m.written.join(&s.written)
		m.corrected.join(&s.corrected)
	}
	n := float64(len(populations))
	m.Openings, m.Visits, m.Hard, m.Stuck, m.Hours, m.Cold = m.Openings/n, m.Visits/n, m.Hard/n, m.Stuck/n, m.Hours/n, m.Cold/n
	return m
}
