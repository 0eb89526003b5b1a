package web

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// dateSteps draw how the day of one box is made, from its records to the visit.
type dateSteps struct {
	Invented string // that the box is made up; empty for a box of the club
	Box      string
	Of       string // its hive and apiary
	BoxID    int64
	Years    *seenYears
	Records  []recordStep
	Older    int // openings that are not shown
	Paces    []paceStep
	Usual    []int     // sealing days from which a usual box is light, firm, hard, stuck
	Leaves   [2]string // share of the age that stays, scraped in part and not at all
	AgeNow   int
	Limit    string
	Chance   *oddsChart
	Reaches  text.Marked
	Moves    []string // what the rules do with the day, in their order
	Days     []dayStep
	DaysWide int // units of that drawing
	DaysHigh int
	Stages   []stripSpan
	Label    string // of the same drawing
	Why      string
	Sure     string
}

// recordStep is one opening and what it taught.
type recordStep struct {
	On, ISO string
	Degree  int
	Word    string
	Scraped string
	Age     string
	Speed   string // between which speeds the box glues, 8 times in 10
	From    int    // the same in the drawing, whose units are hundredths across
	Width   int
}

type paceStep struct{ Stage, Class, Days string }

// dayStep is one day on the way to the visit, in a row of its own.
type dayStep struct {
	At, Y  int
	Words  string
	TextX  int
	Anchor string
	Class  string
}

// put sets the words beside the day: to its right, to its left, or in the middle
// of the drawing, wherever they fit.
func (d *dayStep) put() {
	wide := letterWide * utf8.RuneCountInString(d.Words)
	switch {
	case d.At+8+wide <= yearsWide:
		d.TextX, d.Anchor = d.At+8, "start"
	case d.At-8-wide >= 0:
		d.TextX, d.Anchor = d.At-8, "end"
	default:
		d.TextX, d.Anchor = yearsWide/2, "middle"
	}
}

// seenYears draws the past of a box: the age of its seal over the stages, with a
// sign for each opening.
type seenYears struct {
	Wide, High  int
	Bottom      int
	Stages      []stripSpan
	Points      string
	Signs       []openingSign
	Grid        []oddsMark
	Years       []oddsMark
	Label       string
	LabelsRight int
}

type openingSign struct{ X, Y, Degree int }

const (
	stepsShown = 8  // openings in full
	yearsLeft  = 44 // room for the counted days
	yearsWide  = 400
	yearsHigh  = 150
	yearsTop   = 26
	speedMost  = 4.0  // the drawing of speeds ends at this and its inverse
	likely     = 1.28 // standard deviations on either side: 8 times in 10
	rowHigh    = 46
	letterWide = 9 // units, about
)

func (p *apiaryRecords) dateSteps(h *scheduler.Hive, b *scheduler.Box) *dateSteps {
	v := &dateSteps{
		Box: b.Name, Of: p.say.Say("page.found.at", h.Name, p.apiary.Name), BoxID: b.ID, Limit: p.inSoMany(p.club.SaidLimit()),
		Leaves: [2]string{percent(p.say, scheduler.ScrapedPart.Remains()), percent(p.say, scheduler.ScrapedNone.Remains())},
	}
	for d := scheduler.Light; d <= scheduler.Stuck; d++ {
		v.Usual = append(v.Usual, int(scheduler.UsualAge(d)+0.5))
	}
	for stage, rule := range p.club.Rules.Stages {
		s := scheduler.Stage(stage)
		v.Paces = append(v.Paces, paceStep{p.say.Word(s), "st-" + s.String(), p.say.Number(7*rule.Pace, 1)})
	}
	opened := openedDays(b, p.today)
	v.Older = max(len(opened)-stepsShown, 0)
	opened = opened[v.Older:]
	p.addRecords(v, b, opened)
	v.Years = p.seenYears(b, opened)
	state, rate := p.states[b.ID], p.rateOn(b.ID, p.today)
	v.AgeNow = int(rate.Age(p.season, p.today) + 0.5)
	v.Chance = p.chanceUnvisited(h, b, state)
	v.Reaches = p.reaches(state)
	v.Moves = p.moves()
	if state != nil {
		why := scheduler.ExplainBox(p.club, p.plan, state)
		v.Why, v.Sure = sentence(p.say.Tell(why.Text())), p.say.Tell(why.Sure())
		p.addDays(v, state, why.Visit)
	}
	return v
}

// openedDays are the openings of a box that count, one a day: the one that decides.
func openedDays(b *scheduler.Box, today scheduler.Date) []scheduler.Opening {
	var out []scheduler.Opening
	for _, o := range scheduler.Effective(b.Openings) {
		if o.On > today || len(out) > 0 && out[len(out)-1].On == o.On {
			continue
		}
		out = append(out, *b.OpeningOn(o.On))
	}
	return out
}

// rateOn is what the records until a day say of a box.
func (p *apiaryRecords) rateOn(box int64, until scheduler.Date) scheduler.BoxRate {
	rate, _ := scheduler.ReplayApiary(p.club, p.apiary.ID, until).Of(box)
	return rate
}

func (p *apiaryRecords) addRecords(v *dateSteps, b *scheduler.Box, opened []scheduler.Opening) {
	for _, o := range opened {
		age := p.rateOn(b.ID, o.On-1)
		rate := p.rateOn(b.ID, o.On)
		low, high := speeds(&rate)
		step := recordStep{
			On: p.say.PlainDay(o.On), ISO: o.On.String(), Degree: int(o.Difficulty()), Word: p.say.Word(o.Difficulty()),
			Age:   p.say.Say("guide.dates.counted", int(age.Age(p.season, o.On)+0.5)),
			Speed: p.say.Say("guide.dates.speed", text.Number{Value: low, Decimals: 1}, text.Number{Value: high, Decimals: 1}),
			From:  speedX(low), Width: max(speedX(high)-speedX(low), 2),
		}
		if o.Scraped != "" {
			step.Scraped = p.say.Say("guide.dates.scraped", o.Scraped)
		}
		if o.LeftShut {
			step.Word = p.say.Say("page.hive.left-shut")
		}
		v.Records = append(v.Records, step)
	}
}

// speeds are those between which a box glues, against a usual one.
func speeds(rate *scheduler.BoxRate) (low, high float64) {
	sd := math.Sqrt(rate.Variance)
	return math.Exp(rate.Mean - likely*sd), math.Exp(rate.Mean + likely*sd)
}

func speedX(speed float64) int {
	at := 50 + 50*math.Log(speed)/math.Log(speedMost)
	return int(min(max(at, 0), 100) + 0.5)
}

// seenYears draws the age of the seal from the first opening that is shown to today.
func (p *apiaryRecords) seenYears(b *scheduler.Box, opened []scheduler.Opening) *seenYears {
	first := opened[0].On - 14
	days := float64(max(p.today-first, 30))
	x := func(on scheduler.Date) int { return yearsLeft + int(float64(yearsWide)*float64(on-first)/days+0.5) }
	y := &seenYears{Wide: yearsLeft + yearsWide + 14, High: yearsTop + yearsHigh + 24, Bottom: yearsTop + yearsHigh}
	type point struct {
		on  scheduler.Date
		age float64
	}
	var points []point
	from := first
	for i := 0; i <= len(opened); i++ {
		until := p.today
		if i < len(opened) {
			until = opened[i].On
		}
		rate := p.rateOn(b.ID, from)
		for on := from; on < until; on += chartStep {
			points = append(points, point{on, rate.Age(p.season, on)})
		}
		points = append(points, point{until, rate.Age(p.season, until)})
		from = until
	}
	most := scheduler.UsualAge(scheduler.Firm)
	for _, q := range points {
		most = max(most, q.age)
	}
	up := func(age float64) int { return y.Bottom - int(float64(yearsHigh)*age/most+0.5) }
	drawn := make([]string, len(points))
	for i, q := range points {
		drawn[i] = fmt.Sprintf("%d,%d", x(q.on), up(q.age))
	}
	y.Points = strings.Join(drawn, " ")
	for _, o := range opened {
		before := p.rateOn(b.ID, o.On-1)
		y.Signs = append(y.Signs, openingSign{x(o.On), max(up(before.Age(p.season, o.On))-12, 12), int(o.Difficulty())})
	}
	for _, span := range p.stageSpans(first, p.today) {
		from := x(first + scheduler.Date(span.From))
		y.Stages = append(y.Stages, stripSpan{Class: span.Class, From: from, Width: max(x(first+scheduler.Date(span.To))-from, 1), Title: span.Title})
	}
	for _, age := range []int{50, 100, 200, 300, 400, 600} {
		if a := up(float64(age)); a > yearsTop && (age%100 == 0 || most < 200) {
			y.Grid = append(y.Grid, oddsMark{At: a, Label: itoa(int64(age))})
		}
	}
	for year := first.Year() + 1; year <= p.today.Year(); year++ {
		y.Years = append(y.Years, oddsMark{At: x(scheduler.NewDate(year, 1, 1)), Label: itoa(int64(year))})
	}
	last := points[len(points)-1]
	y.Label = p.say.Say("guide.dates.age-label", b.Name, int(last.age+0.5), len(opened))
	return y
}

// chanceUnvisited draws the chance of a hard opening while nobody opens the box.
func (p *apiaryRecords) chanceUnvisited(h *scheduler.Hive, b *scheduler.Box, state *scheduler.BoxState) *oddsChart {
	alone, single := *p, *h
	alone.plan = &scheduler.Plan{Today: p.today}
	single.Boxes = []scheduler.Box{*b}
	c := alone.oddsChart(&single)
	if c == nil || state == nil || state.OddsDay < p.today || state.OddsDay > p.today+chartYear {
		return c
	}
	mark := oddsMark{At: chartX(int(state.OddsDay - p.today)), Label: p.say.Terse(state.OddsDay.Year()).PlainDay(state.OddsDay), Anchor: "middle"}
	switch {
	case mark.At > c.Right-dayApart:
		mark.Anchor = "end"
	case mark.At < c.Left+dayApart:
		mark.Anchor = "start"
	}
	c.Visits = []oddsMark{mark}
	return c
}

func (p *apiaryRecords) reaches(state *scheduler.BoxState) text.Marked {
	switch {
	case state == nil || state.OddsDay == 0:
		return p.say.Marked("guide.dates.reaches-never")
	case state.OddsDay < p.today:
		return p.say.Marked("guide.dates.reached", state.OddsDay)
	}
	return p.say.Marked("guide.dates.reaches", state.OddsDay)
}

// moves are the rules that move a day, in the order in which they do.
func (p *apiaryRecords) moves() (out []string) {
	rules := &p.club.Rules
	out = append(out, p.say.Say("guide.dates.longest", rules.MaxDays))
	var asks, shut []text.Text
	for stage, rule := range rules.Stages {
		word := text.New(scheduler.Stage(stage).WordKey())
		if rule.Required == scheduler.OpeningRequired {
			asks = append(asks, word)
		}
		if !rule.Open {
			shut = append(shut, word)
		}
	}
	if len(asks) > 0 {
		out = append(out, p.say.Say("guide.dates.required", asks))
	}
	out = append(out, p.say.Say("guide.dates.least", rules.MinDays))
	if len(shut) > 0 {
		out = append(out, p.say.Say("guide.dates.shut", shut))
	}
	out = append(out, p.say.Say("guide.dates.reseal", rules.ResealDays), p.say.Say("guide.dates.spring", rules.SpringDays),
		p.say.Say("guide.dates.trip"), p.say.Say("guide.dates.people"))
	return out
}

// addDays draws the days between the chance and the visit, each in a row.
func (p *apiaryRecords) addDays(v *dateSteps, state *scheduler.BoxState, visit *scheduler.Visit) {
	type named struct {
		key, class string
		on         scheduler.Date
	}
	days := []named{
		{"guide.dates.day-odds", "odds", state.OddsDay},
		{"guide.dates.day-longest", "longest", state.Since + scheduler.Date(p.club.Rules.MaxDays)},
		{"guide.dates.day-due", "due", state.Due},
	}
	if visit != nil {
		days = append(days, named{"guide.dates.day-visit", "visit", visit.On})
	}
	days = slices.DeleteFunc(days, func(d named) bool { return d.on == 0 })
	if len(days) == 0 {
		return
	}
	latest := slices.MaxFunc(days, func(a, b named) int { return cmp.Compare(a.on, b.on) }).on
	first := min(p.today, slices.MinFunc(days, func(a, b named) int { return cmp.Compare(a.on, b.on) }).on) - 7
	span := float64(max(latest-first, 60) + 7)
	v.DaysWide, v.DaysHigh = yearsWide, rowHigh*len(days)+8
	x := func(on scheduler.Date) int { return int(float64(yearsWide)*float64(on-first)/span + 0.5) }
	var says []text.Text
	for i, d := range days {
		word := text.New(d.key, d.on)
		says = append(says, word)
		step := dayStep{At: x(d.on), Y: rowHigh * i, Words: capital(p.say.Tell(word)), Class: d.class}
		step.put()
		v.Days = append(v.Days, step)
	}
	for _, s := range p.stageSpans(first, first+scheduler.Date(span)) {
		from := x(first + scheduler.Date(s.From))
		v.Stages = append(v.Stages, stripSpan{Class: s.Class, From: from, Width: max(x(first+scheduler.Date(s.To))-from, 1), Title: s.Title})
	}
	v.Label = p.say.Say("guide.dates.days-label", says)
}
