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

// WordKey returns the key of the word for how much was scraped: "scraped.all".
func (s Scraped) WordKey() string {
	if s == "" {
		s = ScrapedNone
	}
	return "scraped." + string(s)
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
