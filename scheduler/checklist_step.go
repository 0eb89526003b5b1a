package scheduler

// Step is one kind of work on a visit's checklist.
type Step string

// The steps, in the order of the hands.
const (
	StepStandstill Step = "standstill" // a disease order: no visit at all
	StepWeather    Step = "weather"
	StepOutside    Step = "outside"
	StepLeaveAlone Step = "leave-alone"
	StepStack      Step = "stack"
	StepLid        Step = "lid"
	StepExcluder   Step = "excluder"
	StepJoint      Step = "joint"
	StepLift       Step = "lift" // how to take a heavy box off
	StepEndFrame   Step = "end-frame"
	StepBrood      Step = "brood"
	StepGaps       Step = "gaps"
	StepRests      Step = "rests"
	StepScrape     Step = "scrape"
	StepCondition  Step = "condition"
	StepPests      Step = "pests"
	StepClose      Step = "close"
	StepEntrance   Step = "entrance"
)

// Steps lists every step, in the order of the hands.
var Steps = []Step{
	StepStandstill, StepWeather, StepOutside, StepLeaveAlone, StepStack, StepLid,
	StepExcluder, StepJoint, StepLift, StepEndFrame, StepBrood, StepGaps,
	StepRests, StepScrape, StepCondition, StepPests, StepClose, StepEntrance,
}
