package scheduler

import (
	"math"
	"testing"
)

// TestGroupingAgainstBruteForce compares the dynamic programme with the best
// of every way to cut the same items into runs, each on the best of every day.
func TestGroupingAgainstBruteForce(t *testing.T) {
	cases, grouped := 3000, 0
	for seed := range uint64(cases) {
		r := newDice(seed)
		c := r.club(r.between(1, 8), testToday)
		if r.chance(0.5) {
			r.trouble(c, testToday)
		}
		if r.chance(0.3) {
			c.Visits = []Visit{{ID: 1, ApiaryID: 5, On: testToday + Date(r.between(0, 200)), Status: Tentative, Pinned: true}}
		}
		p := &loaded(c, testToday).projection
		p.run() // for its side effects on working memory
		p.boxes = append(p.boxes[:0], p.start...)
		for i := range p.fixed {
			p.fixed[i].done = false
		}
		for i := range p.duties {
			p.duties[i].done = false
		}
		p.group(0)
		got, want := p.grouping.cost, bruteForce(p)
		if math.Abs(got-want) > 1e-9*(1+want) || math.IsInf(got, 0) {
			t.Fatalf("seed %d: grouping costs %.12f hours, the best way %.12f", seed, got, want)
		}
		if n := len(p.grouping.groups); n > 0 && n < len(p.grouping.items) {
			grouped++
		}
	}
	if grouped < cases/2 {
		t.Errorf("only %d of %d cases put items together: the cases are too easy", grouped, cases)
	}
}

// bruteForce returns the least cost over every cut of the items into runs.
func bruteForce(p *projection) float64 {
	items := p.grouping.items
	n := len(items)
	waste := make([][]float64, n)
	for i := range items {
		waste[i] = wasteByDefinition(p, &items[i])
	}
	run := make([][]float64, n)
	for i := range n {
		run[i] = make([]float64, n)
		for j := i; j < n; j++ {
			run[i][j] = runByDefinition(p, items, waste, i, j)
		}
	}
	best := 0.0
	for cut := range 1 << max(n-1, 0) {
		if n == 0 {
			break
		}
		cost, first := 0.0, 0
		for j := range n {
			if j == n-1 || cut>>j&1 == 1 {
				cost += run[first][j]
				first = j + 1
			}
		}
		if cut == 0 || cost < best {
			best = cost
		}
	}
	return best
}

// wasteByDefinition works out from the records and the published formula what
// an item wastes on every day.
func wasteByDefinition(p *projection, it *item) []float64 {
	y, hours := &p.days, p.rules.Hours
	out := make([]float64, y.n)
	prying := func(b *boxDue, d Date) float64 {
		v := b.rate.VarianceOn(d)
		age := b.rate.Age(y.season, d)
		hard, stuck := Odds(age, b.rate.Mean, v, Hard), Odds(age, b.rate.Mean, v, Stuck)
		return hours.Hard*(hard-stuck) + stuckWorth*hours.Stuck*stuck
	}
	for k := range out {
		d := y.today + Date(k)
		if int32(k) < it.lo || int32(k) > it.hi || !it.bare && y.leftAlone(int(it.hive), int32(k)) {
			out[k] = math.Inf(1)
			continue
		}
		for b := it.box; !it.bare && b <= it.top; b++ {
			box := &p.boxes[b]
			due := y.today + Date(box.due)
			age := box.rate.Age(y.season, due)
			if age <= 0 {
				continue
			}
			a := box.rate.Age(y.season, d) / age
			w := prying(box, due)
			wa := w * ((box.growth-2)*a*a*a + (3-box.growth)*a*a)
			if d > due {
				out[k] += wa - w
			} else {
				out[k] += hours.Open + wa - a*(hours.Open+w)
			}
		}
	}
	return out
}

// runByDefinition returns the cost of one visit for the items i to j.
func runByDefinition(p *projection, items []item, waste [][]float64, i, j int) float64 {
	y := &p.days
	need, bare := preferred, true
	for k := i; k <= j; k++ {
		need, bare = min(need, items[k].need), bare && items[k].bare
	}
	again := 0.0 // upper boxes of earlier runs that have to come off once more
	for h := range p.ends {
		before, here := 0, false
		for k := 0; k <= j; k++ {
			if items[k].bare || items[k].hive != int32(h) {
				continue
			}
			if k < i {
				before += int(items[k].top-items[k].box) + 1
			} else {
				here = true
			}
		}
		if here {
			again += p.rules.Hours.Open * float64(before)
		}
	}
	begin := items[i].lo // nobody needs to come before the last good day up to the first due day
	for k := items[i].lo; k <= min(items[i].due, items[i].hi); k++ {
		usual := y.allow[k] == preferred
		for _, it := range items[i : j+1] {
			usual = usual && (it.bare || !y.leftAlone(int(it.hive), k))
		}
		if usual {
			begin = k
		}
	}
	best := math.Inf(1)
	for k := range y.n {
		if !bare && k < int(begin) {
			continue
		}
		usable := y.allow[k] >= need
		if bare {
			usable = y.visit[k] || items[i].lo == items[i].hi || items[j].lo == items[j].hi
		}
		if !usable {
			continue
		}
		cost := 0.0
		for m := i; m <= j; m++ {
			cost += waste[m][k]
		}
		best = math.Min(best, cost)
	}
	return p.travel + again + best
}
