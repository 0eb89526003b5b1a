package advice

import (
	"cmp"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// box adds the work on one box.
func (l *checklist) box(s *visitStack, b *scheduler.Box, lifts []BoxLift) {
	add := func(it ChecklistItem) {
		it.HiveID, it.BoxID = s.hive.ID, b.ID
		l.add(it)
	}
	o, opened := b.LastOpening(l.visit.On)
	kind, _ := l.club.Kind(b.Kind)

	joint := ChecklistItem{Step: scheduler.StepJoint, Do: text.New("checklist.do.joint", b.Name), Why: text.New("checklist.why.joint-" + string(s.why[b.ID].Reason))}
	if s.why[b.ID].Reason == "" {
		joint.Why = text.New("checklist.why.joint")
	}
	frame := ChecklistItem{Step: scheduler.StepEndFrame, Do: text.New("checklist.do.end-frame"), Why: text.New("checklist.why.end-frame")}
	rests := ChecklistItem{Step: scheduler.StepRests, Do: text.New("checklist.do.rests"), Why: text.New("checklist.why.rests")}
	scrape := ChecklistItem{Step: scheduler.StepScrape, Do: text.New("checklist.do.scrape"), Why: text.New("checklist.why.scrape")}
	if l.stage == scheduler.LateSummer {
		scrape.Why = text.New("checklist.why.scrape-robbing")
	}
	condition := ChecklistItem{Step: scheduler.StepCondition, Do: text.New("checklist.do.condition"), Why: text.New("checklist.why.condition")}
	var measured []text.Text
	if !opened {
		joint.Last = []text.Text{text.New("checklist.last.never", b.SetUpOn)}
		if b.GuessedOn != 0 {
			joint.Last = []text.Text{text.New("checklist.last.unknown")}
		}
	} else {
		joint.Last = []text.Text{text.New("checklist.last.joint", o.On, o.Joint, scheduler.JointWords(o.Joint))}
		if o.Joint == scheduler.NotTried {
			joint.Last = []text.Text{text.New("checklist.last.not-said", o.On)}
		}
		if o.LeftShut {
			joint.Do = text.New("checklist.do.joint-shut", b.Name)
			joint.Last = []text.Text{text.New("checklist.last.shut", o.On)}
		}
		if o.Note != "" {
			joint.Last = append(joint.Last, text.New("checklist.last.note", o.Note))
		}
		if o.Frames != scheduler.NotTried {
			frame.Last = []text.Text{text.New("checklist.last.frames", o.Frames, scheduler.FramesWords(o.Frames))}
		}
		if !o.LeftShut && o.Scraped != "" { // else nobody said it
			scrape.Last = []text.Text{text.New("checklist.last.scraped", o.Scraped)}
		}
		repaired := repairedSince(b, o.On, l.visit.On)
		for _, cond := range o.Condition {
			_, cure := Remedy(cond)
			found := text.New("checklist.last.condition", cond, cure)
			if repaired {
				found = text.New("checklist.last.repaired", cond)
			}
			if cond == scheduler.RestWorn {
				rests.Last = append(rests.Last, found)
			} else {
				condition.Last = append(condition.Last, found)
			}
		}
		for _, g := range o.Gaps {
			f := FindGap(g, l.club.Rules.GapMM, o.Condition, s.hive.BeeSpace, kind)
			measured = append(measured, gapFound(f))
			if !f.Cure.IsZero() {
				measured = append(measured, text.New("checklist.last.cause", f.Cause, f.Cure))
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
			add(ChecklistItem{Step: scheduler.StepLift, Do: lift.Text, Why: LiftNote})
		}
	}
	add(frame)
	if places := l.gapsWorth(s, b, &o, opened); len(places) > 0 {
		words := make([]text.Text, len(places))
		for i, p := range places {
			words[i] = text.Text{Key: p.WordKey()}
		}
		lim := l.club.Rules.GapMM
		add(ChecklistItem{
			Step: scheduler.StepGaps, Do: text.New("checklist.do.gaps", words, text.Length(lim.Least), text.Length(lim.Most)),
			Why: text.New("checklist.why.gaps"), Last: measured, Gaps: places,
		})
	}
	add(rests)
	add(scrape)
	add(condition)
}

// gapsWorth returns the places at which a box's gaps are worth measuring: at
// set-up (never opened, or repaired since), after a hard opening, and where
// the last measurement found something wrong.
func (l *checklist) gapsWorth(s *visitStack, b *scheduler.Box, o *scheduler.Opening, opened bool) []scheduler.GapPlace {
	var places []scheduler.GapPlace
	if !opened || o.Difficulty() >= scheduler.Hard || repairedSince(b, o.On, l.visit.On) {
		places = append(places, scheduler.BetweenFrames, scheduler.EndBarToBox, scheduler.FrameToWall)
		if b.ID == s.hive.Boxes[len(s.hive.Boxes)-1].ID {
			places = append(places, scheduler.AboveFrames)
		} else {
			places = append(places, scheduler.BetweenBoxes)
		}
		if b.ID == s.hive.Boxes[0].ID {
			places = append(places, scheduler.BelowFrames)
		}
	}
	for _, g := range o.Gaps {
		if g.At != scheduler.Entrance && JudgeGap(g, l.club.Rules.GapMM).Wrong() && !slices.Contains(places, g.At) {
			places = append(places, g.At)
		}
	}
	slices.SortFunc(places, func(x, y scheduler.GapPlace) int {
		return cmp.Compare(slices.Index(scheduler.GapPlaces, x), slices.Index(scheduler.GapPlaces, y))
	})
	return places
}

// trendText says a trend that stands out of the measuring error.
func trendText(t GapTrend) text.Text {
	if t.MMPerYear < 0 {
		return text.New("trend.narrowing", t.At, text.Length(-t.MMPerYear))
	}
	return text.New("trend.widening", t.At, text.Length(t.MMPerYear))
}
