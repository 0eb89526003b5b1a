package scheduler

import (
	"fmt"
	"math"
)

// BoxExplanation says why a box is due when it is, and when it is opened.
type BoxExplanation struct {
	Apiary, Hive, Box string
	BoxState
	Today   Date
	SetUpOn Date
	Limit   float64 // the club's limit of the odds of a hard opening
	Stage   Stage   // that asks for the opening, when Reason is BecauseRequired
	Visit   *Visit  // the first visit that opens it; nil for none within the horizon
	Above   bool    // it is opened then only because a box below it is
	Others  int     // how many more boxes that visit opens
}

// soonDays is how long before its due day the only box of a visit may be opened
// without a word about it.
const soonDays = 7

// ExplainBox explains one box of a plan of c.
func ExplainBox(c *Club, p *Plan, b *BoxState) BoxExplanation {
	e := BoxExplanation{BoxState: *b, Today: p.Today, Limit: c.Rules.OddsLimit}
	if a := findApiary(c, b.ApiaryID); a != nil {
		e.Apiary = a.Name
		if b.Reason == BecauseRequired {
			e.Stage = NewSeason(a.Place(), &c.Rules).Stage(b.Due)
		}
		if hive, box := findBox(a, b.BoxID); box != nil {
			e.Hive, e.Box, e.SetUpOn = hive.Name, box.Name, box.SetUpOn
		}
	}
	for i := range p.Visits {
		v := &p.Visits[i]
		if v.ApiaryID != b.ApiaryID {
			continue
		}
		for _, vb := range v.Boxes {
			if vb.BoxID == b.BoxID {
				e.Visit, e.Others, e.Above = v, len(v.Boxes)-1, vb.Reason == BecauseAbove
				return e
			}
		}
	}
	return e
}

// String says the explanation in one English sentence.
func (e BoxExplanation) String() string { return datesNear(e.Today).Say(e.Text()) }

// Text says the explanation in one sentence for any language.
func (e BoxExplanation) Text() Text {
	if e.Due == 0 {
		return text("explain.box", e.Box, e.Hive, text("explain.alone", e.LeftAlone))
	}
	says := e.history()
	for _, t := range []Text{e.why(), e.moved(), e.overdue(), e.visit()} {
		if !t.IsZero() {
			says = text("explain.then", says, t)
		}
	}
	return text("explain.box", e.Box, e.Hive, says)
}

func (e BoxExplanation) history() Text {
	switch {
	case e.LastHard != NotTried && e.LastOpened != 0:
		return text("explain.last", e.LastHard, e.LastOpened)
	case e.LastHard != NotTried:
		return text("explain.shut", e.LastHard)
	}
	return text("explain.never", e.SetUpOn)
}

func (e BoxExplanation) why() Text {
	switch e.Reason {
	case BecauseLongest:
		return text("explain.longest", e.Due)
	case BecauseRequired:
		return text("explain.required", e.Stage, e.Due)
	}
	if e.OddsDay == 0 {
		return Text{}
	}
	key := "explain.odds"
	if e.OddsDay < e.Today {
		key = "explain.odds.past"
	}
	return text(key, chanceIn(e.Limit), e.OddsDay)
}

func (e BoxExplanation) moved() Text {
	for _, why := range closings {
		if e.Moved == "out of "+English(string(why)) {
			return text("explain.moved", text(string(why)), e.Due)
		}
	}
	if e.Reason == BecauseOdds && e.Due > e.OddsDay {
		return text("explain.rest", e.Due)
	}
	return Text{}
}

func (e BoxExplanation) overdue() Text {
	if !e.Overdue {
		return Text{}
	}
	return text("explain.overdue", int(e.Today-e.Due))
}

func (e BoxExplanation) visit() Text {
	switch {
	case e.Visit == nil && e.LeftAlone != "":
		return text("explain.alone", e.LeftAlone)
	case e.Visit == nil:
		return text("explain.none")
	}
	key := "explain.set"
	if e.Visit.Status == Tentative {
		key = "explain.tentative"
	}
	when := text(key, weekday(e.Visit.On), e.Visit.On)
	switch {
	case e.Above:
		when = text("explain.above", when)
	case e.Visit.On > e.Due && !e.Overdue:
		when = text("explain.late", when)
	case e.Visit.On < e.Due-soonDays && e.Others == 0 && !e.Visit.Pinned:
		when = text("explain.soon", when)
	}
	if e.Others == 0 {
		return when
	}
	return text("explain.with", when, more(e.Others))
}

func more(n int) Text {
	if n == 1 {
		return text("explain.more.one")
	}
	return text("explain.more", n)
}

// chanceIn says a probability as people do: 1 in 5.
func chanceIn(p float64) Text {
	if n := math.Round(1 / p); p > 0 && math.Abs(1/p-n) < 0.05 {
		return text("explain.in", 1, int(n))
	}
	return text("explain.in", int(math.Round(100*p)), 100)
}

// weekday is the short name of a day of the week.
func weekday(d Date) Text { return text(fmt.Sprintf("weekday.%d", d.Weekday())) }

// datesNear speaks English and leaves the year out of the dates of this year.
func datesNear(today Date) Speaker {
	return Speaker{Date: func(d Date) string {
		if d.Year() == today.Year() {
			return d.Format("2 Jan")
		}
		return d.Format("2 Jan 2006")
	}}
}

func findApiary(c *Club, id int64) *Apiary {
	for i := range c.Apiaries {
		if c.Apiaries[i].ID == id {
			return &c.Apiaries[i]
		}
	}
	return nil
}

func findBox(a *Apiary, id int64) (*Hive, *Box) {
	for h := range a.Hives {
		for b := range a.Hives[h].Boxes {
			if a.Hives[h].Boxes[b].ID == id {
				return &a.Hives[h], &a.Hives[h].Boxes[b]
			}
		}
	}
	return nil, nil
}
