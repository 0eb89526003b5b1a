package scheduler

import (
	"fmt"
	"math"

	"pryday/scheduler/text"
)

// SeasonEvent is something that a keeper sees or does when a stage begins.
type SeasonEvent string

// SeasonEvents lists the events, in the order of the year.
var SeasonEvents = []SeasonEvent{FirstPollen, SupersOn, SupersOff}

// The events that keepers remember.
const (
	FirstPollen SeasonEvent = "first-pollen" // the first good pollen: build-up
	SupersOn    SeasonEvent = "supers-on"    // flow
	SupersOff   SeasonEvent = "supers-off"   // late summer
)

// farFromModel is how far from the model a day may be before it is taken for a
// slip of the pen.
const farFromModel = 75

// begins returns the stage that e begins.
func (e SeasonEvent) begins() (Stage, bool) {
	switch e {
	case FirstPollen:
		return BuildUp, true
	case SupersOn:
		return Flow, true
	case SupersOff:
		return LateSummer, true
	}
	return 0, false
}

// UnfitDay is an observed day that LearnShift cannot learn from.
type UnfitDay struct {
	SeasonDay
	Stage Stage // that the event begins
	Off   int   // days from the start expected; 0 where the stage never starts
}

// Error says so in English, for logs and tests.
func (u *UnfitDay) Error() string {
	return fmt.Sprintf("%s on %v: %s", u.Event, u.On, (&text.Speaker{}).Tell(u.Text()))
}

// Text says what is wrong with the day.
func (u *UnfitDay) Text() text.Text {
	if u.Off == 0 {
		return text.New("season.no-stage", u.Stage)
	}
	return text.New("season.far", max(u.Off, -u.Off), u.On, u.Stage, farFromModel)
}

// LearnShift returns by how many days the season at p comes later (positive)
// or earlier than the rules say, from days observed there and from what
// neighbours saw: the mean of the differences, rounded, each own day counting
// once and a neighbour by its weight. Where all of them come to less than one
// own day, the rules count for the rest. It replaces p.ShiftDays. An *UnfitDay
// names an own day of a stage that does not occur at p, or more than 75 days
// from what the rules say; nothing to learn from or an unknown event is an error
// as well.
func LearnShift(p Place, r *Rules, seen []SeasonDay, near ...Neighbour) (days int, err error) {
	if len(seen)+len(near) == 0 {
		return 0, fmt.Errorf("no observed day to learn from")
	}
	p.ShiftDays = 0
	sum, weight := 0.0, 0.0
	s := NewSeason(p, r)
	for _, day := range seen {
		off, err := s.off(day)
		if err != nil {
			return 0, err
		}
		sum += float64(off)
		weight++
	}
	for _, n := range near {
		sum += n.Weight * n.Off
		weight += n.Weight
	}
	return int(math.Round(sum / math.Max(1, weight))), nil
}

// off returns how many days after the start of its stage a day was seen, where
// that is near enough to learn from.
func (s *Season) off(day SeasonDay) (int, error) {
	stage, ok := day.Event.begins()
	if !ok {
		return 0, fmt.Errorf("%q is not an event of the season; use %s, %s or %s", day.Event, FirstPollen, SupersOn, SupersOff)
	}
	off, ok := s.nearestStart(stage, day.On)
	switch {
	case !ok:
		return 0, &UnfitDay{SeasonDay: day, Stage: stage}
	case off < -farFromModel || off > farFromModel:
		return 0, &UnfitDay{day, stage, off}
	}
	return off, nil
}

// nearestStart returns how many days after the nearest start of a stage d is.
// Where one stage lasts all year nothing starts.
func (s *Season) nearestStart(stage Stage, d Date) (days int, ok bool) {
	if s.n < 2 {
		return 0, false
	}
	year := yearOf(d)
	for y := year - 2; y <= year+1; y++ {
		start := s.Starts(y)[stage]
		if off := int(d - start); start != 0 && (!ok || max(off, -off) < max(days, -days)) {
			days, ok = off, true
		}
	}
	return days, ok
}
