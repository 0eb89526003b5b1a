// Package simulation scores ways to decide when hives are opened: fixed
// calendars, a rule of thumb and chance against the planner, on made-up clubs
// whose bees follow a truth of their own. It shares nothing with the planner's
// seasons, odds or replay: it draws temperatures, colonies, boxes, weather and
// people, and the planner sees only what keepers write down. scheduler is used
// for the policy under test (desk.go, and nowhere else) and for the records that
// it reads.
//
// There are two worlds. In the tidy one (Assumptions, Population, Run) records are
// perfect and seals grow much as the planner thinks. It stays as it is, so that
// today's planner can be held against yesterday's.
//
// The imperfect one (Imperfect, ImperfectClub, RunImperfect) is the one that
// counts. Its clubs lie in both hemispheres, in the tropics, at 62 N and at 1,500 m
// (region.go, weather.go); their seals grow by leaps or give way by chance, under
// colonies that die and are replaced (gluing.go, colony.go); little enough is glued
// that 1 to 5 boxes in a hundred stick in a year at two openings. And people keep
// records as people do (notebook.go, grader.go): Imperfect lists every trouble with
// its share and where the number comes from, and Troubles takes them away one at a
// time. Policies of this world stand in yard_policy.go and yard_planner.go.
//
// Choose on some seeds and report on others, once. Seeds 1 to 200 were looked at
// while the imperfect world was built, and 3001 to 3040, which the command takes
// by default, at any time; those from 7001 on are for reports.
package simulation

// Assumptions are the numbers of the tidy world. Where a comment gives no source
// they are common practice, no source.
type Assumptions struct {
	// Places lie between two latitudes, one latitude for a club, its apiaries
	// within half a degree of it and at elevations from 0 to MaxElevationM.
	MinLatitude, MaxLatitude float64 // degrees north
	MaxElevationM            float64

	// Seasons come early or late, by days, for good at a place and anew every
	// year, against what temperatures on average say.
	PlaceShiftSD, YearShiftSD float64 // days
	// How much propolis there is: at a place for good, in a year, and in the
	// second half of a year; standard deviations of logarithms.
	PlacePaceSD, YearPaceSD, LatePaceSD float64

	// Colonies and boxes differ: standard deviations of ln k, each drawn
	// between the two numbers once for a club.
	ColonySD, BoxSD [2]float64
	LowestBox       float64 // what is added to ln k of the lowest box, and taken off the highest
	// DriftVariance is what comes new to ln k of a box in a year. As much of the
	// old is forgotten, or boxes would grow apart for ever.
	DriftVariance float64

	// A share of hives gets, each May, a colony that has nothing in common with
	// the one before; of those the keepers write down a share. By default there
	// are none: what a planner cannot know yet weighs on any policy, and the
	// command has a flag for it.
	Replaced, ReplacedNoted float64

	// Grades are the sealing days at which a box of rate 1 becomes light, firm,
	// hard and stuck; a club's differ from them by these standard deviations of
	// logarithms, all together and each by itself.
	Grades                [4]float64
	GradesSD, EachGradeSD float64
	DaySD                 float64 // how much the same seal differs from day to day, of ln
	JudgingSD, KeeperSD   float64 // how differently people grade: each time, and each person always
	Scraping

	// A visit waits for a dry day, at most MaxWait days, then goes ahead; a
	// share of visits is not made at all.
	DryShare float64
	MaxWait  int // days
	NotMade  float64
	Weekends float64 // share of apiaries whose keepers come on Saturdays and Sundays only
}

// DefaultAssumptions returns the tidy world that the command scores against.
func DefaultAssumptions() Assumptions {
	return Assumptions{
		MinLatitude: 32, MaxLatitude: 56, MaxElevationM: 400,
		PlaceShiftSD: 7, YearShiftSD: 7, // a forward or a backward spring is a week or two
		PlacePaceSD: 0.12, YearPaceSD: 0.15, LatePaceSD: 0.15,
		ColonySD: [2]float64{0.45, 0.65}, BoxSD: [2]float64{0.30, 0.45}, LowestBox: 0.1, DriftVariance: 0.05,
		Replaced: 0, ReplacedNoted: 0.75,
		Grades: [4]float64{40, 110, 220, 400}, GradesSD: 0.10, EachGradeSD: 0.05,
		DaySD: 0.40, JudgingSD: 0.15, KeeperSD: 0.10,
		Scraping: Scraping{
			ScrapedAll: 0.6, ScrapedNot: 0.1, HardScrapedAll: 0.85, HardScrapedNot: 0.02,
			LeftByScraping: [3]float64{0.03, 0.3, 0.6}, LeftSpread: 0.3,
		},
		DryShare: 0.65, MaxWait: 7, NotMade: 0.05, Weekends: 0.5,
	}
}

// Size is how large a simulated club is and how long it is watched.
type Size struct {
	Apiaries int // 1 to 100
	Hives    int // in each apiary, 1 to 100
	Boxes    int // on a hive on average, 1 to 8; stacks differ by one
	Years    int // that are scored, 1 to 40
	History  int // years before them, in which the club follows its habits
	Change   int // years between, in which a policy rules and is not scored: it pays for what was locked before

	// Notebook is how far back the records of an imperfect club reach when a policy
	// begins, in days: it brings in the notebook of its last months, no longer knows
	// since when its boxes stand, and is scored from then on. With 0 they reach back
	// to when all was set up.
	Notebook int
}

// unscored returns the years between for an imperfect club.
func (s *Size) unscored() int {
	if s.Notebook > 0 {
		return 0
	}
	return s.Change
}

// DefaultSize returns the size that the command uses.
func DefaultSize() Size {
	return Size{Apiaries: 4, Hives: 6, Boxes: 3, Years: 8, History: 3, Change: 1}
}
