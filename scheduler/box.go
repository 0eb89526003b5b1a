package scheduler

// Box is one hive body or super with its frames.
type Box struct {
	ID        int64
	Name      string // the painted mark, which stays when the box moves
	Kind      string // a name from BuiltinKinds or Club.Kinds
	SetUpOn   Date   // the day it was put together clean
	RetiredOn Date
	// GuessedOn is the day on which SetUpOn was guessed for want of the last opening, or
	// was taken to be that of the first opening on record; zero where that is known.
	// Replay weighs several ages of its seal then; what is due for a guess alone ends
	// with an opening on record.
	GuessedOn     Date
	GuessAnswered bool       // somebody was asked and said roughly when, or that nobody knows
	Repaired      []Date     // days on which it was repaired or got new frames
	Places        []BoxPlace // where it was, from when, in date order; empty: on its hive since SetUpOn
	Openings      []Opening  // in the order recorded; see Effective
}

// Where says what a box is standing on.
type Where string

// The places that a box can be in.
const (
	OnHive  Where = "hive"
	InStore Where = "store"
	Lent    Where = "lent"
	Retired Where = "retired"
)

// BoxPlace is where a box was from a day on, until its next place.
type BoxPlace struct {
	From     Date
	Where    Where
	HiveID   int64  // when OnHive
	Position int    // in the stack, 1 the lowest, when OnHive
	LentTo   string // when Lent
	Until    Date   // when Lent: promised back; zero when not known
}

// BoxKind describes a kind of box, for lifting and for gaps.
type BoxKind struct {
	Name    string
	DepthMM float64 // outside height of the box
	EmptyKg float64 // wood and drawn frames
	FullKg  float64 // packed with honey
	Frames  int

	// For lifting and for the gaps that the design itself leaves; 0 where not
	// known.
	WidthMM       float64 // outside, across the frames
	InsideMM      float64 // inside, along the frames
	FrameMM       float64 // height of a frame
	FrameLengthMM float64 // length of a frame below its lugs
	TopBarMM      float64 // length of a top bar with its lugs
	RestMM        float64 // how far a frame rest reaches into each end wall
}

// Difficulty is how hard a box was to open.
type Difficulty int8

// The degrees of difficulty, as openings record them for the joint of a box
// and for its worst frame.
const (
	NotTried Difficulty = -1
	Loose    Difficulty = 0
	Light    Difficulty = 1
	Firm     Difficulty = 2
	Hard     Difficulty = 3
	Stuck    Difficulty = 4
)

// Scraped says what was cleaned of propolis and comb before closing.
type Scraped string

// The answers to "scraped?".
const (
	ScrapedAll  Scraped = "all"
	ScrapedPart Scraped = "part"
	ScrapedNone Scraped = "none"
)

// GapPlace names a place in a hive where a gap is measured.
type GapPlace string

// The places of gaps.
const (
	AboveFrames   GapPlace = "above-frames"
	BetweenFrames GapPlace = "between-frames"
	EndBarToBox   GapPlace = "end-bar-to-box"
	FrameToWall   GapPlace = "frame-to-wall" // outer frame to the wall
	BetweenBoxes  GapPlace = "between-boxes" // between the frames of stacked boxes
	BelowFrames   GapPlace = "below-frames"  // below the lowest frames
	Entrance      GapPlace = "entrance"
	FrameLug      GapPlace = "frame-lug" // lug in its rabbet: tight by design
)

// Gap is one measured gap, or the answer of two pegs.
type Gap struct {
	At  GapPlace
	MM  float64 // millimetres, 0 to 100; 0 with Peg set when only pegs were used
	Peg Peg
}

// Peg is the answer of two drill shanks, one as thick as the least bee space
// and one as thick as the most.
type Peg string

// The answers of two pegs.
const (
	ThinWontGo Peg = "thin-wont-go" // narrower than the least bee space
	ThinGoes   Peg = "thin-goes"    // bee space
	ThickGoes  Peg = "thick-goes"   // wider than the most
)

// Condition is one thing found wrong with a box or its frames.
type Condition string

// The conditions. Each has words, a cause and a part to bring in package advice.
const (
	Warped       Condition = "warped"
	Cracked      Condition = "cracked"
	Rot          Condition = "rot"
	CornerLoose  Condition = "corner-loose"
	RestWorn     Condition = "rest-worn"     // frame rest (rabbet) worn or bent
	LugBroken    Condition = "lug-broken"    // a frame's lug came off
	FrameBroken  Condition = "frame-broken"  // top bar or end bar parted
	FrameMissing Condition = "frame-missing" // fewer frames than the box takes
	CombDamaged  Condition = "comb-damaged"
	WaxMoth      Condition = "wax-moth"
	HiveBeetle   Condition = "hive-beetle"
	LidDamaged   Condition = "lid-damaged" // lid, roof or inner cover
	FloorDamaged Condition = "floor-damaged"
	ExcluderBent Condition = "excluder-bent"
	MixedMakers  Condition = "mixed-makers"  // parts of two makers or both bee spaces
	BroodSuspect Condition = "brood-suspect" // close up, move nothing, tell the inspector
)
