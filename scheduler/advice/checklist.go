// Package advice says what to do, measure, bring and mind at the hive: the
// checklist of a visit in the order of the hands, verdicts on gaps and how they
// drift, parts to bring and the winter's repairs, cautions, and how to lift a box.
// Everything is worked out from the records and the stage of the year alone and
// comes out as texts that can be said in any language and in any units.
package advice

import (
	"math"
	"slices"
	"strconv"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// ChecklistItem is one thing to do on a visit.
type ChecklistItem struct {
	Key    string // stable for one visit: "hive/12/box/34/joint"
	Step   scheduler.Step
	HiveID int64 // 0 for the whole apiary
	BoxID  int64 // 0 for the whole hive
	Do     text.Text
	Why    text.Text
	Last   []text.Text          // what was found last time; none when nothing was recorded
	Gaps   []scheduler.GapPlace // places to measure, for StepGaps
	Stop   bool                 // when it applies, nothing more is done there
}

// The temperatures below which a hive stays shut, in degrees Celsius
// (University of Guelph Honey Bee Research Centre).
const (
	LidAboveC    = 10
	FramesAboveC = 15
)

// WeatherText says in what weather a visit can be made.
func WeatherText(v *scheduler.Visit) text.Text {
	if len(v.Boxes) == 0 {
		return text.New("weather.look")
	}
	return text.New("weather.opening", text.Celsius(LidAboveC), text.Celsius(FramesAboveC))
}

// Checklist returns what there is to do on a visit, in the order of the
// hands: outside first, then hive by hive, each from the lid down and back.
// It depends on the stage, the stack as recorded, the visit's boxes, their
// openings before the visit's day and the club's gap limits, on nothing else.
func Checklist(c *scheduler.Club, v *scheduler.Visit, stage scheduler.Stage) []ChecklistItem {
	a := c.Apiary(v.ApiaryID)
	if a == nil {
		return nil
	}
	l := &checklist{club: c, visit: v, stage: stage, items: make([]ChecklistItem, 0, 8*(len(a.Hives)+len(v.Boxes)))}
	for _, p := range a.Standstill {
		if p.Contains(v.On) {
			l.add(ChecklistItem{Step: scheduler.StepStandstill, Do: text.New("checklist.do.standstill", periodText(p)), Why: text.New("checklist.why.standstill"), Stop: true})
			return l.items
		}
	}
	stacks := visitStacks(c, v)
	opens := slices.ContainsFunc(stacks, func(s visitStack) bool { return len(s.open) > 0 })
	weather := ChecklistItem{Step: scheduler.StepWeather, Do: text.New("checklist.do.weather-any"), Why: text.New("checklist.why.weather-any")}
	if opens {
		weather.Do = text.New("checklist.do.weather", text.Celsius(LidAboveC), text.Celsius(FramesAboveC))
		weather.Why = text.New("checklist.why.weather")
	}
	l.add(weather)
	l.add(ChecklistItem{Step: scheduler.StepOutside, Do: text.New("checklist.do.outside"), Why: text.New("checklist.why.outside-" + stage.String())})
	for i := range stacks {
		s := &stacks[i]
		switch {
		case s.alone != nil:
			l.hive(s, ChecklistItem{Step: scheduler.StepLeaveAlone, Do: text.New("checklist.do.leave-alone", text.Hive(s.hive.Name), periodText(*s.alone)), Why: text.New("checklist.why.leave-alone"), Stop: true})
		case len(s.open) > 0:
			l.opened(s, a)
		}
		l.entrance(s)
	}
	return l.items
}

// periodText says why and until when.
func periodText(p scheduler.Period) text.Text {
	why := p.Why()
	switch {
	case p.Until == 0 && why.IsZero():
		return text.New("period.open")
	case p.Until == 0:
		return text.New("period.open-reason", why)
	case why.IsZero():
		return text.New("period.until", p.Until)
	}
	return text.New("period.until-reason", p.Until, why)
}

// checklist gathers items.
type checklist struct {
	club  *scheduler.Club
	visit *scheduler.Visit
	stage scheduler.Stage
	items []ChecklistItem
}

func (l *checklist) add(it ChecklistItem) {
	hive, box := strconv.FormatInt(it.HiveID, 10), strconv.FormatInt(it.BoxID, 10)
	switch {
	case it.BoxID != 0:
		it.Key = "hive/" + hive + "/box/" + box + "/" + string(it.Step)
	case it.HiveID != 0:
		it.Key = "hive/" + hive + "/" + string(it.Step)
	default:
		it.Key = "apiary/" + string(it.Step)
	}
	l.items = append(l.items, it)
}

func (l *checklist) hive(s *visitStack, it ChecklistItem) {
	it.HiveID = s.hive.ID
	l.add(it)
}

// opened adds the work on a hive that is opened.
func (l *checklist) opened(s *visitStack, a *scheduler.Apiary) {
	var names []text.Text
	for i := range s.hive.Boxes {
		names = append(names, text.New("checklist.stack-box", s.hive.Boxes[i].Name, text.Kind(s.hive.Boxes[i].Kind)))
	}
	l.hive(s, ChecklistItem{Step: scheduler.StepStack, Do: text.New("checklist.do.stack", text.Hive(s.hive.Name), names), Why: text.New("checklist.why.stack")})
	last := l.lastConditions(s)
	l.hive(s, ChecklistItem{Step: scheduler.StepLid, Do: text.New("checklist.do.lid"), Why: text.New("checklist.why.lid"), Last: last(scheduler.LidDamaged)})
	if len(s.hive.Boxes) > 1 && (l.stage == scheduler.Flow || l.stage == scheduler.LateSummer || len(last(scheduler.ExcluderBent)) > 0) {
		l.hive(s, ChecklistItem{Step: scheduler.StepExcluder, Do: text.New("checklist.do.excluder"), Why: text.New("checklist.why.excluder"), Last: last(scheduler.ExcluderBent)})
	}
	lifts := StackLifts(l.club, s.hive, l.stage, s.lifted())
	for _, b := range s.open {
		l.box(s, b, lifts)
	}
	l.hive(s, ChecklistItem{Step: scheduler.StepBrood, Do: text.New("checklist.do.brood"), Why: text.New("checklist.why.brood"), Last: last(scheduler.BroodSuspect), Stop: true})
	if l.pestsMatter() || len(last(scheduler.WaxMoth, scheduler.HiveBeetle)) > 0 {
		do := text.New("checklist.do.pests-moth")
		if l.beetleOccurs(a) {
			do = text.New("checklist.do.pests")
		}
		l.hive(s, ChecklistItem{Step: scheduler.StepPests, Do: do, Why: text.New("checklist.why.pests"), Last: last(scheduler.WaxMoth, scheduler.HiveBeetle)})
	}
	l.hive(s, ChecklistItem{Step: scheduler.StepClose, Do: text.New("checklist.do.close"), Why: text.New("checklist.why.close")})
}

// lastConditions returns, for the hive's boxes, what of some conditions their
// last openings found and no repair has put right.
func (l *checklist) lastConditions(s *visitStack) func(...scheduler.Condition) []text.Text {
	return func(asked ...scheduler.Condition) []text.Text {
		var out []text.Text
		for i := range s.hive.Boxes {
			b := &s.hive.Boxes[i]
			o, ok := b.LastOpening(l.visit.On)
			if !ok || repairedSince(b, o.On, l.visit.On) {
				continue
			}
			for _, cond := range o.Condition {
				if slices.Contains(asked, cond) {
					out = append(out, text.New("checklist.last.condition-box", b.Name, cond, o.On))
				}
			}
		}
		return out
	}
}

// pestsMatter reports whether wax moth or hive beetle are worth a look of
// their own in the stage: in the warm half of the year once combs stand
// uncovered.
func (l *checklist) pestsMatter() bool {
	return l.stage == scheduler.LateSummer || l.stage == scheduler.Autumn
}

// beetleLatitude is how far from the equator the small hive beetle is looked
// for unasked; common practice, no source.
const beetleLatitude = 50

// beetleOccurs reports whether hive beetle is to be looked for at an apiary:
// in its latitudes, or where the club has ever recorded it.
func (l *checklist) beetleOccurs(a *scheduler.Apiary) bool {
	if math.Abs(a.Latitude) < beetleLatitude {
		return true
	}
	for i := range l.club.Apiaries {
		for _, h := range l.club.Apiaries[i].Hives {
			for _, b := range h.Boxes {
				for _, o := range b.Openings {
					if slices.Contains(o.Condition, scheduler.HiveBeetle) {
						return true
					}
				}
			}
		}
	}
	return false
}

// entrance adds the work at a hive's entrance, which needs no opening.
func (l *checklist) entrance(s *visitStack) {
	it := ChecklistItem{
		Step: scheduler.StepEntrance, Do: text.New("checklist.do.entrance-"+l.stage.String(), text.Hive(s.hive.Name)), Why: text.New("checklist.why.entrance-" + l.stage.String()),
	}
	for i := range s.hive.Boxes {
		o, ok := s.hive.Boxes[i].LastOpening(l.visit.On)
		if !ok {
			continue
		}
		for _, g := range o.Gaps {
			if g.At == scheduler.Entrance {
				it.Last = append(it.Last, gapFound(GapFinding{Gap: g, Verdict: JudgeGap(g, l.club.Rules.GapMM)}))
			}
		}
	}
	it.Last = append(it.Last, l.lastConditions(s)(scheduler.FloorDamaged)...)
	l.hive(s, it)
}
