package web

import (
	"fmt"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
)

// boxGaps are the gaps of a box over time: a table of days by places, and a
// drawing of each place that was measured more than once.
type boxGaps struct {
	Places []string
	Rows   []gapsOn
	Lines  []gapChart
	Band   string // bee space, by the club's rules
}

type gapsOn struct {
	On, ISO string
	Cells   []gapCell
}

// gapCell is what was measured on a day at a place; without a size nothing was.
type gapCell struct {
	Size, Verdict string
	Wrong         bool
}

// gapChart draws one gap over time, with bee space behind. A unit of the
// drawing is a hundredth of the time across and a tenth of a millimetre up.
type gapChart struct {
	Place         string
	From, To      string // days
	Points        string
	Dots          [][2]int
	High          int
	BandY, BandMM int
}

const (
	gapChartWidth = 200
	gapChartMM    = 15 // that a drawing shows at least
	gapChartEdge  = 6
)

// boxGaps collects what was measured; nil for nothing.
func (p *apiaryRecords) boxGaps(h *scheduler.Hive, b *scheduler.Box) *boxGaps {
	openings := scheduler.Effective(b.Openings)
	var places []scheduler.GapPlace
	for _, at := range scheduler.GapPlaces {
		if slices.ContainsFunc(openings, func(o scheduler.Opening) bool { return measured(&o, at) }) {
			places = append(places, at)
		}
	}
	if len(places) == 0 {
		return nil
	}
	limits := p.club.Rules.GapMM
	out := &boxGaps{Band: p.say.Say("page.box.bee-space", text.Length(limits.Least), text.Length(limits.Most))}
	for _, at := range places {
		out.Places = append(out.Places, p.say.Word(at))
	}
	for _, o := range slices.Backward(openings) {
		if len(o.Gaps) > 0 {
			out.Rows = append(out.Rows, p.gapsOn(&o, places))
		}
	}
	for _, t := range advice.GapTrends(b, p.today) {
		if t.Points[0].On != t.Points[len(t.Points)-1].On {
			out.Lines = append(out.Lines, p.gapChart(&t))
		}
	}
	return out
}

func measured(o *scheduler.Opening, at scheduler.GapPlace) bool {
	return slices.ContainsFunc(o.Gaps, func(g scheduler.Gap) bool { return g.At == at })
}

func (p *apiaryRecords) gapsOn(o *scheduler.Opening, places []scheduler.GapPlace) gapsOn {
	row := gapsOn{On: p.say.PlainDay(o.On), ISO: o.On.String()}
	for _, at := range places {
		var cell gapCell
		for _, g := range o.Gaps {
			if g.At != at {
				continue
			}
			verdict := advice.JudgeGap(g, p.club.Rules.GapMM)
			cell = gapCell{Size: p.gapSize(g), Verdict: p.say.Word(verdict), Wrong: verdict.Wrong() || verdict.Borderline()}
		}
		row.Cells = append(row.Cells, cell)
	}
	return row
}

// gapChart draws the lengths since the last repair.
func (p *apiaryRecords) gapChart(t *advice.GapTrend) gapChart {
	most := float64(gapChartMM)
	for _, x := range t.Points {
		most = max(most, x.MM+1)
	}
	limits := p.club.Rules.GapMM
	y := func(mm float64) int { return int(10*(most-mm) + 0.5) }
	first, last := t.Points[0].On, t.Points[len(t.Points)-1].On
	c := gapChart{
		Place: p.say.Word(t.At), From: p.say.PlainDay(first), To: p.say.PlainDay(last),
		High: y(0), BandY: y(limits.Most), BandMM: y(limits.Least) - y(limits.Most),
	}
	var points []string
	for _, x := range t.Points {
		dot := [2]int{gapChartEdge + int(x.On-first)*(gapChartWidth-2*gapChartEdge)/int(last-first), y(x.MM)}
		c.Dots, points = append(c.Dots, dot), append(points, fmt.Sprintf("%d,%d", dot[0], dot[1]))
	}
	c.Points = strings.Join(points, " ")
	return c
}
