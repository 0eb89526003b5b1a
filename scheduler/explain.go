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

// VisitExplanation says why a visit is when it is.
type VisitExplanation struct {
	Apiary       string
	Today        Date
	On           Date
	Status       VisitStatus
	Pinned       bool
	Duty         Required
	Stage        Stage // on the day of the visit
	Boxes, Hives int
	First        VisitBox // the box that must be opened soonest
	FirstHive    string
	FirstBox     string
	Limit        float64
}

// ExplainVisit explains one visit of a plan of c.
func ExplainVisit(c *Club, p *Plan, v *Visit) VisitExplanation {
	e := VisitExplanation{
		Today: p.Today, On: v.On, Status: v.Status, Pinned: v.Pinned, Duty: v.For,
		Boxes: len(v.Boxes), Limit: c.Rules.OddsLimit,
	}
	a := findApiary(c, v.ApiaryID)
	if a == nil {
		return e
	}
	e.Apiary = a.Name
	e.Stage = NewSeason(a.Place(), &c.Rules).Stage(v.On)
	var last *Hive
	for i, vb := range v.Boxes {
		hive, box := findBox(a, vb.BoxID)
		if box == nil {
			continue
		}
		if hive != last {
			last = hive
			e.Hives++
		}
		first := e.First.Reason == "" || e.First.Reason == BecauseAbove
		if i == 0 || vb.Reason != BecauseAbove && (first || vb.Due < e.First.Due) {
			e.First, e.FirstHive, e.FirstBox = vb, hive.Name, box.Name
		}
	}
	return e
}

// String says the explanation in one English sentence.
func (e VisitExplanation) String() string { return datesNear(e.Today).Say(e.Text()) }

// Text says the explanation in one sentence for any language.
func (e VisitExplanation) Text() Text {
	says := text("explain.outside")
	switch {
	case e.Boxes == 1:
		says = text("explain.one", e.FirstBox, e.FirstHive, e.First.Due, e.because())
	case e.Boxes > 1:
		says = text("explain.first", e.Boxes, e.FirstBox, e.FirstHive, e.First.Due, e.because())
	}
	if e.Duty == VisitRequired {
		says = text("explain.then", says, text("explain.duty", e.Stage))
	}
	if e.Pinned {
		says = text("explain.then", says, text("explain.pinned"))
	}
	return text("explain.visit", e.Apiary, weekday(e.On), e.On, says)
}

func (e VisitExplanation) because() Text {
	switch e.First.Reason {
	case BecauseOdds:
		return text("explain.because.odds", chanceIn(e.Limit))
	case BecauseRequired:
		return text("explain.because.required")
	case BecauseLongest:
		return text("explain.because.longest")
	}
	return text("explain.because.above")
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

// explainEnglish is what explanations say.
var explainEnglish = map[string]string{
	"explain.box":       "%s of %s: %s",
	"explain.then":      "%s; %s",
	"explain.last":      "%s last time (%s)",
	"explain.shut":      "%s when last tried, and left shut",
	"explain.never":     "not opened since it was set up (%s)",
	"explain.odds":      "the chance of a hard opening passes %s on %s",
	"explain.odds.past": "the chance of a hard opening passed %s on %s",
	"explain.in":        "%d in %d",
	"explain.longest":   "it has waited as long as the rules allow on %s",
	"explain.required":  "every box is opened once in %s, this one by %s",
	"explain.moved":     "moved out of %s to %s",
	"explain.rest":      "left to rest until %s",
	"explain.overdue":   "overdue by %d days",
	"explain.alone":     "out of planning at present (%s)",
	"explain.none":      "no visit within a year",
	"explain.set":       "visit set for %s %s",
	"explain.tentative": "visit likely on %s %s",
	"explain.above":     "%s, for a box below it",
	"explain.late":      "%s, to share the journey",
	"explain.with":      "%s, with %s",
	"explain.more":      "%d more boxes",
	"explain.more.one":  "1 more box",

	"explain.visit":            "%s on %s %s: %s",
	"explain.outside":          "no box to open",
	"explain.one":              "one box to open, %s of %s by %s, because %s",
	"explain.first":            "%d boxes to open, first %s of %s by %s, because %s",
	"explain.duty":             "the visit that %s asks for",
	"explain.pinned":           "a person set the day",
	"explain.because.odds":     "the chance of a hard opening passes %s then",
	"explain.because.required": "every box is opened once in this season",
	"explain.because.longest":  "it has then waited as long as the rules allow",
	"explain.because.above":    "a box below it is opened",

	string(closedWinter):     "winter",
	string(closedStage):      "a closed season",
	string(closedReseal):     "the days before winter",
	string(closedStandstill): "a standstill",
	string(closedOwner):      "the landowner's days",
	string(closedHive):       "leave-alone days",
	string(closedKeepers):    "days when every keeper is away",

	"weekday.0": "Sun", "weekday.1": "Mon", "weekday.2": "Tue", "weekday.3": "Wed",
	"weekday.4": "Thu", "weekday.5": "Fri", "weekday.6": "Sat",
}
