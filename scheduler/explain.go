package scheduler

import (
	"math"

	"pryday/scheduler/text"
)

// BoxExplanation says why a box is due when it is, and when it is opened.
type BoxExplanation struct {
	Apiary, Hive, Box string
	BoxState
	Today   Date
	SetUpOn Date
	Guessed bool    // SetUpOn is a guess
	Limit   float64 // the club's limit of the odds of a hard opening
	Stage   Stage   // that asks for the opening, when Reason is BecauseRequired
	Visit   *Visit  // the first visit that opens it; nil for none within the horizon
	Above   bool    // it is opened then only because a box below it is
	Others  int     // how many more boxes that visit opens
	Shown   bool    // the day of the visit stands beside, and is not said again
	then    float64 // the odds of a hard opening on it

	// Outweighed is a hard opening that counts for less than a later, easier one after a
	// longer wait, Outweighs; both nil where the records agree.
	Outweighed, Outweighs *Opening
}

// soonDays is how long before its due day the only box of a visit may be opened
// without a word about it.
const soonDays = 7

// ExplainBox explains one box of a plan of c.
func ExplainBox(c *Club, p *Plan, b *BoxState) BoxExplanation {
	e := BoxExplanation{BoxState: *b, Today: p.Today, Limit: c.SaidLimit()}
	if a := c.Apiary(b.ApiaryID); a != nil {
		e.Apiary = a.Name
		if b.Reason == BecauseRequired {
			e.Stage = NewSeason(a.Place(), &c.Rules).Stage(b.Due)
		}
		if hive, box := a.Box(b.BoxID); box != nil {
			e.Hive, e.Box, e.SetUpOn = hive.Name, box.Name, box.SetUpOn
			e.Guessed = box.GuessedOn != 0
			e.Outweighed, e.Outweighs = outweighed(box, NewSeason(a.Place(), &c.Rules))
		}
	}
	for i := range p.Visits {
		v := &p.Visits[i]
		if v.ApiaryID != b.ApiaryID {
			continue
		}
		for _, vb := range v.Boxes {
			if vb.BoxID == b.BoxID {
				e.Visit, e.Others, e.Above, e.then = v, len(v.Boxes)-1, vb.Reason == BecauseAbove, vb.Odds
				return e
			}
		}
	}
	return e
}

// Text says the explanation in one sentence.
func (e BoxExplanation) Text() text.Text {
	if e.Due == 0 {
		return text.New("explain.box", e.Box, text.Hive(e.Hive), text.New("explain.alone", e.LeftAlone.Text()))
	}
	says := e.history()
	for _, t := range []text.Text{e.outweighed(), e.why(), e.moved(), e.overdue(), e.chance(), e.visit()} {
		if !t.IsZero() {
			says = text.New("explain.then", says, t)
		}
	}
	return text.New("explain.box", e.Box, text.Hive(e.Hive), says)
}

func (e BoxExplanation) history() text.Text {
	off := text.New("explain.came-off", e.Since)
	switch {
	case e.ShutOn != 0:
		return text.New("explain.shut", e.ShutOn)
	case e.LastHard != NotTried && e.LastOpened != 0:
		last := text.New("explain.last", e.LastHard, e.LastOpened)
		if e.cameOff() {
			return text.New("explain.then", last, off)
		}
		return last
	case e.cameOff():
		return off
	case e.LastOpened != 0:
		return text.New("explain.opened", e.LastOpened)
	}
	if e.Guessed {
		return text.New("explain.guess", about(e.SetUpOn, e.Today))
	}
	return text.New("explain.never", e.SetUpOn)
}

// cameOff reports whether the box was last opened for one below it, with no record
// of its own: that day is neither that of a record nor the one it was set up on.
func (e BoxExplanation) cameOff() bool {
	return e.Since > e.LastOpened && e.SetUpOn != 0 && e.Since > e.SetUpOn
}

func (e BoxExplanation) why() text.Text {
	switch e.Reason {
	case BecauseLongest:
		return text.New("explain.longest", e.Due)
	case BecauseRequired:
		return text.New("explain.required", e.Stage, e.Due)
	case BecauseGuess:
		return text.New("explain.guess-due", e.Due)
	}
	if e.OddsDay == 0 {
		return text.Text{}
	}
	key := "explain.odds"
	if e.OddsDay < e.Today {
		key = "explain.odds-past"
	}
	return text.New(key, chanceIn(e.Limit), e.OddsDay)
}

func (e BoxExplanation) moved() text.Text {
	if e.Moved == ClosedHarvest && e.Visit != nil {
		return text.New("explain.harvest", e.Due, text.Chance(e.then))
	}
	if e.Moved != "" {
		return text.New("explain.moved", e.Moved, e.Due)
	}
	if e.Reason == BecauseOdds && e.Due > e.OddsDay {
		return text.New("explain.rest", e.Due)
	}
	return text.Text{}
}

func (e BoxExplanation) overdue() text.Text {
	if !e.Overdue {
		return text.Text{}
	}
	return text.New("explain.overdue", int(e.Today-e.Due))
}

// chance says how likely it is that the box is hard, where that is worth a word.
func (e BoxExplanation) chance() text.Text {
	if e.Odds < text.WorthSaying {
		return text.Text{}
	}
	return text.New("explain.hard-today", text.Chance(e.Odds))
}

// Sure says how far the due day can be trusted: how many openings of the box it
// rests on, and between which days it would lie if it were known how fast the box
// seals. The zero Text where nothing is due.
func (e BoxExplanation) Sure() text.Text {
	switch {
	case e.Due == 0:
		return text.Text{}
	case e.DueFirst == e.DueLast:
		return text.New("explain.sure-day", e.Openings)
	}
	return text.New("explain.sure", e.Openings, e.DueFirst, e.DueLast)
}

func (e BoxExplanation) visit() text.Text {
	switch {
	case e.Visit == nil && !e.LeftAlone.IsZero():
		return text.New("explain.alone", e.LeftAlone.Text())
	case e.Visit == nil:
		return text.New("explain.none")
	}
	key := "explain.set"
	if e.Visit.Status == Tentative {
		key = "explain.tentative"
	}
	when := text.New(key, text.Weekday(e.Visit.On), e.Visit.On)
	if e.Shown {
		when = text.New("explain.shown")
	}
	switch {
	case e.Above:
		when = text.New("explain.above", when)
	case e.Visit.On > e.Due && !e.Overdue:
		when = text.New("explain.late", when)
	case e.Visit.On < e.Due-soonDays && e.Others == 0 && !e.Visit.Pinned:
		when = text.New("explain.soon", when)
	}
	if e.Others == 0 {
		return when
	}
	return text.New("explain.with", when, text.New("explain.more", e.Others))
}

// chanceIn says a probability as people do: 1 in 5.
func chanceIn(p float64) text.Text {
	if n := math.Round(1 / p); p > 0 && math.Abs(1/p-n) < 0.05 {
		return text.New("explain.in", 1, int(n))
	}
	return text.New("explain.in", int(math.Round(100*p)), 100)
}
