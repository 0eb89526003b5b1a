package scheduler

import (
	"cmp"
	"math"
	"slices"
)

// item is what the grouping moves as one: a box with the boxes that stand
// above it and are not due before it, or a duty to be at the apiary without
// any box. Days are counted from today.
type item struct {
	due    int32 // where it stands in the order
	lo, hi int32 // the days on which its visit may be
	need   allowance
	bare   bool    // a duty: opens nothing and wastes nothing
	hive   int32   // of the boxes
	box    int32   // the lowest box; of a duty, its place in its list
	top    int32   // the highest box
	above  int32   // boxes of the hive that stand above and are in other items
	lift   float64 // what taking off those of its boxes that are full costs in the flow, hours
	waste  int     // where what it wastes from day lo to hi begins in grouping.waste

	curve
	task
}

// visitHours are what a visit to one apiary costs.
type visitHours struct {
	travel, setup float64 // each visit
	open, lift    float64 // each box, and each full one in the flow
}

func newVisitHours(a *Apiary, r *Rules) visitHours {
	return visitHours{a.travel(r), r.Hours.Setup, r.Hours.Open, r.Hours.Lift}
}

// group is a run of items that share one visit.
type group struct {
	first, last int // items, both included
	day         int32
}

// grouping finds the cheapest way to group items into visits. Its slices are
// kept for the next call.
type grouping struct {
	items  []item
	groups []group
	cost   float64 // hours of the travels and of what is wasted

	best   []float64   // of the first i items
	work   []float64   // hours of work of their last group
	start  []int       // where their last group starts
	day    []int32     // and the day of it
	prev   []int       // the item before in the same hive
	needs  []allowance // the least need of them
	waste  []float64   // of each item by itself on each of its days
	holes  bool        // whether a hive is to be left alone on some days
	acc    []float64
	closed []closedDay // of acc, for the time being
	before []int32     // days too soon for a visit that does not stand yet
	alone  []int32     // hives of the group at hand that are left alone on some days
}

// sort puts the items in due order; of one hive the upper first.
func (g *grouping) sort() {
	slices.SortFunc(g.items, func(a, b item) int {
		return cmp.Or(cmp.Compare(a.due, b.due), cmp.Compare(a.hive, b.hive), cmp.Compare(b.box, a.box))
	})
}

// solve groups the items, which stand in due order, at the least cost. Groups
// are consecutive in that order, found by dynamic programming (Wildeman,
// Dekker and Smit 1997, "A dynamic policy for grouping maintenance
// activities", EJOR 99:530-551). A group costs one visit, what its items
// waste on its day and, where a hive's upper boxes are in an earlier group,
// opening those again. Every item must have a day of its own.
func (g *grouping) solve(y *days, boxes []boxDue, visit *visitHours) {
	n := len(g.items)
	g.best = resize(g.best, n+1)
	g.start = resize(g.start, n+1)
	g.day = resize(g.day, n+1)
	g.work = resize(g.work, n+1)
	for i := range g.best {
		g.best[i] = math.Inf(1)
	}
	g.best[0] = 0
	g.link()
	g.needs = resize(g.needs, n+1)
	g.needs[n] = preferred
	for i := n - 1; i >= 0; i-- {
		g.needs[i] = min(g.items[i].need, g.needs[i+1])
	}
	g.weigh(y, boxes, visit.open)
	for i := range n {
		g.extend(y, i, visit)
	}
	g.groups = g.groups[:0]
	for j := n; j > 0; j = g.start[j] {
		g.groups = append(g.groups, group{g.start[j], j - 1, g.day[j]})
	}
	g.cost = g.best[n]
}

// link finds the item before each one in the same hive, and how many boxes
// stand above it in such items.
func (g *grouping) link() {
	g.prev = resize(g.prev, len(g.items))
	for j := range g.items {
		g.prev[j] = -1
		for i := j - 1; i >= 0 && !g.items[j].bare; i-- {
			if g.items[i].hive == g.items[j].hive && !g.items[i].bare {
				g.prev[j] = i
				g.items[j].above = g.items[i].above + g.items[i].top - g.items[i].box + 1
				break
			}
		}
	}
}

// weigh works out what each item wastes on each of its days.
func (g *grouping) weigh(y *days, boxes []boxDue, open float64) {
	g.waste, g.holes = g.waste[:0], false
	for i := range g.items {
		it := &g.items[i]
		if it.bare {
			continue
		}
		it.waste = len(g.waste)
		n := it.waste + int(it.hi-it.lo) + 1
		g.waste = slices.Grow(g.waste, n-it.waste)[:n]
		own := g.waste[it.waste:]
		clear(own)
		it.addTo(own, it.lo, y, boxes, open)
		g.holes = g.holes || y.holes[it.hive]
	}
}

// extend tries every group that starts with item i. Its visit is not before the
// last usual day up to the due day of i on which its hives may be opened: nobody
// needs to come before.
func (g *grouping) extend(y *days, i int, visit *visitHours) {
	lo, hi := g.items[i].lo, g.items[i].hi
	begin := max(lo, min(g.items[i].due, hi))
	g.alone = g.alone[:0]
	begin = g.usual(y, begin, lo)
	from := begin
	for from > lo && (y.allow[from] < preferred || g.holes && g.anyAlone(y, from)) {
		from--
	}
	from = g.earlier(y, from, begin, lo)
	g.acc = resize(g.acc, int(hi-from)+1)
	acc := g.acc
	useless := g.needs[i] - 1 // days that no group from here may be on
	for k, allow := range y.allow[from : hi+1] {
		acc[k] = 0
		if allow <= useless {
			acc[k] = math.Inf(1)
		}
	}
	for _, k := range g.before {
		if k >= from && k <= hi {
			acc[k-from] = math.Inf(1)
		}
	}
	need, bare, again := preferred, true, 0.0
	var work task
	for j := i; j < len(g.items); j++ {
		it := &g.items[j]
		need, bare = min(need, it.need), bare && it.bare
		lo, hi = max(lo, it.lo), min(hi, it.hi)
		if lo > hi {
			return
		}
		if !it.bare {
			first := max(lo, from)
			own := g.waste[it.waste+int(first-it.lo):][:hi-first+1]
			for k, waste := range own {
				acc[int(first-from)+k] += waste
			}
			work.join(&it.task)
			if g.prev[j] < i {
				again += visit.open * float64(it.above)
				work.open += visit.open * float64(it.above)
			}
			if y.holes[it.hive] {
				g.alone = append(g.alone, it.hive)
				begin = g.usual(y, begin, from)
			}
		}
		var least float64
		var day int32
		if bare {
			if day = g.bareDay(y, lo, hi, it.due); day >= 0 && !y.fits(day, 0) {
				least = lackingHour * (visit.travel + visit.setup)
			}
		} else {
			w := window{lo: lo, begin: begin, hi: hi, from: from, due: g.items[i].due, look: need > useless+1, need: need}
			least, day = g.place(y, &w, i, visit.travel+visit.setup, &work)
		}
		if c := g.best[i] + visit.travel + visit.setup + again + least; day >= 0 && c < g.best[j+1] {
			g.best[j+1], g.start[j+1], g.day[j+1], g.work[j+1] = c, i, day, work.on(y, day)
		}
	}
}

// usual returns the last usual day from lo to k on which no hive in alone is
// to be left alone, or lo.
func (g *grouping) usual(y *days, k, lo int32) int32 {
	for ; k > lo; k-- {
		if y.allow[k] == preferred && !slices.ContainsFunc(g.alone, func(h int32) bool { return y.leftAlone(int(h), k) }) {
			break
		}
	}
	return k
}

// anyAlone reports whether a hive of any item is to be left alone on day k.
func (g *grouping) anyAlone(y *days, k int32) bool {
	for i := range g.items {
		if it := &g.items[i]; !it.bare && y.holes[it.hive] && y.leftAlone(int(it.hive), k) {
			return true
		}
	}
	return false
}

// window is where the day of a group may be looked for.
type window struct {
	lo, hi int32 // the days that its items allow
	begin  int32 // nobody needs to come before
	from   int32 // the first day of acc
	due    int32 // of the first item
	look   bool  // whether acc holds days that are below the need
	need   allowance
}

// least returns the least of what acc holds for the days of w from begin on
// and, of the days with it, the last up to due or else the first after; only
// days of at least the need count, which is looked at where acc holds others as
// well, and with room for the task where that is not nil.
func (g *grouping) least(y *days, w *window, begin int32, t *task) (float64, int32) {
	least, day := math.Inf(1), int32(-1)
	lo := max(w.lo, begin)
	if lo > w.hi {
		return least, day
	}
	for k, v := range g.acc[lo-w.from : w.hi+1-w.from] {
		d := lo + int32(k)
		if v > least || w.look && y.allow[d] < w.need || t != nil && !t.fits(y, d) {
			continue
		}
		if v < least || d <= w.due {
			least, day = v, d
		}
	}
	if math.IsInf(least, 1) {
		day = -1
	}
	return least, day
}

// addTo adds what an item wastes to acc, whose first entry is day from.
func (it *item) addTo(acc []float64, from int32, y *days, boxes []boxDue, open float64) {
	sealed := y.sealed[from:][:len(acc)]
	c := &it.curve
	for k, s := range sealed {
		acc[k] += c.at(s)
	}
	for b := it.box; b <= it.top; b++ {
		if late := int(boxes[b].due+1) - int(from); late < len(acc) {
			level, slope := boxes[b].lateness(open)
			for k := max(late, 0); k < len(acc); k++ {
				acc[k] += level + slope*sealed[k]
			}
		}
	}
	if it.lift > 0 && y.season.n > 1 {
		it.addLift(acc, from, y)
	}
	if y.holes[it.hive] {
		for k := range acc {
			if y.leftAlone(int(it.hive), from+int32(k)) {
				acc[k] = math.Inf(1)
			}
		}
	}
}

// addLift adds what taking off full boxes costs on the days of a flow.
func (it *item) addLift(acc []float64, from int32, y *days) {
	for i := range y.spans {
		if sp := &y.spans[i]; sp.stage == Flow {
			first, last := int(sp.first-y.today)-int(from), int(sp.last-y.today)-int(from)
			for k := max(first, 0); k <= last && k < len(acc); k++ {
				acc[k] += it.lift
			}
		}
	}
}

// bareDay chooses the day of a visit without boxes: the last weekday of the
// keepers up to the due day, else any day on which somebody may go.
func (g *grouping) bareDay(y *days, lo, hi, due int32) int32 {
	if lo == hi {
		return lo
	}
	if day := y.dayToCall(lo, hi, due, 0); day >= 0 || y.room == nil {
		return day
	}
	return y.dayToCall(lo, hi, due, math.Inf(-1))
}

// dayToCall is bareDay for the days that have room for some work.
func (y *days) dayToCall(lo, hi, due int32, work float64) int32 {
	any := int32(-1)
	for k := min(due, hi); k >= lo; k-- {
		open := y.visit[k] && y.fits(k, work)
		if open && any < 0 {
			any = k
		}
		if open && y.apiary.Weekdays.Has((y.today + Date(k)).Weekday()) {
			return k
		}
	}
	for k := max(due+1, lo); k <= hi && any < 0; k++ {
		if y.visit[k] && y.fits(k, work) {
			any = k
		}
	}
	return any
}
