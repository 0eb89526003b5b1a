package scheduler

import "pryday/scheduler/text"

// VisitExplanation says why a visit is when it is.
type VisitExplanation struct {
	Apiary       string
	Today        Date
	On           Date
	Status       VisitStatus
	Pinned       bool
	Duty         Required
	Stage        Stage // on the day of the visit, where that asks for it
	Boxes, Hives int
	First        VisitBox // the box that must be opened soonest
	FirstHive    string
	FirstBox     string
	Limit        float64
}

// VisitList is what a visit opens, in short.
type VisitList struct {
	Work
	Hives               int      // 0 where they were not counted
	Worst               float64  // the greatest odds of a hard opening among them, 0 to 1
	First               VisitBox // that which must be opened soonest, of those that stand there
	FirstHive, FirstBox string   // its names
}

// Why says why a box is opened on a visit, and by when it should be or, past that day,
// should have been; where asked for, also how likely it is hard to open.
func (b *VisitBox) Why(today Date, chance bool) text.Text {
	why := b.Reason.Text(b.Odds)
	if why.IsZero() || b.Due == 0 {
		return text.New("box.why-none")
	}
	chance = chance && b.Odds >= text.WorthSaying
	switch {
	case b.Reason == BecauseAbove && chance: // whenever it would be due itself
		return text.New("box.why-above-odds", text.Chance(b.Odds))
	case b.Reason == BecauseAbove:
		return text.New("box.why-above")
	}
	key, withOdds, due := "box.why", "box.why-odds", text.Short(b.Due)
	if b.Due < today && b.Reason != BecauseGuess {
		key, withOdds = "box.late", "box.late-odds"
	}
	if b.Due < today || b.Due > today+300 {
		due = b.Due // the year is not plain from the month
	}
	if chance {
		return text.New(withOdds, due, why, text.Chance(b.Odds))
	}
	return text.New(key, due, why)
}

// ListVisit says in short what a visit of c opens.
func ListVisit(c *Club, v *Visit) VisitList {
	l := VisitList{Work: v.Expected()}
	a := c.Apiary(v.ApiaryID)
	if a == nil {
		return l
	}
	var last *Hive
	for i, vb := range v.Boxes {
		l.Worst = max(l.Worst, vb.Odds)
		hive, box := a.Box(vb.BoxID)
		if box == nil {
			continue
		}
		if hive != last {
			last = hive
			l.Hives++
		}
		first := l.First.Reason == "" || l.First.Reason == BecauseAbove
		if i == 0 || vb.Reason != BecauseAbove && (first || vb.Due < l.First.Due) {
			l.First, l.FirstHive, l.FirstBox = vb, hive.Name, box.Name
		}
	}
	return l
}

// ExplainVisit explains one visit of a plan of c.
func ExplainVisit(c *Club, p *Plan, v *Visit) VisitExplanation {
	return ExplainVisitList(c, p.Today, v, ListVisit(c, v))
}

// ExplainVisitList is ExplainVisit of a visit of which it is known in short what it
// opens: c needs no hives for it.
func ExplainVisitList(c *Club, today Date, v *Visit, l VisitList) VisitExplanation {
	e := VisitExplanation{
		Today: today, On: v.On, Status: v.Status, Pinned: v.Pinned, Duty: v.For,
		Boxes: l.Openings, Hives: l.Hives, First: l.First, FirstHive: l.FirstHive, FirstBox: l.FirstBox, Limit: c.SaidLimit(),
	}
	if a := c.Apiary(v.ApiaryID); a != nil {
		e.Apiary = a.Name
		if v.For == VisitRequired {
			e.Stage = NewSeason(a.Place(), &c.Rules).Stage(v.On)
		}
	}
	return e
}

// Text says the explanation in one sentence.
func (e VisitExplanation) Text() text.Text {
	says, boxes := text.New("explain.outside"), "explain.boxes"
	if e.overdue() {
		boxes = "explain.boxes-past"
	}
	if e.Boxes > 0 {
		says = text.New(boxes, e.Boxes, e.FirstBox, text.Hive(e.FirstHive), e.First.Due, e.because())
	}
	if e.Boxes > 0 && e.On < e.First.Due-soonDays && !e.Pinned {
		says = text.New("explain.then", says, text.New("explain.sooner"))
	}
	if e.Duty == VisitRequired {
		says = text.New("explain.then", says, text.New("explain.duty", e.Stage))
	}
	if e.Pinned {
		says = text.New("explain.then", says, text.New("explain.pinned"))
	}
	return text.New("explain.visit", e.Apiary, text.Weekday(e.On), e.On, says)
}

// overdue reports whether the box that must be opened soonest waits past its
// due day already, as far as that is known.
func (e VisitExplanation) overdue() bool {
	return e.First.Due != 0 && e.First.Due < e.Today && e.First.Reason != BecauseGuess
}

func (e VisitExplanation) because() text.Text {
	switch e.First.Reason {
	case BecauseOdds:
		if e.overdue() {
			return text.New("explain.odds-then", chanceIn(e.Limit))
		}
		return text.New("explain.because-odds", chanceIn(e.Limit))
	case BecauseRequired:
		return text.New("explain.because-required")
	case BecauseGuess:
		return text.New("explain.because-guess")
	case BecauseLongest:
		if e.overdue() {
			return text.New("explain.longest-then")
		}
		return text.New("explain.because-longest")
	}
	return text.New("explain.because-above")
}
