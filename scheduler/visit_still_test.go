package scheduler

import (
	"fmt"
	"testing"
)

// makeVisits writes down the visits before a day to which people were asked to
// go, with all boxes light.
func makeVisits(c *Club, today Date) (touched map[int64]bool) {
	touched = map[int64]bool{}
	for i := range c.Visits {
		v := &c.Visits[i]
		if !v.Status.Open() || v.On >= today {
			continue
		}
		touched[v.ApiaryID] = true
		for _, vb := range v.Boxes {
			if _, box := c.Apiary(v.ApiaryID).Box(vb.BoxID); len(v.Who) > 0 {
				box.Openings = append(box.Openings, Opening{ID: fmt.Sprint("made ", v.ID), On: v.On, Joint: Light, Frames: Light, Scraped: ScrapedAll})
			}
		}
	}
	return touched
}

// TestTentativeVisitsHoldStill: from one night to the next, where nothing but
// the day is another, hardly a tentative visit moves, also where people are
// short of time and each could have the others' days.
func TestTentativeVisitsHoldStill(t *testing.T) {
	for _, tt := range []struct {
		name  string
		club  *Club
		moved float64 // at most, of all nights' tentative visits of apiaries where nobody was
	}{
		{"far too much for one", keptBy(newDice(4).region(40, 8), 1), 0.065},
		{"much for three", keptBy(newDice(4).region(40, 8), 1, 2, 3), 0.005},
		{"much for one", keptBy(newDice(5).region(12, 18), 1), 0.007},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c, moved, all := tt.club, 0, 0
			var p Planner
			remember(c, p.PlanClub(c, testToday))
			for today := testToday + 1; today <= testToday+40; today++ {
				touched, was := makeVisits(c, today), map[int64]Date{}
				for i := range c.Visits {
					if v := &c.Visits[i]; v.Status == Tentative && v.On > today && !touched[v.ApiaryID] {
						was[v.ID] = v.On
					}
				}
				plan := p.PlanClub(c, today)
				for _, v := range plan.Visits {
					if on, ok := was[v.ID]; ok && on != v.On {
						moved++
					}
				}
				all += len(was)
				remember(c, plan)
			}
			if share := float64(moved) / float64(all); all < 1000 || share > tt.moved {
				t.Errorf("%d of %d moved, %.4f; want %.4f at most", moved, all, share, tt.moved)
			}
		})
	}
}

// TestAVisitThatStandsIsHeldAsItWillBe: of two apiaries of one member, whose
// visits stand a little beside their best days, one is planned twice on some
// days. In the clubs listed it is a visit that only now becomes confirmed
// which the second plan holds otherwise.
func TestAVisitThatStandsIsHeldAsItWillBe(t *testing.T) {
	for seed, last := range map[uint64]int{86: 1, 139: 2, 393: 1} {
		r := newDice(seed)
		c := keptBy(r.region(2, 12), 1)
		c.Members[0].Prefs.HoursADay = 4
		remember(c, PlanClub(c, testToday))
		for k := range last + 1 {
			today := testToday + Date(1+k*5)
			makeVisits(c, today)
			for i := range c.Visits {
				if v := &c.Visits[i]; v.Status == Tentative && r.chance(0.3) {
					v.On += Date(r.between(-3, 3))
				}
			}
			one := c.Apiaries[k%2].ID
			remember(c, PlanApiary(c, one, today))
			again := PlanApiary(c, one, today)
			for _, v := range again.Visits {
				if was := find(c.Visits, v.ID); k == last && (was.On != v.On || was.Sequence != v.Sequence) {
					t.Errorf("club %d: visit %d of %s is on %s in the second plan", seed, v.ID, was.On, v.On)
				}
			}
			remember(c, PlanClub(c, today))
		}
	}
}
