package simulation

// Imperfect are the numbers of the imperfect world: clubs as they are, with the
// records that they really keep. Its bees, seals and weather share nothing with
// the planner, nor with the tidy world. A number without a source is common
// practice, no source; "from memory" says where one has been read.
//
// A trouble is off when its share is 0. Troubles lists them.
type Imperfect struct {
	// Regions are where clubs keep bees; the club of a seed lies in the seed-th,
	// counted round, so that any ten seeds in a row meet all of them.
	Regions []Region

	// Weather: a place is early or late and rich or poor in propolis for good,
	// a year once more, and its second half by itself; standard deviations in
	// days and of logarithms. A drought, in a share of years, halves what is
	// gathered from midsummer on: extension calendars know one in some eight.
	PlaceShiftSD, YearShiftSD   float64 // days
	PlacePlentySD, YearPlentySD float64
	LatePlentySD                float64
	DroughtShare, DroughtLeaves float64
	WetShare                    float64 // of spells of three days, in which no hive is opened
	MaxWait                     int     // days that a visit waits for a dry one, then goes ahead
	GammaShare                  float64 // of clubs whose seals grow by leaps; those of others give way by chance (see gluing)
	GammaShape, WeibullShape    [2]float64
	YearAlone                   [2]float64 // how near to stuck a year at 45 N brings an average box left alone, drawn between for a club
	ColonyCV                    [2]float64 // coefficient of variation of the colonies' gamma-distributed gluing
	BoxSD                       [2]float64 // of ln of a box's own part
	BoxYearSD                   float64    // and of what is its own in one year: wood swells, frames are changed
	LowestBox                   float64    // added to ln of the lowest box: it is lifted least and stands coldest
	Grades                      [4]float64 // parts of a stuck seal from which a box is light, firm, hard, stuck
	GradesSD                    float64    // by how much a club's differ from them, all together, of ln
	DaySD                       float64    // how differently the same seal opens from day to day, of ln
	Scraping
	Weekends float64 // share of apiaries whose keepers come on Saturdays and Sundays only

	// The troubles.
	Unwritten         float64 // share of openings that are never written down
	UnwrittenTogether float64 // part of them lost a whole hive at a time: a page, a phone put away
	Coarse            float64 // share of keepers with three words only: easy, so-so, stuck
	KeeperSD          float64 // how differently keepers grade, each always: of ln of what they felt
	JudgingSD         float64 // and each time
	Dies              float64 // share of colonies that die in a winter; bees come anew in the next spring
	NewQueens         float64 // share of colonies a year with a new queen, whose bees glue half like the old one's
	QueensUnnoted     float64 // share of new queens and colonies that nobody notes
	Moved             float64 // share of boxes that change places with one of another hive in a year, while both are open
	MovesUnnoted      float64 // share of these that nobody notes
	Skipped           float64 // share of visits that are not made
	RainedOut         float64 // share of visits that are broken off, with some hives left
	Silent            float64 // share of visits, made or not, about which nobody says a word
	Late              float64 // share of visits whose openings are entered later: a day and LateMean more on average
	LateMean          float64 // days
	Reminded          float64 // share of late ones entered at the latest when the next visit is announced
	WrongDates        float64 // share of hives' openings entered with another day
}

// DefaultImperfect returns the imperfect world that the command scores against.
func DefaultImperfect() Imperfect {
	return Imperfect{
		Regions:      Regions(),
		PlaceShiftSD: 8, YearShiftSD: 8, // phenology networks see a spring come one to two weeks early or late (from memory)
		PlacePlentySD: 0.2, YearPlentySD: 0.2, LatePlentySD: 0.2,
		DroughtShare: 0.12, DroughtLeaves: 0.5,
		WetShare: 0.35, MaxWait: 9,
		GammaShare: 0.5, GammaShape: [2]float64{6, 14}, WeibullShape: [2]float64{2, 3.5},
		YearAlone: [2]float64{0.26, 0.38}, // 1 to 5 % of boxes stuck a year at two openings; a test of the world holds it
		ColonyCV:  [2]float64{0.35, 0.60}, // heritable and strong: lines were bred that hardly glue (from memory)
		BoxSD:     [2]float64{0.25, 0.40}, BoxYearSD: 0.2, LowestBox: 0.15,
		Grades: [4]float64{0.08, 0.22, 0.5, 1}, GradesSD: 0.15, DaySD: 0.25,
		Scraping: Scraping{
			ScrapedAll: 0.5, ScrapedNot: 0.15, HardScrapedAll: 0.8, HardScrapedNot: 0.03,
			LeftByScraping: [3]float64{0.03, 0.25, 0.55}, LeftSpread: 0.4,
		},
		Weekends: 0.5,

		Unwritten: 0.07, UnwrittenTogether: 0.5, // the share that this project set itself
		Coarse:   0.4,                   // notebooks mostly have "fine" and "stuck"
		KeeperSD: 0.25, JudgingSD: 0.25, // two people differ by half a grade
		Dies:          0.15,                    // surveys of winter losses: 10 to 25 % (from memory)
		NewQueens:     0.3,                     // a queen lasts two to three years, and swarms
		QueensUnnoted: 0.5,                     // most supersedures are never seen
		Moved:         0.08, MovesUnnoted: 0.5, // supers go where they are needed
		Skipped: 0.10, RainedOut: 0.06, Silent: 0.25,
		Late: 0.2, LateMean: 7, Reminded: 0.7, // "I will enter it at the weekend"
		WrongDates: 0.05,
	}
}
