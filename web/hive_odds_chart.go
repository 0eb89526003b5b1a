package web

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// oddsChart draws the chance of a hard opening of each box of a hive over
// the coming year. A unit of the drawing is a day across and a percent up.
type oddsChart struct {
	Width, Height int
	Left, Right   int
	Lines         []oddsLine
	Grid          []oddsMark // horizontal, in percent
	Months        []oddsMark
	Visits        []oddsMark // vertical
	LimitY        int
	Limit         string
	Label         string
}

// oddsLine is one box: Points are what an SVG polyline takes.
type oddsLine struct {
	Name   string
	N      int // which colour and dash
	Points string
	EndY   int
	Said   text.Marked // what the line shows, the name marked
}

type oddsMark struct {
	At    int
	Label string
}

const (
	chartTop  = 12  // units above 100 %
	chartLeft = 48  // room for the percents, in wide letters too
	chartStep = 7   // days between points
	chartYear = 365 // days ahead
)

func chartX(days int) int { return chartLeft + days }

func chartY(odds float64) int { return chartTop + int((1-odds)*100+0.5) }

// oddsChart works the chart out; nil for a hive without boxes that seal.
func (p *apiaryRecords) oddsChart(h *scheduler.Hive) *oddsChart {
	rates := scheduler.ReplayApiary(p.club, p.apiary.ID, p.today)
	c := &oddsChart{
		Left: chartLeft, Right: chartX(chartYear), Width: chartX(chartYear) + 10, Height: chartY(0) + 24,
		LimitY: chartY(p.club.SaidLimit()), Limit: p.say.Chance(p.club.SaidLimit()),
	}
	var words text.Sentences
	for i := len(h.Boxes) - 1; i >= 0; i-- {
		rate, ok := rates.Of(h.Boxes[i].ID)
		if !ok {
			continue
		}
		line := oddsLine{Name: h.Boxes[i].Name, N: len(c.Lines) % 6}
		var points []string
		worst, worstOn := -1.0, p.today
		for _, d := range p.chartDays(h) {
			on := p.today + scheduler.Date(d)
			odds := p.oddsAfter(&rate, h.Boxes[i].ID, on)
			if odds > worst {
				worst, worstOn = odds, on
			}
			points = append(points, fmt.Sprintf("%d,%d", chartX(d), chartY(odds)))
			line.EndY = chartY(odds)
		}
		line.Points = strings.Join(points, " ")
		now := text.Chance(p.oddsAfter(&rate, h.Boxes[i].ID, p.today))
		line.Said = p.say.Marked("page.hive.line", line.Name, now, text.Chance(worst), worstOn)
		words = append(words, text.New("page.hive.chart-line", line.Name, now, text.Chance(worst), worstOn))
		c.Lines = append(c.Lines, line)
	}
	if len(c.Lines) == 0 {
		return nil
	}
	for _, percent := range []int{0, 50, 100} {
		c.Grid = append(c.Grid, oddsMark{chartY(float64(percent) / 100), fmt.Sprintf("%d %%", percent)})
	}
	for _, v := range p.plan.Visits {
		if opens(&v, h) && v.On <= p.today+chartYear {
			c.Visits = append(c.Visits, oddsMark{chartX(int(v.On - p.today)), p.say.Say("page.hive.visit-on", text.Full(v.On))})
		}
	}
	year, month, _ := p.today.Civil()
	months := p.say.ShortMonths()
	for i := 1; i <= 12; i += 2 {
		first := scheduler.NewDate(year, month+time.Month(i), 1)
		if d := int(first - p.today); d < chartYear-20 {
			_, m, _ := first.Civil()
			c.Months = append(c.Months, oddsMark{chartX(d), months[m-1]})
		}
	}
	c.Label = p.say.Say("page.hive.chart", words)
	return c
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
