package web

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// oddsChart draws the chance of a hard opening of each box of a hive over
// the coming year. A unit of the drawing is a day across. Upwards it is the logit
// of the chance, so that 1 in 20 and 1 in 10 lie as far apart as 1 in 3 and 1 in 2: the
// club's limit, which is usually low, lies where it can be seen.
type oddsChart struct {
	Width, Height int
	Left, Right   int
	Top, Bottom   int
	Lines         []oddsLine
	Grid          []oddsMark // horizontal, in chances
	Months        []oddsMark
	Visits        []oddsMark // vertical
	Stages        []stripSpan
	LimitY        int
	Deep, Over    int // units of the drawing in all, and above the limit
	Limit         string
	LimitShort    string
	Label         string
}

// oddsLine is one box: Points are what an SVG polyline takes.
type oddsLine struct {
	Name   string
	N      int // which colour and dash
	Points string
	Said   text.Marked // what the line shows, the name marked
}

type oddsMark struct {
	At     int
	Label  string
	Anchor string // of the label: start, middle or end
}

const (
	chartTop  = 12  // units above 100 %
	chartLeft = 48  // room for the percents, in wide letters too
	chartStep = 7   // days between points
	chartYear = 365 // days ahead

	oddsTop    = 20               // units above the greatest chance, for the days of visits
	oddsLeft   = 78               // room for the chances, "1 von 50" too
	oddsHigh   = 190              // units from the least chance to the greatest
	oddsLeast  = text.WorthSaying // chances beyond these are drawn as these
	oddsMost   = 0.9
	labelApart = 16 // units between two lines of words
	dayApart   = 56 // units between the days of two visits
)

// oddsScale are the chances beside the drawing, 1 in so many.
var oddsScale = []int{50, 20, 10, 5, 3, 2}

func chartX(days int) int { return oddsLeft + days }

func chartY(odds float64) int {
	logit := func(p float64) float64 { return math.Log(p / (1 - p)) }
	least, most := logit(oddsLeast), logit(oddsMost)
	at := logit(min(max(odds, oddsLeast), oddsMost))
	return oddsTop + int(oddsHigh*(most-at)/(most-least)+0.5)
}

// oddsChart works the chart out; nil for a hive without boxes that seal.
func (p *apiaryRecords) oddsChart(h *scheduler.Hive) *oddsChart {
	rates := scheduler.ReplayApiary(p.club, p.apiary.ID, p.today)
	limit := p.club.SaidLimit()
	c := &oddsChart{
		Left: oddsLeft, Right: chartX(chartYear), Width: chartX(chartYear) + 10, Height: chartY(oddsLeast) + 24,
		Top: chartY(oddsMost), Bottom: chartY(oddsLeast), LimitY: chartY(limit), Limit: p.say.Chance(limit), LimitShort: p.inSoMany(limit),
	}
	c.Deep, c.Over = c.Bottom-c.Top, c.LimitY-c.Top
	var words text.Sentences
	for i := len(h.Boxes) - 1; i >= 0; i-- {
		rate, ok := rates.Of(h.Boxes[i].ID)
		if !ok {
			continue
		}
		line, said := p.oddsLine(h, &h.Boxes[i], &rate, len(c.Lines)%6)
		words, c.Lines = append(words, said), append(c.Lines, line)
	}
	if len(c.Lines) == 0 {
		return nil
	}
	for _, n := range oddsScale {
		if y := chartY(1 / float64(n)); max(y-c.LimitY, c.LimitY-y) >= labelApart {
			c.Grid = append(c.Grid, oddsMark{At: y, Label: p.say.Say("explain.in", 1, n)})
		}
	}
	c.addTime(p, h)
	c.Label = p.say.Say("page.hive.chart", words)
	return c
}

// oddsLine draws one box, and says what the line shows.
func (p *apiaryRecords) oddsLine(h *scheduler.Hive, b *scheduler.Box, rate *scheduler.BoxRate, n int) (oddsLine, text.Text) {
	var points []string
	worst, worstOn := -1.0, p.today
	for _, d := range p.chartDays(h) {
		on := p.today + scheduler.Date(d)
		odds := p.oddsAfter(rate, b.ID, on)
		if odds > worst {
			worst, worstOn = odds, on
		}
		points = append(points, fmt.Sprintf("%d,%d", chartX(d), chartY(odds)))
	}
	now := text.Chance(p.oddsAfter(rate, b.ID, p.today))
	line := oddsLine{
		Name: b.Name, N: n, Points: strings.Join(points, " "),
		Said: p.say.Marked("page.hive.line", b.Name, now, text.Chance(worst), worstOn),
	}
	return line, text.New("page.hive.chart-line", b.Name, now, text.Chance(worst), worstOn)
}

// addTime adds the stages, months and visits of the year ahead.
func (c *oddsChart) addTime(p *apiaryRecords, h *scheduler.Hive) {
	c.Stages = p.stageSpans(p.today, p.today+chartYear)
	last := -dayApart
	for _, v := range p.plan.Visits {
		if !opens(&v, h) || v.On > p.today+chartYear {
			continue
		}
		mark := oddsMark{At: chartX(int(v.On - p.today)), Anchor: "middle"}
		if mark.At > c.Right-dayApart/2 {
			mark.Anchor = "end"
		}
		if mark.At-last >= dayApart {
			mark.Label, last = p.say.Terse(v.On.Year()).PlainDay(v.On), mark.At
		}
		c.Visits = append(c.Visits, mark)
	}
	year, month, _ := p.today.Civil()
	months := p.say.ShortMonths()
	for i := 1; i <= 12; i += 2 {
		first := scheduler.NewDate(year, month+time.Month(i), 1)
		if d := int(first - p.today); d < chartYear-20 {
			_, m, _ := first.Civil()
			c.Months = append(c.Months, oddsMark{At: chartX(d), Label: months[m-1]})
		}
	}
}

// inSoMany says a chance as people do, without a word for it: 1 in 5.
func (p *apiaryRecords) inSoMany(odds float64) string {
	if odds < text.WorthSaying {
		return p.say.Say("page.hive.below", p.say.InSoMany(text.WorthSaying))
	}
	return p.say.InSoMany(odds)
}

// chartDays are the days that a line is drawn through: every seventh, and each
// visit with the day after it.
func (p *apiaryRecords) chartDays(h *scheduler.Hive) []int {
	var days []int
	for d := 0; d <= chartYear; d += chartStep {
		days = append(days, d)
	}
	for i := range p.plan.Visits {
		if d := int(p.plan.Visits[i].On - p.today); opens(&p.plan.Visits[i], h) && d < chartYear {
			days = append(days, d, d+1)
		}
	}
	slices.Sort(days)
	return slices.Compact(days)
}

// oddsAfter are the odds of a hard opening on a day, when every visit planned
// before it takes place.
func (p *apiaryRecords) oddsAfter(rate *scheduler.BoxRate, box int64, on scheduler.Date) float64 {
	var last scheduler.Date
	for i := range p.plan.Visits {
		v := &p.plan.Visits[i]
		if v.On >= on {
			break
		}
		for _, b := range v.Boxes {
			if b.BoxID == box {
				last = v.On
			}
		}
	}
	if last == 0 {
		return p.club.Recalibration.HardOdds(rate.Odds(p.season, on, scheduler.Hard))
	}
	return p.club.Recalibration.HardOdds(scheduler.Odds(p.season.SealingDays(last, on), rate.Mean, rate.VarianceOn(on), scheduler.Hard))
}

func opens(v *scheduler.Visit, h *scheduler.Hive) bool {
	for _, b := range v.Boxes {
		if h.Box(b.BoxID) != nil {
			return true
		}
	}
	return false
}
