package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// TestFitPageHoldsWhatWasSaid: before the first opening nothing was said; what is
// recorded on a form stands on the page with what was said of it before.
func TestFitPageHoldsWhatWasSaid(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Brida")
	b.get("/fit").says(http.StatusOK, "has not said anything before an opening of this club yet", "In the last 12 months:")
	h := c.club().Apiaries[1].Hives[0]
	said := ""
	for _, s := range scheduler.PlanClub(c.club(), today).Boxes {
		if s.BoxID == h.Boxes[0].ID {
			said = fmt.Sprintf("%.0f", 100*s.Odds) + " %"
		}
	}
	b.follow("/hive/"+itoa(h.ID)+"/record", fields("box", itoa(h.Boxes[0].ID), "on", today.String(), "joint", "3", "frames", "3", "scraped", "all", "sure", "yes")).
		says(http.StatusOK, "Saved.")
	page := b.get("/fit")
	page.says(http.StatusOK, "1 opening from "+"1 June 2027", said, "100 %", "The odds are said as the model makes them", "does not show yet")
	if n := strings.Count(string(page.body), "<circle"); n != 1 {
		t.Errorf("%d points in the drawing, want 1", n)
	}
}

// TestFitView works the view out from a record by hand: 100 openings, of which what
// was said of the likely ones was too much.
func TestFitView(t *testing.T) {
	day := scheduler.NewDate(2027, 5, 1)
	box := scheduler.Box{ID: 1, SetUpOn: day - 400}
	for i := range 100 {
		said := &scheduler.Forecast{Hard: 0.05, ModelHard: 0.05, Openings: 3}
		how := scheduler.Light
		if i < 40 {
			said.Hard, said.Stuck, said.Openings = 0.5, 0.2, 7
			if i%10 == 0 {
				how = scheduler.Hard
			}
		}
		box.Openings = append(box.Openings, scheduler.Opening{ID: fmt.Sprint(i), On: day + scheduler.Date(i), Joint: how, Said: said})
	}
	club := &scheduler.Club{Rules: scheduler.DefaultRules(), Spare: []scheduler.Box{box}}
	say := text.In("en", text.Millimetres)
	v := newFitView(club, day+200, say)
	if !v.Any || len(v.Hard.Rows) != 2 || len(v.Chart.Points) != 2 || len(v.Known.Rows) != 2 {
		t.Fatalf("%+v", v)
	}
	low, high := v.Hard.Rows[0], v.Hard.Rows[1]
	if low.Off && low.Found != "0\u00a0%" || !high.Off || high.Said != "50\u00a0%" || high.Found != "10\u00a0%" || high.Openings != 40 {
		t.Errorf("rows %+v and %+v", low, high)
	}
	if p := v.Chart.Points[1]; p.X != fitX(0.5) || p.Y != fitY(0.1) || p.Low <= p.Y || p.High >= p.Y || !p.Off {
		t.Errorf("point %+v", p)
	}
	club.Recalibration = scheduler.Recalibration{MadeOn: day, Openings: 120, Hard: scheduler.Curve{Slope: 1}, Stuck: scheduler.Curve{Slope: 1}}
	if got := say.Tell(newFitView(club, day+200, say).Corrected); !strings.Contains(got, "corrected by 120 openings") {
		t.Errorf("corrected: %s", got)
	}
}
