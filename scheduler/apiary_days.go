package scheduler

// marginDays is how far past the horizon the planner looks, so that a box due
// just after it can still join the last visits.
const marginDays = 45

// allowance says what a day may be used for at an apiary.
type allowance uint8

const (
	shut      allowance = iota // no box may be opened
	openable                   // boxes may be opened
	preferred                  // and it is one of the keepers' weekdays
)

// days is an apiary's calendar from today on: which days may be used, and the
// sealing days up to each. Days are counted from today, which is day 0.
type days struct {
	season  *Season
	apiary  *Apiary
	members []Member
	today   Date
	n       int
	sealed  []float64   // sealing days from today to each day, n+1 of them
	allow   []allowance // per day
	visit   []bool      // per day: somebody may go there, boxes or not
	opens   []int32     // how many days before this one are openable, n+1 of them
	prefers []int32     // how many are preferred
	holes   []bool      // per hive: whether it is left alone, or without bees, on a day to come
	spans   []stageSpan // from the stage that holds today on
	away    []Period    // scratch

	refusedFor int // days around a visit for which a refusal holds

	room  []float64    // per day: hours of work that a visit may take; nil: as many as it takes
	most  float64      // of them, but for days on which they do not count
	fixed []fixedVisit // whose days have room for what stands on them
}

// stageSpan is one stage of one year, both ends included.
type stageSpan struct {
	stage       Stage
	first, last Date
}

// fill works out the calendar of an apiary from today to the horizon and the
// margin after it.
func (y *days) fill(a *Apiary, members []Member, s *Season, today Date) {
	y.season, y.apiary, y.members, y.today = s, a, members, today
	y.room = nil
	y.n = HorizonDays + marginDays + 1
	y.sealed = resize(y.sealed, y.n+1)
	y.allow = resize(y.allow, y.n)
	y.visit = resize(y.visit, y.n)
	y.opens = resize(y.opens, y.n+1)
	y.prefers = resize(y.prefers, y.n+1)
	y.fillSeason()
	y.fillBlocks()
	for k := range y.n {
		y.opens[k+1], y.prefers[k+1] = y.opens[k], y.prefers[k]
		if y.allow[k] >= openable {
			y.opens[k+1]++
		}
		if y.allow[k] == preferred {
			y.prefers[k+1]++
		}
	}
	y.holes = resize(y.holes, len(a.Hives))
	for h := range a.Hives {
		y.holes[h] = false
		for _, p := range a.Hives[h].LeaveAlone {
			if p.Until == 0 || p.Until >= today {
				y.holes[h] = true
			}
		}
		if _, _, without := a.Hives[h].WithoutBees(today); without {
			y.holes[h] = true
		}
	}
}

// fillSeason enters what the season and the keepers' weekdays allow.
func (y *days) fillSeason() {
	y.spans = y.spans[:0]
	rules := &y.season.rules
	end := y.today + Date(y.n)
	y.sealed[0] = 0
	for d := y.today; d < end; {
		stage := y.season.Stage(d)
		first, last := y.season.StageSpan(d)
		y.spans = append(y.spans, stageSpan{stage, first, last})
		rule := &rules[stage]
		for ; d <= last && d < end; d++ {
			k := int(d - y.today)
			y.sealed[k+1] = y.sealed[k] + rule.Pace
			y.visit[k] = true
			switch {
			case !rule.Open:
				y.allow[k] = shut
			case y.apiary.Weekdays.Has(d.Weekday()):
				y.allow[k] = preferred
			default:
				y.allow[k] = openable
			}
		}
	}
	// A winter may reach back over the end with its reseal days.
	for d := y.spans[len(y.spans)-1].last + 1; d < end+Date(y.season.reseal); {
		first, last := y.season.StageSpan(d)
		y.spans = append(y.spans, stageSpan{y.season.Stage(d), first, last})
		d = last + 1
	}
	if y.season.n == 1 {
		return
	}
	for _, sp := range y.spans {
		if sp.stage != Winter {
			continue
		}
		for d := max(y.today, sp.first-Date(y.season.reseal)); d < min(sp.first, end); d++ {
			y.allow[d-y.today] = shut
		}
	}
}

// fillBlocks takes out the days of a standstill, the landowner's and those on
// which every keeper is away.
func (y *days) fillBlocks() {
	y.block(y.apiary.Standstill)
	y.block(y.apiary.NoGo)
	y.away = y.away[:0]
	lead := y.keeper(0)
	if lead == nil {
		return
	}
	for _, p := range lead.NoGo {
		if p.Until != 0 && p.Until < y.today {
			continue
		}
		for k := max(0, int(p.From-y.today)); k < y.n && p.Contains(y.today+Date(k)); k++ {
			if y.allKeepersAway(y.today + Date(k)) {
				y.visit[k], y.allow[k] = false, shut
			}
		}
	}
}

func (y *days) block(periods []Period) {
	for _, p := range periods {
		for k := max(0, int(p.From-y.today)); k < y.n && p.Contains(y.today+Date(k)); k++ {
			y.visit[k], y.allow[k] = false, shut
		}
	}
}

// keeper returns the i-th keeper of the apiary whom the club knows.
func (y *days) keeper(i int) *Member {
	for _, id := range y.apiary.Keepers {
		if m := memberIn(y.members, id); m != nil {
			if i == 0 {
				return m
			}
			i--
		}
	}
	return nil
}

// allKeepersAway reports whether d is a no-go day of every keeper. An apiary
// without keepers has nobody who could be away.
func (y *days) allKeepersAway(d Date) bool {
	for i := 0; ; i++ {
		m := y.keeper(i)
		if m == nil {
			return i > 0
		}
		if !m.Away(d) {
			return false
		}
	}
}

// mayOpen reports whether the boxes of a hive may be opened on day k.
func (y *days) mayOpen(hive int, k int32) bool {
	return k >= 0 && int(k) < y.n && y.allow[k] >= openable && !y.leftAlone(hive, k)
}

// leftAlone reports whether a hive is to be left alone on day k.
func (y *days) leftAlone(hive int, k int32) bool {
	return y.holes[hive] && y.apiary.Hives[hive].shutOn(y.today+Date(k))
}

// shutOn reports whether there is nothing to open in a hive on a day: it is to be left
// alone, or there are no bees in it.
func (h *Hive) shutOn(d Date) bool {
	_, _, without := h.WithoutBees(d)
	return without || inAny(h.LeaveAlone, d)
}

// first returns the first day from lo to hi on which a hive may be opened and
// the allowance is at least want, or -1.
func (y *days) first(hive int, lo, hi int32, want allowance) int32 {
	lo, hi = max(lo, 0), min(hi, int32(y.n)-1)
	count := y.opens
	if want == preferred {
		count = y.prefers
	}
	if lo > hi || count[hi+1] == count[lo] {
		return -1
	}
	for k := lo; k <= hi; k++ {
		if y.allow[k] >= want && !y.leftAlone(hive, k) {
			return k
		}
	}
	return -1
}

// inAny reports whether d lies in one of the periods.
func inAny(periods []Period, d Date) bool {
	for _, p := range periods {
		if p.Contains(d) {
			return true
		}
	}
	return false
}

// resize returns a slice of length n that reuses s where it can. What it
// holds is undefined.
func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}

// usualFrom returns the first day from k on that is one of the keepers'
// weekdays and on which a hive may be opened, or k where that is a week away.
func (y *days) usualFrom(hive int, k int32) int32 {
	for day := max(k, 0); day < k+7 && int(day) < y.n; day++ {
		if y.allow[day] == preferred && y.mayOpen(hive, day) {
			return day
		}
	}
	return k
}
