package web

import (
	"cmp"
	"maps"
	"slices"

	"pryday/scheduler"
)

// gridDays is how many days of openings the picture of a hive shows.
const gridDays = 18

// hiveGrid is a picture of how hard the boxes of a hive were: a table of its
// boxes, as the stack stands, by the days on which one of them was opened, with
// the next visit behind.
type hiveGrid struct {
	Years  []gridSpan
	Stages []gridSpan
	Days   []gridDay
	Rows   []gridRow
	Gone   []gridRow // boxes that stood on the hive once
	Next   *gridDay  // the next visit; nil for none
	Older  int       // days of openings that are not shown
	Shut   bool      // a box was left shut on one of them
	Unsaid bool      // nobody said how hard one was
	Away   bool      // a box was opened on another hive
}

// Columns is how many the table has: the boxes, the days, the next visit, the
// days by which to open.
func (g *hiveGrid) Columns() int {
	if g.Next == nil {
		return len(g.Days) + 2
	}
	return len(g.Days) + 3
}

// gridSpan is what several days next to each other share.
type gridSpan struct {
	Name  string
	Stage scheduler.Stage
	Days  int
	year  int
}

type gridDay struct {
	on    scheduler.Date
	ISO   string
	Day   string // without the year
	Full  string
	Stage scheduler.Stage
	Path  string // of the visit to come
}

// gridRow is one box: what was found on each of the days, and what is to come.
type gridRow struct {
	ID     int64
	Name   string
	Kind   string
	Height string
	Cells  []gridCell
	Chance string // of a hard opening on the next visit, if that opens it
	Due    string
	Late   bool
}

// gridCell is one day of one box; without a sign it was not opened.
type gridCell struct {
	Stage scheduler.Stage
	Sign  string // a digit, or what stands for no degree
	Class string
	Says  string // the same in words
	Path  string
}

// hiveGrid draws the hive; nil before anything is written down.
func (p *apiaryRecords) hiveGrid(h *scheduler.Hive) *hiveGrid {
	gone := p.goneFrom(h)
	days := map[scheduler.Date]bool{}
	for i := range h.Boxes {
		addDays(days, h.Boxes[i].Openings, nil)
	}
	for _, b := range gone {
		addDays(days, b.Openings, func(d scheduler.Date) bool { return b.HiveOn(d, 0) == h.ID })
	}
	if len(days) == 0 {
		return nil
	}
	shown := slices.Sorted(maps.Keys(days))
	g := &hiveGrid{Older: max(len(shown)-gridDays, 0)}
	for _, on := range shown[g.Older:] {
		g.addDay(p, on)
	}
	for i := len(h.Boxes) - 1; i >= 0; i-- {
		g.Rows = append(g.Rows, p.gridRow(g, h, &h.Boxes[i], true))
	}
	for _, b := range gone {
		if row := p.gridRow(g, h, b, false); slices.ContainsFunc(row.Cells, func(c gridCell) bool { return c.Sign != "" }) {
			g.Gone = append(g.Gone, row)
		}
	}
	p.gridNext(g, h)
	return g
}

// goneFrom lists the boxes that stood on a hive once and do no more, by mark.
func (p *apiaryRecords) goneFrom(h *scheduler.Hive) []*scheduler.Box {
	var out []*scheduler.Box
	add := func(boxes []scheduler.Box) {
		for i := range boxes {
			b := &boxes[i]
			if slices.ContainsFunc(b.Places, func(x scheduler.BoxPlace) bool { return x.HiveID == h.ID }) {
				out = append(out, b)
			}
		}
	}
	add(p.club.Spare)
	for i := range p.club.Apiaries {
		for j := range p.club.Apiaries[i].Hives {
			if other := &p.club.Apiaries[i].Hives[j]; other.ID != h.ID {
				add(other.Boxes)
			}
		}
	}
	slices.SortFunc(out, func(a, b *scheduler.Box) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
	return out
}

func addDays(days map[scheduler.Date]bool, openings []scheduler.Opening, only func(scheduler.Date) bool) {
	for _, o := range scheduler.Effective(openings) {
		if only == nil || only(o.On) {
			days[o.On] = true
		}
	}
}

func (g *hiveGrid) addDay(p *apiaryRecords, on scheduler.Date) {
	day := p.gridDay(on)
	year, _, _ := on.Civil()
	if n := len(g.Years); n == 0 || g.Years[n-1].year != year {
		g.Years = append(g.Years, gridSpan{Name: itoa(int64(year)), year: year})
	}
	if n := len(g.Stages); n == 0 || g.Stages[n-1].Stage != day.Stage || g.Stages[n-1].year != year {
		g.Stages = append(g.Stages, gridSpan{Name: p.say.Word(day.Stage), Stage: day.Stage, year: year})
	}
	g.Years[len(g.Years)-1].Days++
	g.Stages[len(g.Stages)-1].Days++
	g.Days = append(g.Days, day)
}

func (p *apiaryRecords) gridDay(on scheduler.Date) gridDay {
	year, _, _ := on.Civil()
	return gridDay{on: on, ISO: on.String(), Day: p.say.Terse(year).PlainDay(on), Full: p.say.PlainDay(on), Stage: p.season.Stage(on)}
}

// gridRow draws a box of the hive, or one that stood there once: of that, what
// was found while it did.
func (p *apiaryRecords) gridRow(g *hiveGrid, h *scheduler.Hive, b *scheduler.Box, stands bool) gridRow {
	row := gridRow{ID: b.ID, Name: b.Name, Kind: p.say.Kind(b.Kind), Height: p.height(b.Kind)}
	for _, day := range g.Days {
		cell := gridCell{Stage: day.Stage}
		on := b.HiveOn(day.on, h.ID)
		if o := b.OpeningOn(day.on); o != nil && (stands || on == h.ID) {
			cell.Sign, cell.Class, cell.Says = p.degreeSign(o)
			cell.Path = boxPath(b.ID) + "#" + dayAnchor(day.on)
			g.Shut, g.Unsaid = g.Shut || o.LeftShut, g.Unsaid || cell.Sign == unsaidSign
			if on != h.ID {
				g.Away, cell.Class = true, cell.Class+" away"
				cell.Says = p.say.Say("page.hive.grid-elsewhere", cell.Says)
			}
		}
		row.Cells = append(row.Cells, cell)
	}
	if s := p.states[b.ID]; s != nil && stands && s.Due != 0 {
		row.Due, row.Late = p.say.Terse(p.today.Year()).PlainDay(s.Due), s.Overdue && s.LeftAlone.IsZero()
	}
	return row
}

// What stands for an opening without a degree.
const (
	shutSign   = "×"
	unsaidSign = "?"
)

// degreeSign draws how hard an opening was: its degree as a digit, its class, and the
// same in words.
func (p *apiaryRecords) degreeSign(o *scheduler.Opening) (sign, class, says string) {
	d := o.Difficulty()
	switch {
	case o.LeftShut:
		return shutSign, "dx", p.say.Say("page.hive.left-shut")
	case d == scheduler.NotTried:
		return unsaidSign, "dn", p.say.Tell(o.HowHard())
	}
	return itoa(int64(d)), "d" + itoa(int64(d)), p.say.Word(d)
}

// gridNext puts the next visit behind the days.
func (p *apiaryRecords) gridNext(g *hiveGrid, h *scheduler.Hive) {
	at := slices.IndexFunc(p.plan.Visits, func(v scheduler.Visit) bool { return opens(&v, h) })
	if at < 0 {
		return
	}
	v := &p.plan.Visits[at]
	next := p.gridDay(v.On)
	next.Day, next.Path = p.say.Terse(p.today.Year()).PlainDay(v.On), visitPath(v.UID)
	g.Next = &next
	for _, b := range v.Boxes {
		for n := range g.Rows {
			if g.Rows[n].ID == b.BoxID {
				g.Rows[n].Chance = p.inSoMany(b.Odds)
			}
		}
	}
}
