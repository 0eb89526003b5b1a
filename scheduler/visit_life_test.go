package scheduler

import (
	"fmt"
	"slices"
	"testing"
)

// TestTwoYearsDayByDay lives with the plan: every day is planned and stored,
// most visits are made, some boxes are left out, some visits are put off.
func TestTwoYearsDayByDay(t *testing.T) {
	made, quiet, moved := 0, 0, 0
	for seed := range uint64(6) {
		r := newDice(seed)
		c := r.club(10, testToday)
		if seed%2 == 0 {
			r.trouble(c, testToday)
		}
		var p Planner
		recorded := true
		for today := testToday; today < testToday+730; today++ {
			before := slices.Clone(c.Visits)
			plan := p.PlanApiary(c, 5, today)
			remember(c, plan)
			if b := lost(before, c.Visits, today); b != "" {
				t.Fatalf("seed %d, %s: %s", seed, today, b)
			}
			if len(plan.Visits) == 0 {
				t.Fatalf("seed %d, %s: no visit in the year to come", seed, today)
			}
			if !recorded {
				for _, v := range before {
					if v.Status != Confirmed || v.On < today {
						continue
					}
					quiet++
					if now := find(c.Visits, v.ID); now.On != v.On || now.Status == Cancelled {
						moved++
					}
				}
			}
			recorded = r.live(c, today)
			if recorded {
				made++
			}
		}
	}
	if made < 50 || quiet < 1000 {
		t.Errorf("only %d visits made and %d quiet days", made, quiet)
	}
	if moved*200 > quiet {
		t.Errorf("%d of %d confirmed visits moved on days without news", moved, quiet)
	}
}

// live does what people do on a day: it makes today's visit or puts it off. It
// reports whether anything was written down.
func (r dice) live(c *Club, today Date) bool {
	a := &c.Apiaries[0]
	for i := range c.Visits {
		v := &c.Visits[i]
		if v.On != today || !v.Status.Open() {
			continue
		}
		switch x := r.Float64(); {
		case x < 0.1: // nobody goes
			return false
		case x < 0.2:
			if days := RainedOff(c, v, today, 1); len(days) > 0 {
				v.On, v.Pinned = days[0], true
				v.Sequence++
				return true
			}
		}
		for h := range a.Hives {
			for b := range a.Hives[h].Boxes {
				box := &a.Hives[h].Boxes[b]
				if v.Lists(box.ID) && !r.chance(0.1) {
					box.Openings = append(box.Openings, Opening{
						ID: fmt.Sprintf("%d-%s", box.ID, today), On: today,
						Joint: Difficulty(r.IntN(4)), Frames: NotTried, Scraped: ScrapedAll,
					})
				}
			}
		}
		if len(v.Boxes) == 0 {
			v.Status = Done
		}
		return true
	}
	return false
}

func find(visits []Visit, id int64) *Visit {
	return &visits[slices.IndexFunc(visits, func(v Visit) bool { return v.ID == id })]
}

// lost says what is wrong with the records after a day's planning.
func lost(before, after []Visit, today Date) string {
	for _, was := range before {
		now := find(after, was.ID)
		switch {
		case now.UID != was.UID:
			return fmt.Sprintf("visit %d has another UID", was.ID)
		case now.Sequence < was.Sequence:
			return fmt.Sprintf("visit %d has a lower sequence", was.ID)
		case was.Pinned && was.Status.Open() && was.On >= today && now.On != was.On:
			return fmt.Sprintf("visit %d of a person moved from %s to %s", was.ID, was.On, now.On)
		case (was.On != now.On || was.Status != now.Status) && now.Sequence == was.Sequence:
			return fmt.Sprintf("visit %d changed unsaid", was.ID)
		case was.Status.Open() && now.Status == Cancelled && was.On < today:
			return fmt.Sprintf("visit %d of the past was cancelled", was.ID)
		case now.Status.Open() && now.On < today-nearDays:
			return fmt.Sprintf("visit %d of %s is still open", was.ID, now.On)
		}
	}
	return ""
}
