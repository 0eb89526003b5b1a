package records

import (
	"os"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

const demoFile = "../../testdata/demo.json"

func demo(t *testing.T) *scheduler.Club {
	t.Helper()
	data, err := os.ReadFile(demoFile)
	if err != nil {
		t.Fatal(err)
	}
	return parse(t, string(data))
}

func TestDemoClub(t *testing.T) {
	c := demo(t)
	var hives, boxes, openings, superseded, void, moved, left, inches int
	south, north, low, high := 0, 0, 0, 0
	first, last := scheduler.MaxDate, scheduler.MinDate
	hard := map[scheduler.Difficulty]int{}
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		if a.Latitude < 43 { // halfway between two centres of the band table
			south++
		} else {
			north++
		}
		if a.ElevationM < 200 {
			low++
		} else if a.ElevationM > 500 {
			high++
		}
		for h := range a.Hives {
			hives++
			left += len(a.Hives[h].LeaveAlone)
			for b := range a.Hives[h].Boxes {
				box := &a.Hives[h].Boxes[b]
				boxes++
				if len(box.Places) > 1 {
					moved++
				}
				for _, o := range box.Openings {
					if o.Supersedes != "" {
						superseded++
					}
					if o.Void {
						void++
					}
				}
				for _, o := range scheduler.Effective(box.Openings) {
					openings++
					hard[o.Difficulty()]++
					first, last = min(first, o.On), max(last, o.On)
				}
			}
		}
	}
	for i := range c.Members {
		if c.Members[i].Units == text.Inches {
			inches++
		}
		if e := c.Members[i].Email; !strings.HasSuffix(e, "@example.org") && !strings.HasSuffix(e, "@example.net") {
			t.Errorf("%s could be somebody's address", e)
		}
	}
	where := map[scheduler.Where]int{}
	for i := range c.Spare {
		p := c.Spare[i].Places
		where[p[len(p)-1].Where]++
	}
	for _, tt := range []struct {
		what        string
		got, wanted int
	}{
		{"apiaries south of the edge", south, 2},
		{"apiaries north of the edge", north, 2},
		{"low apiaries", low, 1},
		{"high apiaries", high, 1},
		{"hives", hives, 25},
		{"boxes on hives", boxes, 70},
		{"openings", openings, 400},
		{"corrections", superseded, 2},
		{"openings taken back", void, 1},
		{"boxes that moved", moved, 1},
		{"hives to leave alone", left, 1},
		{"members who read inches", inches, 1},
		{"boxes in store", where[scheduler.InStore], 1},
		{"boxes lent", where[scheduler.Lent], 1},
		{"boxes retired", where[scheduler.Retired], 1},
		{"loose", hard[scheduler.Loose], 100},
		{"hard", hard[scheduler.Hard], 20},
		{"stuck", hard[scheduler.Stuck], 5},
		{"years", int(last-first) / 365, 2},
	} {
		if tt.got < tt.wanted {
			t.Errorf("%s: %d, want %d or more", tt.what, tt.got, tt.wanted)
		}
	}
	if easy := hard[scheduler.Loose] + hard[scheduler.Light] + hard[scheduler.Firm]; hard[scheduler.Hard]+hard[scheduler.Stuck] > easy/3 {
		t.Errorf("a club that opens its boxes in time does not find this: %v", hard)
	}
}

// The story begins with mail to send: the default reminders go out seven days
// and one day before a visit.
func TestDemoBeginsWithReminders(t *testing.T) {
	embed, err := os.ReadFile("../../testdata/embed.go")
	if err != nil {
		t.Fatal(err)
	}
	_, day, _ := strings.Cut(string(embed), `DemoDay = "`)
	day, _, _ = strings.Cut(day, `"`)
	today, err := scheduler.ParseDate(day)
	if err != nil {
		t.Fatal(err)
	}
	c := demo(t)
	plan := scheduler.PlanClub(c, today)
	in := map[scheduler.Date]int{}
	for _, v := range plan.Visits {
		in[v.On-today]++
	}
	for _, days := range c.Rules.Reminders.DaysBefore {
		if in[scheduler.Date(days)] == 0 {
			t.Errorf("no visit in %d days from %s: %v", days, today, in)
		}
	}
}
