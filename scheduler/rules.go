package scheduler

import "time"

// Rules are what a club can change about how dates are made and when people
// hear of them. The zero Rules are not useful: start from DefaultRules.
type Rules struct {
	OddsLimit  float64 // a box is due when its odds of a hard opening reach this, 0.01 to 0.9
	MinDays    int     // days that a box is left after an opening, 0 to 200
	MaxDays    int     // longest wait between openings in days, 30 to 1500
	ResealDays int     // no opening in this many days before winter, 0 to 90
	SpringDays int     // days after winter in which no box is opened that only its odds make due, 0 to 60
	NoticeDays int     // visits this near are confirmed, 0 to 90
	LeadDays   int     // planning makes no visit sooner than this many days ahead, 0 to 30
	MoveNotice int     // no confirmed visit moves to sooner than this many days ahead, 0 to 30
	AnswerDays int     // days after a visit in which people may still say what became of it, 1 to 30
	HoldHours  float64 // a confirmed visit moves only to save more than this, a tentative one of people who visit other apiaries too than a fifth of it, 0 to 24
	Hours      Hours
	Capacity   Capacity
	GapMM      GapLimits
	Stages     [NumStages]StageRule // indexed by Stage
	Home       *Home                // the place that Stages[i].Starts are observed at; nil for none
	Reminders  Reminders
}

// Hours are the expected costs of work, in hours.
type Hours struct {
	Travel float64 // to an apiary and back, 0 to 24
	Setup  float64 // what a visit takes of each who goes beside the journey, before any box is opened, 0 to 8
	Open   float64 // one box, 0 to 8
	Lift   float64 // extra for taking a box full of honey off and putting it back, 0 to 8
	Hard   float64 // extra for prying a hard box, 0 to 24
	Stuck  float64 // extra for a stuck one, 0 to 100
}

// Capacity is what one person can give, unless they say their own, and what a
// journey is.
type Capacity struct {
	HoursADay   float64    // of work and travel, 0.5 to 24
	VisitsAWeek int        // from Monday to Sunday, 1 to 50
	Weekdays    WeekdaySet // 0 means any day
	SameTripKM  float64    // apiaries as near as this are one trip, 0 to 200; at 0 only those named as one
}

// GapLimits are the limits of bee space in millimetres.
type GapLimits struct{ Least, Most float64 }

// StageRule is what the rules say about one stage.
type StageRule struct {
	Pace     float64 // sealing days a day, 0 to 5, against 1.0 in the flow
	Open     bool    // boxes may be opened in it
	Required Required
	Starts   MonthDay // the club's own date at Home; zero for the band table's
}

// MonthDay is a day of any year; 29 February counts as 28 February.
type MonthDay struct {
	Month time.Month
	Day   int
}

// IsZero reports whether m is not set.
func (m MonthDay) IsZero() bool { return m == MonthDay{} }

// In returns m in a year; 29 February becomes the 28th in common years.
func (m MonthDay) In(year int) Date {
	if m.Month == time.February && m.Day == 29 {
		return NewDate(year, time.March, 1) - 1
	}
	return NewDate(year, m.Month, m.Day)
}

// Home is the place at which a club observed its own stage dates.
type Home struct {
	Latitude   float64 // degrees, north positive
	ElevationM float64
}

// Reminders say when mail goes out.
type Reminders struct {
	DaysBefore        []int     // days before a visit, each 0 to 60
	SendAt            ClockTime // local time of the daily mail
	OverdueEveryDays  int       // 0 turns overdue mail off, up to 90
	EscalateAfterDays int       // days overdue after which organisers hear, 0 turns it off
	MostAWeek         int       // mails to one person in seven days, 1 to 7
	QuietAfter        int       // visits of an apiary in a row about which nobody said a word, after which its mails get rare, 1 to 10
}

// DefaultRules returns the rules of a club that changed nothing. Where the
// numbers come from is said beside each step that uses them.
func DefaultRules() Rules {
	return Rules{
		OddsLimit: 0.20, MinDays: 21, MaxDays: 400, ResealDays: 21, SpringDays: 12, NoticeDays: 14, LeadDays: 2, MoveNotice: 3, AnswerDays: 7, HoldHours: 0.5,
		Hours:    Hours{Travel: 2.0, Setup: 0.25, Open: 0.2, Lift: 0.1, Hard: 0.3, Stuck: 2.0},
		Capacity: Capacity{HoursADay: 8, VisitsAWeek: 7},
		GapMM:    GapLimits{Least: 7.9375, Most: 9.525}, // 5/16 and 3/8 in: common practice, no source
		Stages: [NumStages]StageRule{
			BuildUp:    {Pace: 0.5, Open: true, Required: OpeningRequired},
			Flow:       {Pace: 1.0, Open: true},
			LateSummer: {Pace: 1.6, Open: true},
			Autumn:     {Pace: 1.2, Open: true, Required: VisitRequired},
			Winter:     {Pace: 0.03},
		},
		Reminders: Reminders{DaysBefore: []int{7, 1}, SendAt: 7 * 60, OverdueEveryDays: 7, EscalateAfterDays: 21, MostAWeek: 3, QuietAfter: 2},
	}
}

// Stage is a part of the bees' year at one place.
type Stage uint8

// The stages, in the order of a year that begins with build-up.
const (
	BuildUp Stage = iota
	Flow
	LateSummer
	Autumn
	Winter
	NumStages = 5
)

var stageNames = [NumStages]string{"build-up", "flow", "late-summer", "autumn", "winter"}

// String returns the stage's name as it stands in rules files.
func (s Stage) String() string { return stageNames[s] }
