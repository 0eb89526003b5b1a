package simulation

import "math"

// point is one policy in a plane: what it costs and how many stuck openings it
// leaves.
type point struct{ cost, stuck float64 }

// frontier is straight lines between policies, in the order given.
type frontier []point

// stuckAt returns the fewest stuck openings that the lines reach at a cost,
// NaN where no line does.
func (f frontier) stuckAt(cost float64) float64 {
	least := math.NaN()
	for i := 1; i < len(f); i++ {
		a, b := f[i-1], f[i]
		if cost < min(a.cost, b.cost) || cost > max(a.cost, b.cost) {
			continue
		}
		at := min(a.stuck, b.stuck)
		if a.cost != b.cost {
			at = a.stuck + (b.stuck-a.stuck)*(cost-a.cost)/(b.cost-a.cost)
		}
		if !(at >= least) {
			least = at
		}
	}
	return least
}

// costAt returns the least cost at which the lines reach a number of stuck
// openings, NaN where no line does.
func (f frontier) costAt(stuck float64) float64 {
	turned := make(frontier, len(f))
	for i, p := range f {
		turned[i] = point{p.stuck, p.cost}
	}
	return turned.stuckAt(stuck)
}

func hours(s Score) point    { return point{s.Hours, s.Stuck} }
func openings(s Score) point { return point{s.Openings, s.Stuck} }
