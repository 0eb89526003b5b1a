package scheduler

import "pryday/scheduler/text"

// closing is why boxes may not be opened on a day: the key of its words.
type closing string

const (
	closedWinter     closing = "closed.winter"
	closedStage      closing = "closed.stage"
	closedReseal     closing = "closed.reseal"
	closedStandstill closing = "closed.standstill"
	closedOwner      closing = "closed.owner"
	closedHive       closing = "closed.hive"
	closedKeepers    closing = "closed.keepers"
)

// movedOut notes on a box that its due day was moved, and out of what.
func movedOut(of closing) string { return "out of " + (&text.Speaker{}).Say(string(of)) }

var closings = []closing{
	closedWinter, closedStage, closedReseal, closedStandstill, closedOwner, closedHive, closedKeepers,
}

// closedBecause says why no box of a hive may be opened on d, before or after
// today; empty when it may.
func (y *days) closedBecause(hive int, d Date) closing {
	stage := y.season.Stage(d)
	switch {
	case !y.season.rules[stage].Open && stage == Winter:
		return closedWinter
	case !y.season.rules[stage].Open:
		return closedStage
	case !y.season.MayOpen(d):
		return closedReseal
	case inAny(y.apiary.Standstill, d):
		return closedStandstill
	case inAny(y.apiary.NoGo, d):
		return closedOwner
	case inAny(y.apiary.Hives[hive].LeaveAlone, d):
		return closedHive
	case y.allKeepersAway(d):
		return closedKeepers
	}
	return ""
}
