package scheduler

import (
	"math"
	"slices"
)

// lackingHour is what an hour costs that nobody has, in hours of work: so much
// that rather than ask for it a visit is made earlier, later or in two, and not
// so much that the sums lose the hours of work.
const lackingHour = 10

// earlyDays is how much before its usual day a visit is looked for when people
// have no time on that: six weeks early, nearly everything would have to be
// opened again for the next stage.
const earlyDays = 42

// fits reports whether there is room for hours of work on day k.
func (y *days) fits(k int32, work float64) bool { return y.room == nil || y.room[k] >= work }

// anyFits reports whether one of the days from lo to hi on which boxes may be
// opened has room for hours of work.
func (y *days) anyFits(lo, hi int32, work float64) bool {
	if y.room == nil {
		return true
	}
	for k := lo; k <= hi; k++ {
		if y.allow[k] >= openable && y.room[k] >= work {
			return true
		}
	}
	return false
}

// earlier returns the first day on which a visit may have to be, given that
// nobody needs to come before day begin, from on which acc is filled: where
// people have promised something on that day already, back to the last usual
// one that is quite theirs.
func (g *grouping) earlier(y *days, from, begin, lo int32) int32 {
	if y.room == nil || y.room[begin] >= y.most {
		return from
	}
	first := from
	for k := from - 1; k >= max(lo, begin-earlyDays); k-- {
		if y.allow[k] == preferred && y.room[k] >= 0 {
			first = k
			if y.room[k] >= y.most {
				break
			}
		}
	}
	return first
}

// place returns the day of a group that starts with item i, and what it wastes
// there. Where people have no room for it within its window from the last usual
// day on, it comes earlier. Where no day is long enough for the prying that is to
// be expected, it has one to itself, and where they have no room at all, it stays
// on the day that it would have without people, at the cost of hours that nobody
// has.
func (g *grouping) place(y *days, w *window, i int, before float64, t *task) (float64, int32) {
	if y.room == nil {
		return g.least(y, w, w.begin, nil)
	}
	begin := w.begin
	for begin > w.from && !(t.fits(y, begin) && y.allow[begin] >= w.need) {
		begin = g.usual(y, begin-1, w.from)
	}
	if i > 0 && y.room[g.day[i]] < t.on(y, g.day[i])+g.work[i] {
		g.shut(g.day[i], w) // the group before has its own work on its day
	}
	least, day := g.least(y, w, begin, t)
	if day < 0 && t.pry > 0 && t.open <= y.most {
		least, day = g.least(y, w, begin, &task{open: y.most})
		least += lackingHour * t.pry
	}
	g.reopen(w)
	if day >= 0 {
		return least, day
	}
	for _, f := range y.fixed {
		g.shut(f.day, w) // nobody who said that they go is to have more for it
	}
	least, day = g.least(y, w, w.begin, nil)
	g.reopen(w)
	if day < 0 {
		least, day = g.least(y, w, w.begin, nil)
	}
	return least + lackingHour*(before+t.open+t.pry), day
}

// task is the work of some boxes on one visit, in hours, as it is counted against
// people's days.
type task struct {
	open   float64 // if all comes off lightly
	pry    float64 // expected of them beyond that on their due days
	prying curve   // and on another day, the growth of which is taken as that of their waste
}

// join adds the work of other boxes.
func (t *task) join(o *task) {
	t.open, t.pry = t.open+o.open, t.pry+o.pry
	for i := range t.prying {
		t.prying[i] += o.prying[i]
	}
}

// addPrying adds the prying of b.
func (t *task) addPrying(b *boxDue) {
	t.pry += b.pry
	if b.age > 0 {
		t.prying.addPowers(b, 0, b.pry*(3-b.growth), b.pry*(b.growth-2))
	}
}

// on returns the hours expected on day k; of lateness it counts nothing.
func (t *task) on(y *days, k int32) float64 {
	return t.open + min(max(t.prying.at(y.sealed[k]), 0), t.pry)
}

// fits reports whether there is room for them on day k.
func (t *task) fits(y *days, k int32) bool {
	room := y.room[k]
	return room >= t.open+t.pry || room >= t.open && room >= t.on(y, k)
}

// closedDay is a day that acc has been told to leave out, with what it held.
type closedDay struct {
	day   int32
	waste float64
}

// shut leaves a day out until reopen.
func (g *grouping) shut(day int32, w *window) {
	if k := day - w.from; k >= 0 && int(k) < len(g.acc) {
		g.closed = append(g.closed, closedDay{day, g.acc[k]})
		g.acc[k] = math.Inf(1)
	}
}

func (g *grouping) reopen(w *window) {
	for _, c := range slices.Backward(g.closed) {
		g.acc[c.day-w.from] = c.waste
	}
	g.closed = g.closed[:0]
}
