// Package scheduler knows the rules of the work: the nouns that a club's
// records are made of and the mathematics that turns them into dates. It is
// pure. Nothing in it reads a file, a clock or a database; today is always an
// argument, and equal arguments give equal results.
//
// Data flows one way, and the files stand in that order:
//
//	records -> season -> sealing -> odds -> due -> visits
//
// A Club holds the records. NewSeason says which stage of the bees' year a place
// is in on a day. Replay walks through the openings and learns how fast each box
// seals; Odds is the chance that opening it on a day would be hard. PlanClub puts
// it all together: for every box the last day on which the rules let it wait, with
// the reason, and for every apiary the visits of the next year. ExplainBox and
// ExplainVisit say a plan in words, and Preview compares two sets of rules.
//
// What follows from a plan stands in packages of its own: advice (what to do at
// the hive), owed (who must be told what), simulation (how good the dates are) and
// text (how things are said).
package scheduler

import "pryday/scheduler/text"

// Club is the people who share rules, with all their records.
type Club struct {
	ID       int64
	Name     string
	Rules    Rules
	Members  []Member
	Kinds    []BoxKind // the club's own kinds of box, beside BuiltinKinds
	Apiaries []Apiary
	Former   []Apiary `json:",omitempty"` // where Apiaries are not all that the club has: others at which their hives stood, without hives
	Spare    []Box    // boxes in store, lent or retired: on no hive
	Visits   []Visit  // visits that stand recorded, of every status

	Told []Told `json:",omitempty"` // what members were told last; of records that leave or come, for who else asks it is empty

	Recalibration Recalibration // of the odds, by what the club found

	Elsewhere []Promise // where Apiaries are not all that the club has: what its members have promised at the others
}

// Role says what a member may do in a club.
type Role string

// The roles. An organiser changes rules and members; a keeper looks after
// apiaries.
const (
	Organiser Role = "organiser"
	Keeper    Role = "keeper"
)

// Member is a person in a club.
type Member struct {
	ID       int64 // of the membership
	PersonID int64 // of the person, who may be a member of several clubs
	Name     string
	Email    string
	Phone    string // as the member wrote it, for those of a visit (PhoneFor); empty for none
	Role     Role
	Timezone string     // IANA name; empty means the zone of the apiary visited
	Language string     // BCP 47 tag; empty means English
	Units    text.Units // empty means Millimetres
	Prefs    Preferences
	NoGo     []Period // days on which this member visits nowhere

	ButtonsEnded int // how often the signed buttons in mails to the member were ended; what is signed says so
}

// Preferences are a member's wishes about reminders, and what the member can
// give; a zero field takes the club's rule.
type Preferences struct {
	DaysBefore  []int         // days before a visit on which a digest goes out
	SendAt      *ClockTime    // local time of day of the daily mail
	Mute        []MessageKind // kinds that the member does not want
	PausedUntil Date          // no reminders before this day
	VisitHours  *HoursOfDay   // visits in the member's calendar are timed, not all-day
	LongMail    bool          // every box and the whole checklist stand in the mail itself
	Invitations bool          // visits are mailed as invitations that the member's calendar can answer
	HoursADay   float64       // of work and travel that the member can give on a day, 0.5 to 24
	VisitsAWeek int           // that the member can make from Monday to Sunday, 1 to 50
	Weekdays    WeekdaySet    // on which the member can go
}

// ClockTime is a local time of day in minutes after midnight, 0 to 1439.
type ClockTime int

// HoursOfDay is a span of one local day.
type HoursOfDay struct{ From, Until ClockTime }

// Away reports whether a member goes nowhere on a day.
func (m *Member) Away(on Date) bool { return inAny(m.NoGo, on) }

// Apiary is a place with hives.
type Apiary struct {
	ID              int64
	Name            string
	Latitude        float64 // degrees, north positive, -90 to 90
	Longitude       float64 // degrees, east positive, -180 to 180
	ElevationM      float64 // metres above sea level, -430 to 6000
	Timezone        string  // IANA name
	TravelHours     *float64
	Trip            string      // apiaries of one name are one trip; empty: those that are near are
	SeasonShiftDays int         // moves every stage later (positive) or earlier
	Region          Region      // chosen for its seasons; none: the one that its coordinates lie in
	Seen            []SeasonDay // days observed here, each event's in the order of the days
	Weekdays        WeekdaySet  // days on which its keepers can come; 0 means any
	AccessNotes     string      // gates and codes: signed-in pages only
	Keepers         []int64     // member ids of those who look after it, the lead first
	NoGo            []Period    // the landowner's days
	Standstill      []Period    // disease orders: no visits, no swaps
	Hives           []Hive
}

// BeeSpace says where a hive leaves its bee space between two boxes.
type BeeSpace string

// The two sides on which a box can carry its bee space.
const (
	TopSpace    BeeSpace = "top"
	BottomSpace BeeSpace = "bottom"
)

// Hive is one stack of boxes.
type Hive struct {
	ID         int64
	Name       string
	BeeSpace   BeeSpace // empty means not recorded
	LeaveAlone []Period // queen cells, new queen, treatment on, robbing
	Requeened  []Date   // days on which a new queen or colony came in, of which no more is known
	RetiredOn  Date
	Boxes      []Box         // from the bottom up, as the stack stands today
	Events     []ColonyEvent // what happened to its colony, by day
}
