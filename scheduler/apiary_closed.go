package scheduler

import "pryday/scheduler/text"

// Closing is why boxes may not be opened, on a day or for the time being.
type Closing string

// What keeps the boxes of a hive shut on a day. A box whose due day falls there
// is moved out of it.
const (
	ClosedWinter     Closing = "winter"
	ClosedStage      Closing = "stage"      // another stage in which nothing is opened
	ClosedReseal     Closing = "reseal"     // the days before winter, in which a seal still sets
	ClosedStandstill Closing = "standstill" // a disease order
	ClosedOwner      Closing = "owner"      // the landowner's days
	ClosedHive       Closing = "hive"       // leave-alone days of the hive
	ClosedKeepers    Closing = "keepers"    // every keeper is away
)

// What a box waits out that only its odds make due.
const (
	ClosedSpring  Closing = "spring"  // the first days after winter
	ClosedHarvest Closing = "harvest" // the flow, while it is full or full boxes stand on it
)

// What takes a box out of planning beside a standstill and leave-alone days,
// which it shares with the days above.
const (
	HiveRetired  Closing = "hive-retired"
	NoBees       Closing = "no-bees" // also a day, until a new colony comes
	BoxRetired   Closing = "box-retired"
	NoneOpenable Closing = "none-openable" // no day within the horizon
)

// WordKey returns the key of the word for days that are closed:
// "closed.winter".
func (c Closing) WordKey() string { return "closed." + string(c) }

// LeftAlone is why a box is out of planning: the zero LeftAlone when it is in.
type LeftAlone struct {
	Why   Closing // ClosedStandstill, ClosedHive, HiveRetired, NoBees, BoxRetired or NoneOpenable
	Words string  // what a person noted as the reason; empty for nothing
	After Fate    // the step of the colony that a hive is left alone after; empty for none
}

// IsZero reports whether nothing keeps the box out of planning.
func (l LeftAlone) IsZero() bool { return l == LeftAlone{} }

// Text says why: "leave alone: queen cells".
func (l LeftAlone) Text() text.Text {
	if l.IsZero() {
		return text.Text{}
	}
	why := text.New("alone." + string(l.Why))
	if noted := noted(l.After, l.Words); !noted.IsZero() {
		return text.New("alone.noted", why, noted)
	}
	return why
}

// closedBecause says why no box of a hive may be opened on d, before or after
// today; empty when it may.
func (y *days) closedBecause(hive int, d Date) Closing {
	stage := y.season.Stage(d)
	switch {
	case !y.season.rules[stage].Open && stage == Winter:
		return ClosedWinter
	case !y.season.rules[stage].Open:
		return ClosedStage
	case !y.season.MayOpen(d):
		return ClosedReseal
	case inAny(y.apiary.Standstill, d):
		return ClosedStandstill
	case inAny(y.apiary.NoGo, d):
		return ClosedOwner
	case inAny(y.apiary.Hives[hive].LeaveAlone, d):
		return ClosedHive
	case d >= y.today && y.holes[hive] && y.apiary.Hives[hive].shutOn(d):
		return NoBees
	case y.allKeepersAway(d):
		return ClosedKeepers
	}
	return ""
}

// leftAloneBecause says why a box is out of planning at present.
func (y *days) leftAloneBecause(h int, box *Box) LeftAlone {
	hive := &y.apiary.Hives[h]
	switch {
	case over(hive.RetiredOn, y.today):
		return LeftAlone{Why: HiveRetired}
	case over(box.RetiredOn, y.today):
		return LeftAlone{Why: BoxRetired}
	case hive.bare(y.today):
		return LeftAlone{Why: NoBees}
	}
	for _, p := range y.apiary.Standstill {
		if p.Contains(y.today) {
			return LeftAlone{ClosedStandstill, p.Reason, p.After}
		}
	}
	for _, p := range hive.LeaveAlone {
		if p.Contains(y.today) {
			return LeftAlone{ClosedHive, p.Reason, p.After}
		}
	}
	if y.first(h, 0, int32(y.n)-1, openable) < 0 {
		return LeftAlone{Why: NoneOpenable}
	}
	return LeftAlone{}
}
