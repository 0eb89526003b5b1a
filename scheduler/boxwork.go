package scheduler

import (
	"cmp"
	"slices"
)

// box adds the work on one box.
func (l *checklist) box(s *visitStack, b *Box, lifts []BoxLift) {
	add := func(it ChecklistItem) {
		it.HiveID, it.BoxID = s.hive.ID, b.ID
		l.add(it)
	}
	o, opened := lastOpening(b, l.visit.On)
	kind, _ := l.club.Kind(b.Kind)

	joint := ChecklistItem{Step: StepJoint, Do: text("do.joint", b.Name), Why: text("why.joint." + string(s.why[b.ID].Reason))}
	if s.why[b.ID].Reason == "" {
		joint.Why = text("why.joint")
	}
	frame := ChecklistItem{Step: StepEndFrame, Do: text("do.end-frame"), Why: text("why.end-frame")}
	rests := ChecklistItem{Step: StepRests, Do: text("do.rests"), Why: text("why.rests")}
	scrape := ChecklistItem{Step: StepScrape, Do: text("do.scrape"), Why: text("why.scrape")}
	if l.stage == LateSummer {
		scrape.Why = text("why.scrape.robbing")
	}
	condition := ChecklistItem{Step: StepCondition, Do: text("do.condition"), Why: text("why.condition")}
	var measured []Text
	if !opened {
		joint.Last = []Text{text("last.never", b.SetUpOn)}
	} else {
		joint.Last = []Text{text("last.joint", o.On, o.Joint, JointWords(o.Joint))}
		if o.LeftShut {
			joint.Do = text("do.joint.shut", b.Name)
			joint.Last = []Text{text("last.shut", o.On)}
		}
		if o.Note != "" {
			joint.Last = append(joint.Last, text("last.note", o.Note))
		}
		if o.Frames != NotTried {
			frame.Last = []Text{text("last.frames", o.Frames, FramesWords(o.Frames))}
		}
		if !o.LeftShut {
			scrape.Last = []Text{text("last.scraped", o.Scraped)}
		}
		repaired := repairedSince(b, o.On, l.visit.On)
		for _, cond := range o.Condition {
			_, cure := Remedy(cond)
			found := text("last.condition", cond, cure)
			if repaired {
				found = text("last.repaired", cond)
			}
			if cond == RestWorn {
				rests.Last = append(rests.Last, found)
			} else {
				condition.Last = append(condition.Last, found)
			}
		}
		for _, g := range o.Gaps {
			f := FindGap(g, l.club.Rules.GapMM, o.Condition, s.hive.BeeSpace, kind)
			measured = append(measured, gapFound(f))
			if !f.Cure.IsZero() {
				measured = append(measured, text("last.cause", f.Cause, f.Cure))
			}
		}
		for _, t := range GapTrends(b, l.visit.On-1) {
			if t.StandsOut {
				measured = append(measured, trendText(t))
			}
		}
	}
	add(joint)
	for _, lift := range lifts {
		if lift.BoxID == b.ID && lift.Method != LiftAlone {
			add(ChecklistItem{Step: StepLift, Do: lift.Text, Why: LiftNote})
		}
	}
	add(frame)
	if places := l.gapsWorth(s, b, &o, opened); len(places) > 0 {
		words := make([]Text, len(places))
		for i, p := range places {
			words[i] = Text{Key: p.WordKey()}
		}
		lim := l.club.Rules.GapMM
		add(ChecklistItem{
			Step: StepGaps, Do: text("do.gaps", words, Length(lim.Least), Length(lim.Most)),
			Why: text("why.gaps"), Last: measured, Gaps: places,
		})
	}
	add(rests)
	add(scrape)
	add(condition)
}

// gapsWorth returns the places at which a box's gaps are worth measuring: at
// set-up (never opened, or repaired since), after a hard opening, and where
// the last measurement found something wrong.
func (l *checklist) gapsWorth(s *visitStack, b *Box, o *Opening, opened bool) []GapPlace {
	var places []GapPlace
	if !opened || o.Difficulty() >= Hard || repairedSince(b, o.On, l.visit.On) {
		places = append(places, BetweenFrames, EndBarToBox, FrameToWall)
		if b.ID == s.hive.Boxes[len(s.hive.Boxes)-1].ID {
			places = append(places, AboveFrames)
		} else {
			places = append(places, BetweenBoxes)
		}
		if b.ID == s.hive.Boxes[0].ID {
			places = append(places, BelowFrames)
		}
	}
	for _, g := range o.Gaps {
		if g.At != Entrance && JudgeGap(g, l.club.Rules.GapMM).Wrong() && !slices.Contains(places, g.At) {
			places = append(places, g.At)
		}
	}
	slices.SortFunc(places, func(x, y GapPlace) int {
		return cmp.Compare(slices.Index(GapPlaces, x), slices.Index(GapPlaces, y))
	})
	return places
}

// trendText says a trend that stands out of the measuring error.
func trendText(t GapTrend) Text {
	if t.MMPerYear < 0 {
		return text("trend.narrowing", t.At, Length(-t.MMPerYear))
	}
	return text("trend.widening", t.At, Length(t.MMPerYear))
}
