package scheduler

import "math"

// minStageDays is the least length of a stage.
const minStageDays = 14

// yearKinds is the number of kinds of year that stage starts can differ in:
// by where the next leap day is.
const yearKinds = 4

// The kinds, and a year of each.
const (
	plainYear = iota // no leap day near
	beforeLeap
	leapYear
	afterLeap
)

const commonYear = 2026

var exampleYears = [yearKinds]int{plainYear: commonYear, beforeLeap: 2027, leapYear: 2028, afterLeap: 2029}

// draftStarts returns when stages start at a place, in days after 1 January of
// year, before they get their least length and days become whole.
func (s *Season) draftStarts(p Place, r *Rules, year int) [NumStages]float64 {
	table := [NumStages]float64{absent, absent, absent, absent, absent}
	tropics := !(math.Abs(p.Latitude) >= Tropic)
	if !tropics {
		table = bandStarts(p, year)
	}
	own := ownStarts(p, r, year, table)
	hasOwn := false
	for i := range own {
		s.source.Own[i] = !math.IsNaN(own[i])
		hasOwn = hasOwn || s.source.Own[i]
	}
	switch {
	case hasOwn:
		s.source.From = FromOwnDates
	case tropics:
		s.source.From = FromTropics
		table[Flow] = 0
		return table
	default:
		s.source.From = FromBands
	}
	s.source.South = !tropics && p.Latitude < 0
	s.source.ShiftDays, s.source.Latitude, s.source.Region = p.ShiftDays, p.Latitude, p.Region
	if p.Region == "" {
		s.source.Region = Continental
	}
	out := mergeStarts(table, own)
	for i := range out {
		out[i] += float64(p.ShiftDays)
	}
	return out
}

// fixStarts fills stages and starts: it gives every stage its least length and
// makes days whole.
func (s *Season) fixStarts(p Place, r *Rules) {
	draft := s.draftStarts(p, r, commonYear)
	for i, v := range draft {
		if !math.IsNaN(v) {
			s.stages[s.n] = Stage(i)
			s.n++
		}
	}
	// The table's or the club's build-up of one year may fall into another,
	// far up or by a shift: a sequence belongs to the year it falls into.
	turn := int(math.Floor(draft[s.stages[0]] / 365))
	for kind, year := range exampleYears {
		draft := s.draftStarts(p, r, year-turn)
		back := float64(newYear(year) - newYear(year-turn))
		var day [NumStages]int32
		for i := range s.n {
			day[i] = int32(math.Floor(draft[s.stages[i]] - back + 0.5))
		}
		s.starts[kind] = s.spread(day, int32(newYear(year+1)-newYear(year)))
	}
}

// spread moves starts on so that each stage lasts at least minStageDays, and
// back where the year is too short for that.
func (s *Season) spread(day [NumStages]int32, yearDays int32) [NumStages]int32 {
	day[0] = max(0, min(day[0], yearDays-1))
	limit := day[0] + 364 // next year's first start, or the day before
	for i := 1; i < s.n; i++ {
		least, most := day[i-1]+minStageDays, limit-int32(s.n-i)*minStageDays
		if to := min(max(day[i], least), most); to != day[i] {
			day[i] = to
			s.source.Moved[s.stages[i]] = true
		}
	}
	return day
}

// yearOf returns the year of d. It is Date.Year without the detour over the
// clock's types, since planning asks for it all the time.
func yearOf(d Date) int {
	year := int(math.Floor(float64(d-1)/365.2425)) + 1
	if d < newYear(year) {
		return year - 1
	}
	if d >= newYear(year+1) {
		return year + 1
	}
	return year
}

// newYear returns 1 January of a year.
func newYear(year int) Date { return Date(365*(year-1) + leapsBefore(year) + 1) }

// leapsBefore returns how many leap years there are from year 1 up to, not
// including, year; negative before year 1.
func leapsBefore(year int) int {
	y := year - 1
	if 1900 <= y && y < 2100 {
		return y>>2 - 15 // nearly every day that is asked about, without the divisions: 20 - 5 and 19 - 4 centuries
	}
	return y>>2 - floorDiv(y, 100) + floorDiv(y, 400)
}

func floorDiv(a, b int) int {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

func isLeap(year int) bool { return year%4 == 0 && (year%100 != 0 || year%400 == 0) }

// yearKind returns the kind of a year.
func yearKind(year int) int {
	switch {
	case isLeap(year):
		return leapYear
	case isLeap(year + 1):
		return beforeLeap
	case isLeap(year - 1):
		return afterLeap
	default:
		return plainYear
	}
}
