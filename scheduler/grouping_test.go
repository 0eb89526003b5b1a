package scheduler

import (
	"math"
	"slices"
	"testing"
)

// TestGroupingAgainstBruteForce compares the dynamic programme with the best
// of every way to cut the same items into runs, each on the best of every day,
// and the days of its groups with the rule for ties.
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
		items, waste := p.grouping.items, wasteOfItems(p)
		got, want := p.grouping.cost, bruteForce(p, waste)
		if math.Abs(got-want) > 1e-9*(1+want) || math.IsInf(got, 0) {
			t.Fatalf("seed %d: grouping costs %.12f hours, the best way %.12f", seed, got, want)
		}
		for _, g := range p.grouping.groups {
			if day := dayByDefinition(p, items, waste, g); day != g.day {
				t.Fatalf("seed %d: items %d to %d go on day %d, by the rule on %d", seed, g.first, g.last, g.day, day)
			}
		}
		if n := len(p.grouping.groups); n > 0 && n < len(items) {
			grouped++
		}
	}
	if grouped < cases/2 {
		t.Errorf("only %d of %d cases put items together: the cases are too easy", grouped, cases)
	}
}

// bruteForce returns the least cost over every cut of the items into runs.
func bruteForce(p *projection, waste [][]float64) float64 {
	items := p.grouping.items
	n := len(items)
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

func wasteOfItems(p *projection) [][]float64 {
	var waste [][]float64
	for i := range p.grouping.items {
		waste = append(waste, wasteByDefinition(p, &p.grouping.items[i]))
	}
	return waste
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
			if y.season.n > 1 && y.season.Stage(d) == Flow && isFull(p, b) {
				out[k] += hours.Lift
			}
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

// isFull reports whether a box is full of honey in the flow: the third of its
// stack as it stands today, or a higher one.
func isFull(p *projection, b int32) bool {
	below := 0
	for i := range b {
		if o := &p.boxes[i]; o.hive == p.boxes[b].hive && o.box.SetUpOn <= p.days.today {
			below++
		}
	}
	return below >= 2 && p.boxes[b].box.SetUpOn <= p.days.today
}

// runByDefinition returns the cost of one visit for the items i to j.
func runByDefinition(p *projection, items []item, waste [][]float64, i, j int) float64 {
	return p.hours.travel + p.hours.setup + againByDefinition(p, items, i, j) + slices.Min(daysByDefinition(p, items, waste, i, j))
}

// againByDefinition returns the hours of opening upper boxes of earlier runs
// once more.
func againByDefinition(p *projection, items []item, i, j int) float64 {
	again := 0.0
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
	return again
}

// daysByDefinition returns what one visit for the items i to j wastes on every
// day; infinite where it may not be.
func daysByDefinition(p *projection, items []item, waste [][]float64, i, j int) []float64 {
	y := &p.days
	need, bare := preferred, true
	for k := i; k <= j; k++ {
		need, bare = min(need, items[k].need), bare && items[k].bare
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
	out := make([]float64, y.n)
	for k := range out {
		usable := y.allow[k] >= need && k >= int(begin)
		if bare {
			usable = y.visit[k] || items[i].lo == items[i].hi || items[j].lo == items[j].hi
		}
		if !usable {
			out[k] = math.Inf(1)
			continue
		}
		for m := i; m <= j; m++ {
			out[k] += waste[m][k]
		}
	}
	return out
}

// dayByDefinition returns the day of a group: of those that waste the least,
// the last up to the first item's due day, else the first after it. A visit
// without boxes wastes nothing anywhere; it is on a keepers' weekday up to the
// last item's due day, if there is one.
func dayByDefinition(p *projection, items []item, waste [][]float64, g group) int32 {
	y, due, usual := &p.days, items[g.first].due, false
	costs := daysByDefinition(p, items, waste, g.first, g.last)
	if !slices.ContainsFunc(items[g.first:g.last+1], func(it item) bool { return !it.bare }) {
		due = items[g.last].due
		good := func(k int32) bool {
			return !math.IsInf(costs[k], 1) && y.visit[k] && y.apiary.Weekdays.Has((y.today + Date(k)).Weekday())
		}
		for k := int32(0); k <= due && int(k) < y.n; k++ {
			usual = usual || good(k)
		}
		for k := range costs {
			if usual && !good(int32(k)) {
				costs[k] = math.Inf(1)
			}
		}
	}
	day, least := int32(-1), slices.Min(costs)
	for k := range int32(y.n) {
		if costs[k] <= least+1e-9*(1+math.Abs(least)) && (day < 0 || k <= due) {
			day = k
		}
	}
	return day
}

// TestEquallyGoodDays states the rule for ties: the last day up to the due
// day, else the first after it; among days that are good enough.
func TestEquallyGoodDays(t *testing.T) {
	y := &days{allow: []allowance{preferred, openable, preferred, openable, preferred, preferred}}
	for _, tt := range []struct {
		name  string
		waste []float64 // from day 0 on
		due   int32
		need  allowance
		want  int32
	}{
		{"the least", []float64{3, 1, 2, 3, 4, 5}, 5, openable, 1},
		{"the last before the due day", []float64{1, 1, 1, 1, 1, 1}, 3, openable, 3},
		{"the due day itself", []float64{2, 2, 1, 1, 2, 2}, 3, openable, 3},
		{"the first after it", []float64{2, 2, 2, 1, 1, 1}, 2, openable, 3},
		{"one before it rather than one after", []float64{2, 1, 2, 1, 1, 1}, 2, openable, 1},
		{"of the keepers' weekdays", []float64{1, 1, 1, 1, 1, 1}, 3, preferred, 2},
		{"none", []float64{math.Inf(1), math.Inf(1), math.Inf(1), math.Inf(1), math.Inf(1), math.Inf(1)}, 3, openable, -1},
	} {
		g := &grouping{acc: tt.waste}
		if _, day := g.least(y, &window{hi: 5, due: tt.due, look: true, need: tt.need}, 0, nil); day != tt.want {
			t.Errorf("%s: day %d, want %d", tt.name, day, tt.want)
		}
	}
}

// TestItems: boxes that stand above and are due later go along with a box,
// unless they are not there by then; and none of them waits past its own limit.
func TestItems(t *testing.T) {
	today := date("2027-05-20")
	for _, tt := range []struct {
		name  string
		there Date // when the upper box is set up
		limit int32
		tops  []int32 // of the items
		hi    int32   // of the lower box's item
	}{
		{"both there", today - 300, 400, []int32{1}, 50},
		{"the upper one must not wait as long", today - 300, 40, []int32{1}, 40},
		{"but as long as the lower one", today - 300, 10, []int32{1}, 30},
		{"there on the due day", today + 30, 400, []int32{1}, 50},
		{"there a day too late", today + 31, 400, []int32{0, 1}, 50},
	} {
		c := stand(today-300, []Opening{opened("2027-04-20", Light)})
		hive := &c.Apiaries[0].Hives[0]
		hive.Boxes = append(hive.Boxes, Box{ID: 2, Name: "B2", Kind: "deep", SetUpOn: tt.there})
		way := 1.0
		c.Apiaries[0].TravelHours = &way
		p := &loaded(c, today).projection
		p.boxes = append(p.boxes[:0], p.start...)
		for i, b := range []boxDue{{due: 30, latest: 50}, {due: 35, latest: tt.limit}} {
			p.boxes[i].earliest, p.boxes[i].due, p.boxes[i].latest = 0, b.due, b.latest
		}
		p.duties = nil
		p.group(0)
		var tops []int32
		for _, it := range p.grouping.items {
			tops = append(tops, it.top)
			if it.box == 0 && it.hi != tt.hi {
				t.Errorf("%s: the lower box may wait until day %d, want %d", tt.name, it.hi, tt.hi)
			}
		}
		if !slices.Equal(tops, tt.tops) {
			t.Errorf("%s: items up to boxes %v, want %v", tt.name, tops, tt.tops)
		}
	}
}

// TestAnOverdueBoxKeepsTheLongestWait: a box that its odds made due long ago is
// opened before the longest wait ends, however much a later visit that stands
// already would save.
func TestAnOverdueBoxKeepsTheLongestWait(t *testing.T) {
	today := date("2027-05-15")
	last := date("2026-08-20")
	c := stand(date("2025-05-01"), []Opening{opened("2026-05-10", Stuck), opened(last.String(), Stuck)}, []Opening{opened("2026-09-01", Firm)})
	c.Rules.MaxDays = int(today + 4 - last)
	c.Rules.Hours.Travel = 12
	c.Rules.Stages[BuildUp].Required = NothingRequired
	c.Visits = []Visit{{ID: 7, UID: "a", ApiaryID: 5, On: today + 7, Status: Confirmed, Pinned: true, Boxes: []VisitBox{{BoxID: 2, Due: today + 7}}}}
	for _, v := range PlanClub(c, today).Visits {
		if v.Lists(1) {
			if v.On > today+4 {
				t.Errorf("it is opened on %s, and the longest wait ends on %s", v.On, today+4)
			}
			return
		}
	}
	t.Error("no visit opens it")
}
