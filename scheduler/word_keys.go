package scheduler

import (
	"fmt"

	"pryday/scheduler/text"
)

// WordKey returns the key of the word for a difficulty: "difficulty.3".
func (d Difficulty) WordKey() string { return fmt.Sprintf("difficulty.%d", d) }

// WordKey returns the key of the word for a condition: "condition.warped".
func (c Condition) WordKey() string { return "condition." + string(c) }

// WordKey returns the key of the word for a place of gaps: "gap.above-frames".
func (p GapPlace) WordKey() string { return "gap." + string(p) }

// WordKey returns the key of the word for a peg's answer: "peg.thin-goes".
func (p Peg) WordKey() string { return "peg." + string(p) }

// WordKey returns the key of the word for a stage: "stage.late-summer".
func (s Stage) WordKey() string { return "stage." + s.String() }

// WordKey returns the key of the word for a region: "region.western-europe".
func (r Region) WordKey() string { return "region." + string(r) }

// WordKey returns the key of the word for a visit's state: "status.done".
func (s VisitStatus) WordKey() string { return "status." + string(s) }

// WordKey returns the key of the word for a role: "role.keeper".
func (r Role) WordKey() string { return "role." + string(r) }

// WordKey returns the key of the words for a kind of message: "message.day".
func (k MessageKind) WordKey() string { return "message." + string(k) }

// WordKey returns the key of the word for how much was scraped: "scraped.all".
func (s Scraped) WordKey() string {
	if s == "" {
		s = ScrapedNone
	}
	return "scraped." + string(s)
}

// gettingHard is the chance of a hard opening from which one can say that a
// seal is getting hard to break; below it, words and number would quarrel.
const gettingHard = 0.1

// Text says why a box is due, in words that fit the odds of a hard opening
// that stand beside it; the zero Text for a reason that is not known, as on
// visits of the past that came in without one.
func (r Reason) Text(odds float64) text.Text {
	switch {
	case r == BecauseOdds && odds < gettingHard:
		return text.New("reason.odds-low")
	case r == BecauseOdds, r == BecauseLongest, r == BecauseRequired, r == BecauseGuess, r == BecauseAbove:
		return text.New("reason." + string(r))
	}
	return text.Text{}
}

// Conditions lists every condition, in the order in which forms ask.
var Conditions = []Condition{
	Warped, Cracked, Rot, CornerLoose, RestWorn, LugBroken, FrameBroken, FrameMissing, CombDamaged,
	MixedMakers, ExcluderBent, LidDamaged, FloorDamaged, WaxMoth, HiveBeetle, BroodSuspect,
}

// GapPlaces lists every place of gaps, from the top of a box down.
var GapPlaces = []GapPlace{
	AboveFrames, BetweenFrames, FrameLug, EndBarToBox, FrameToWall, BetweenBoxes, BelowFrames, Entrance,
}

// JointWords returns the words for how hard a joint was to open.
func JointWords(d Difficulty) text.Text { return text.New(fmt.Sprintf("joint.%d", d)) }

// FramesWords returns the words for how hard the worst frame was to move.
func FramesWords(d Difficulty) text.Text { return text.New(fmt.Sprintf("frames.%d", d)) }
