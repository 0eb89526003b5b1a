package scheduler

import (
	"slices"

	"pryday/scheduler/text"
)

// guessDays is how long after the day of a guess a box is not due yet whose last
// opening was guessed: nobody knows that it waited too long, and in a month somebody
// can look. Common sense, no source.
const guessDays = 28

// Ago is an answer to when a box was last opened, roughly.
type Ago string

// The answers.
const (
	ThisMonth   Ago = "month"
	ThisSeason  Ago = "season"
	LastYear    Ago = "year"
	LongerAgo   Ago = "longer"
	NobodyKnows Ago = "unknown" // the guess that stands is kept
)

// Agos lists the answers in the order in which they are offered.
var Agos = []Ago{ThisMonth, ThisSeason, LastYear, LongerAgo, NobodyKnows}

// GuessedDay is the day that is taken for the last opening where nobody says one.
func GuessedDay(today Date) Date { return today - HorizonDays }

// Roughly returns the day that an answer is taken for: the middle of the last
// thirty days, or of what is over of the bees' year, or that day of the last year
// or of the one before. It is zero for an answer that names no day.
func (s *Season) Roughly(ago Ago, today Date) Date {
	season := s.beganBefore(today)
	season += (today - season) / 2
	switch ago {
	case ThisMonth:
		return today - 15
	case ThisSeason:
		return min(season, today-15)
	case LastYear:
		return season - 365
	case LongerAgo:
		return season - 2*365
	}
	return 0
}

// beganBefore returns the first day of the last build-up that has begun by d; half
// a year before d where one stage lasts all year.
func (s *Season) beganBefore(d Date) Date {
	if s.n == 1 {
		return d - 180
	}
	for s.Stage(d) != s.stages[0] {
		first, _ := s.StageSpan(d)
		d = first - 1
	}
	first, _ := s.StageSpan(d)
	return first
}

// NeverOpened says of a box without an opening on record that there is none, or that
// nobody knows when it was opened.
func (b *Box) NeverOpened() text.Text {
	if b.GuessedOn != 0 {
		return text.New("box.last-unknown")
	}
	return text.New("box.last-never")
}

// SetUp says since when a box stands, or that this is a guess.
func (b *Box) SetUp() text.Text {
	if b.GuessedOn != 0 {
		return text.New("page.hive.set-up-guess", b.SetUpOn)
	}
	return text.New("page.hive.set-up", b.SetUpOn)
}

// MayStandOn reports whether b may have stood on a day: it was set up by then, or the day
// of that is a guess for which nobody has given an answer.
func (b *Box) MayStandOn(on Date) bool {
	return on >= b.SetUpOn || b.GuessedOn != 0 && !b.GuessAnswered
}

// StoodOn moves a guessed set-up back to a day on which b is known to have stood.
func (b *Box) StoodOn(on Date) {
	if on >= b.SetUpOn || !b.MayStandOn(on) {
		return
	}
	b.SetUpOn = on
	if len(b.Places) > 0 {
		b.Places = slices.Clone(b.Places)
		b.Places[0].From = on
	}
}

// about says roughly how long before today a guessed day lies.
func about(day, today Date) text.Text {
	months := int(float64(today-day)/30.4 + 0.5)
	switch {
	case months <= 1:
		return text.New("explain.guess-month")
	case months < 11:
		return text.New("explain.guess-months", months)
	case months < 18:
		return text.New("explain.guess-year")
	}
	return text.New("explain.guess-years", (months+6)/12)
}
