package scheduler

import "slices"

// VisitStatus is the state that a visit is in.
type VisitStatus string

// The states of a visit; what leads from one to another stands in visitLife.
// Tentative visits may still move freely, confirmed ones are held. One whose
// day passed without a word is unanswered for the rules' answer_days; done,
// missed and cancelled ones are history.
const (
	Tentative  VisitStatus = "tentative"
	Confirmed  VisitStatus = "confirmed"
	Unanswered VisitStatus = "unanswered"
	Done       VisitStatus = "done"
	Missed     VisitStatus = "missed"
	Cancelled  VisitStatus = "cancelled"
)

// VisitStatuses lists every state, in the order of a life.
var VisitStatuses = []VisitStatus{Tentative, Confirmed, Unanswered, Done, Missed, Cancelled}

// Open reports whether a visit in this state is still to come.
func (s VisitStatus) Open() bool { return s == Tentative || s == Confirmed }

// cameTo reports whether it is settled what the day of a visit in this state
// came to.
func (s VisitStatus) cameTo() bool { return s == Done || s == Missed }

// Visit is one planned day at one apiary: a record with a life of its own,
// which keeps its identity when planning moves it.
type Visit struct {
	ID        int64  // 0 for a visit that no store has seen yet
	UID       string // opaque, for calendars; empty until a store gives one
	ApiaryID  int64
	On        Date
	Status    VisitStatus
	Sequence  int         // grows whenever something about the visit changes (RFC 5545, 3.8.7.4)
	Pinned    bool        // a person put it on this day: planning leaves it there
	NotBoxes  []int64     // boxes that a person took off this visit, in the order of their ids
	Who       []int64     // member ids of those who are expected to go: those who said so, or else the keepers
	Taken     []int64     // those among them who said that they go
	Refused   []int64     // members who said that they cannot
	NoTime    bool        // nobody is asked to go, since those who could have promised all that they can give
	AskAnew   bool        `json:"-"` // who looks after the apiary has changed: they are asked, as for a new visit
	Returned  []int64     `json:"-"` // boxes that are on it again, since their opening of that day was taken back
	Boxes     []VisitBox  // in the order of the hands: hive by hive, from the top
	NotOpened []int64     // when Done: boxes of which somebody said that they were not opened, in the order of their ids
	For       Required    // the stage duty that this visit answers, if any
	OffUntil  Date        // when Cancelled by a person: its boxes are not planned before this day
	OffFrom   VisitStatus // and the state that it was in
	FirstSeen Date        // the day on which people first saw it; 0 for new visits
	Ticks     []Tick      `json:",omitempty"` // of its checklist, in the order of CompareTicks
}

// VisitBox is one box to open on a visit.
type VisitBox struct {
	BoxID  int64
	Due    Date
	Reason Reason
	Odds   float64 // of a hard opening on the visit's day, 0 to 1
	Stuck  float64 // of a stuck one
}

// Reason says why a box is due when it is.
type Reason string

// The reasons.
const (
	BecauseOdds     Reason = "odds"         // the odds reach the club's limit
	BecauseLongest  Reason = "longest-wait" // the longest wait ends
	BecauseRequired Reason = "required"     // the stage asks for an opening
	BecauseGuess    Reason = "guess"        // nobody knows when it was last opened
	BecauseAbove    Reason = "above"        // a box below it is opened
)

// Required is what a stage asks for.
type Required string

// What a stage may ask for.
const (
	NothingRequired Required = ""
	OpeningRequired Required = "opening" // every box opened once in the stage
	VisitRequired   Required = "visit"   // one visit to the apiary in the stage
)

// Plan is what the planner works out for one club or some of its apiaries.
type Plan struct {
	Today  Date
	Visits []Visit    // open visits from today to the horizon, by day, apiary order within a day
	Boxes  []BoxState // every box that stands on a hive, in record order
	Cancel []Visit    // open visits of c.Visits that no planned visit continues, now cancelled
	Past   []Visit    // visits of c.Visits that are now unanswered, done or missed

	Unwritten map[int64]Unwritten // by visit: done ones with boxes that are still asked about
}

// BoxState is what is worked out about one box for one day.
type BoxState struct {
	BoxID        int64
	ApiaryID     int64
	HiveID       int64
	Since        Date       // the last opening, or the day it was set up
	LastOpened   Date       // zero when never opened
	LastHard     Difficulty // when last tried: on ShutOn or else LastOpened; NotTried when never
	LastTried    Date       // also one that left it shut; zero when never
	ShutOn       Date       // of the last try, if that left it shut; zero when it opened
	ListedOn     Date       // of the last done visit that listed it, if it has no record of that; zero for none
	SealingDays  float64    // the age of its seal today
	RateMean     float64    // of ln k, without unit
	RateVariance float64    // of ln k
	Openings     int        // of it on record
	Odds         float64    // of a hard opening today, 0 to 1
	Stuck        float64    // of a stuck one
	OddsDay      Date       // the first day on which the odds reach the limit; zero beyond the horizon
	Due          Date       // the last day on which the rules let it wait
	DueFirst     Date       // and within which days, 8 times in 10, that would be if it were known how fast it seals
	DueLast      Date
	Reason       Reason
	Moved        Closing // what Due was moved out of, where it is not the day that the reason alone gives
	Overdue      bool    // Due is before today
	LeftAlone    LeftAlone
	Outlook      Outlook // what the age, the rate and the odds of today are worked out from
}

// HorizonDays is how far ahead visits are planned.
const HorizonDays = 365

// Lists reports whether a box is one of those that v opens.
func (v *Visit) Lists(boxID int64) bool { return v.place(boxID) >= 0 }

// place is that of a box in the order of v, or -1.
func (v *Visit) place(boxID int64) int {
	return slices.IndexFunc(v.Boxes, func(b VisitBox) bool { return b.BoxID == boxID })
}
