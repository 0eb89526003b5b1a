package scheduler

import (
	"cmp"
	"slices"

	"pryday/scheduler/text"
)

// Opening is one box opened on one day. Rows are never changed: a correction
// is a new row that names the one it supersedes.
type Opening struct {
	ID         string // UUID made by whoever recorded it
	Supersedes string // ID of the opening that this one corrects; empty for none
	Void       bool   // a correction that takes the opening back
	On         Date
	Joint      Difficulty // of the joint of the box, or NotTried where nobody said
	Frames     Difficulty // of the worst frame, or NotTried
	LeftShut   bool       // the box stayed shut: its seal was not broken
	Scraped    Scraped    // empty means none
	Gaps       []Gap
	Condition  []Condition
	Note       string
	By         int64     // member id of who wrote it down; 0 when not known
	Opener     *Opener   `json:",omitempty"` // who opened the box where that was not By; nil for By
	Said       *Forecast `json:",omitempty"` // before it was made; nil when nothing was
}

// Opener is somebody who opened a box that another wrote down. With neither a
// member nor a name, nobody knows who it was.
type Opener struct {
	Member int64  // id; 0 for somebody who is none
	Name   string // of somebody without an account
}

// OpenedBy returns who opened the box: whoever wrote it down, unless somebody
// else is named.
func (o *Opening) OpenedBy() Opener {
	if o.Opener != nil {
		return *o.Opener
	}
	return Opener{Member: o.By}
}

// SameOpener reports whether two openings name the same person as who opened the
// box. Where neither names anybody it does not matter who wrote them down.
func (o *Opening) SameOpener(p *Opening) bool {
	return o.Opener == nil && p.Opener == nil || o.OpenedBy() == p.OpenedBy()
}

// NameOpener notes who opened the box, apart from who wrote it down only where
// they differ.
func (o *Opening) NameOpener(by Opener) {
	o.Opener = &by
	if by.Member != 0 && by.Member == o.By {
		o.Opener = nil
	}
}

// Difficulty returns how hard the opening was: the harder of its two parts.
func (o *Opening) Difficulty() Difficulty { return max(o.Joint, o.Frames) }

// HowHard says how hard the opening was in a word, or that nobody said it.
func (o *Opening) HowHard() text.Text {
	if d := o.Difficulty(); d != NotTried {
		return text.New(d.WordKey())
	}
	return text.New("found.not-said")
}

// SameAnswers reports whether two openings found the same on the same day,
// whoever recorded them, in whatever place.
func (o *Opening) SameAnswers(p *Opening) bool {
	return o.On == p.On && o.Joint == p.Joint && o.Frames == p.Frames && o.LeftShut == p.LeftShut && o.Scraped == p.Scraped &&
		o.Void == p.Void && o.Note == p.Note && slices.Equal(o.Gaps, p.Gaps) && slices.Equal(o.Condition, p.Condition)
}

// remains returns the part of a seal's age that an opening leaves: a broken
// joint is weaker than an old seal.
func (o *Opening) remains() float64 {
	if o.Scraped == "" && o.Difficulty() == NotTried { // nobody said more than that it was opened
		return remainsUnknown
	}
	return o.Scraped.Remains()
}

// Remains returns the part of a seal's age, 0 to 1, that is left where so much was
// scraped off; where nobody said, nothing was.
func (s Scraped) Remains() float64 {
	switch s {
	case ScrapedAll:
		return 0
	case ScrapedPart:
		return 0.3
	}
	return 0.6
}

// remainsUnknown is the part of a seal's age that is left by an opening that nobody
// wrote anything of: most are scraped, if not all over (common practice, no source).
const remainsUnknown = 0.2

// Effective returns the openings that count: those not superseded and not
// void, in date order and, within a day, in the order recorded. A correction
// stands where the opening that it corrects stood; of several corrections of
// one opening the last recorded counts. This is the one definition of which
// openings count; the store says the same in SQL.
func Effective(all []Opening) []Opening {
	order := effective(all, nil)
	out := make([]Opening, len(order))
	for i, k := range order {
		out[i] = all[k]
	}
	return out
}

// LastOpening returns the last opening of b before a day that counts, and
// whether there is one.
func (b *Box) LastOpening(before Date) (Opening, bool) {
	order := decisive(b.Openings, make([]int32, 0, 16))
	for i := len(order) - 1; i >= 0; i-- {
		if o := &b.Openings[order[i]]; o.On < before {
			return *o, true
		}
	}
	return Opening{}, false
}

// OpeningOn returns the opening of b of a day that counts, the decisive one of
// several, or nil.
func (b *Box) OpeningOn(day Date) *Opening {
	order := decisive(b.Openings, make([]int32, 0, 16))
	for i := len(order) - 1; i >= 0; i-- {
		if o := &b.Openings[order[i]]; o.On == day {
			return o
		}
	}
	return nil
}

// OpeningFor returns the last opening of b that can have been made for a visit
// on a day, some days before it at most, or nil.
func (b *Box) OpeningFor(visit, before Date) *Opening {
	var last *Opening
	for _, i := range decisive(b.Openings, make([]int32, 0, 16)) {
		if o := &b.Openings[i]; o.On >= visit-max(before, nearDays) && o.On <= visit+nearDays {
			last = o
		}
	}
	return last
}

// openedWithin reports whether b was opened within some days of a day.
func (b *Box) openedWithin(days int32, of Date) bool {
	near := func(o *Opening) bool { return shift(int32(o.On), int32(of)) <= days }
	some := false
	for i := range b.Openings {
		some = some || near(&b.Openings[i])
	}
	if !some { // as for most boxes and days
		return false
	}
	for _, i := range effective(b.Openings, make([]int32, 0, 16)) {
		if near(&b.Openings[i]) {
			return true
		}
	}
	return false
}

// effective appends to order the places in all of the openings that count, in
// the order of Effective.
func effective(all []Opening, order []int32) []int32 {
	start := len(order)
	sorted, corrected := true, false
	for i := range all {
		corrected = corrected || all[i].Supersedes != "" || all[i].Void
		sorted = sorted && (i == 0 || all[i-1].On <= all[i].On)
		order = append(order, int32(i))
	}
	byDay := func(a, b int32) int { return int(all[a].On - all[b].On) }
	switch {
	case corrected:
		order = append(order[:start], uncorrected(all)...)
		slices.SortStableFunc(order[start:], byDay)
	case !sorted:
		slices.SortStableFunc(order[start:], byDay)
	}
	return order
}

// decisive appends to order what effective does, but of each day one opening:
// where two people recorded a box, one that came apart counts over one left
// shut, then the harder, then the one that left more of the seal. It is the same in whatever order they arrived.
func decisive(all []Opening, order []int32) []int32 {
	start := len(order)
	order = effective(all, order)
	kept := order[:start]
	for _, i := range order[start:] {
		if n := len(kept); n == start || all[kept[n-1]].On != all[i].On {
			kept = append(kept, i)
		} else if all[i].decides(&all[kept[n-1]]) {
			kept[n-1] = i
		}
	}
	return kept
}

// decides reports whether o counts rather than another opening of its box and
// day.
func (o *Opening) decides(p *Opening) bool {
	if o.LeftShut != p.LeftShut {
		return p.LeftShut
	}
	return cmp.Or(cmp.Compare(o.Difficulty(), p.Difficulty()), cmp.Compare(o.remains(), p.remains()), cmp.Compare(o.ID, p.ID)) > 0
}

// OpeningsOn returns the openings of b of a day that stand, in the order
// recorded: more than one where people recorded the box without knowing of each
// other.
func (b *Box) OpeningsOn(day Date) []Opening {
	var out []Opening
	for _, i := range effective(b.Openings, make([]int32, 0, 16)) {
		if b.Openings[i].On == day {
			out = append(out, b.Openings[i])
		}
	}
	return out
}

// uncorrected returns the openings that count, in the order in which the first
// openings that they correct were recorded.
func uncorrected(all []Opening) []int32 {
	byID := make(map[string]int, len(all))
	superseded := make([]bool, len(all))
	for i := range all {
		if _, dup := byID[all[i].ID]; !dup && all[i].ID != "" {
			byID[all[i].ID] = i
		}
	}
	corrects := func(i int) (int, bool) {
		of, ok := byID[all[i].Supersedes]
		return of, ok && of != i
	}
	for i := range all {
		if of, ok := corrects(i); ok {
			superseded[of] = true
		}
	}
	last := make([]int32, len(all)) // by first opening: the last that stands, plus 1
	for i := range all {
		if superseded[i] {
			continue
		}
		first := i
		for range all { // a bound, should corrections go round in circles
			of, ok := corrects(first)
			if !ok {
				break
			}
			first = of
		}
		last[first] = int32(i) + 1
	}
	var out []int32
	for _, i := range last {
		if i > 0 && !all[i-1].Void {
			out = append(out, i-1)
		}
	}
	return out
}
