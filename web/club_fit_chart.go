package web

import (
	"pryday/scheduler"
	"pryday/scheduler/text"
)

// fitChart draws how often hard openings came against how often they were said
// to. A unit of the drawing is half a percent either way.
type fitChart struct {
	Width, Height int
	Left, Right   int
	Top, Bottom   int
	Grid, Scale   []oddsMark // across, and below
	Points        []fitPoint
	Label, Said   string
}

// fitPoint is one tenth: where it was said to lie and was found to, and within
// what that is true 95 times in 100.
type fitPoint struct {
	X, Y, Low, High int
	Off             bool
	Label           string
}

func fitX(p float64) int { return fitLeft + int(200*p+0.5) }

// fitLeft has room for the widest percentage beside the drawing.
const fitLeft = 56

func fitY(p float64) int { return chartTop + int(200*(1-p)+0.5) }

func newFitChart(r *scheduler.Reliability, say *text.Speaker) *fitChart {
	c := &fitChart{
		Left: fitX(0), Right: fitX(1), Top: fitY(1), Bottom: fitY(0), Width: fitX(1) + 30, Height: fitY(0) + 42,
		Label: say.Say("page.fit.chart"), Said: say.Say("page.fit.axis-said"),
	}
	for _, p := range []float64{0, 0.5, 1} {
		label := percent(say, p)
		c.Grid = append(c.Grid, oddsMark{At: fitY(p), Label: label})
		c.Scale = append(c.Scale, oddsMark{At: fitX(p), Label: label})
	}
	for _, s := range r.Tenths {
		if s.Openings > 0 {
			c.Points = append(c.Points, fitPoint{
				X: fitX(s.Said), Y: fitY(s.Found()), Low: fitY(s.Low), High: fitY(s.High), Off: !s.Says(),
				Label: say.Say("page.fit.point", s.Openings, percent(say, s.Said), percent(say, s.Found())),
			})
		}
	}
	return c
}
