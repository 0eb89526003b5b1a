package scheduler

import "testing"

// TestHarderIsNeverLater raises the difficulty of one recorded opening.
func TestHarderIsNeverLater(t *testing.T) {
	sooner := 0
	for seed := range uint64(1500) {
		r := newDice(seed)
		today := testToday + Date(r.IntN(365))
		c := r.club(r.between(1, 10), today)
		if r.chance(0.5) {
			r.trouble(c, today)
		}
		a := &c.Apiaries[0]
		before := PlanClub(c, today)
		hive := &a.Hives[r.IntN(len(a.Hives))]
		box := &hive.Boxes[r.IntN(len(hive.Boxes))]
		if len(box.Openings) == 0 {
			continue
		}
		o := &box.Openings[r.IntN(len(box.Openings))]
		o.Joint = o.Difficulty() + 1
		if o.Joint > Stuck {
			continue
		}
		after := PlanClub(c, today)
		for i := range after.Boxes {
			was, is := before.Boxes[i], after.Boxes[i]
			if is.BoxID == box.ID && is.Due > was.Due {
				t.Fatalf("seed %d: box %d due %s, with a harder opening on %s only %s (%+v, %+v)",
					seed, is.BoxID, was.Due, o.On, is.Due, was, is)
			}
			if is.BoxID == box.ID && is.Due < was.Due {
				sooner++
			}
		}
	}
	if sooner < 200 {
		t.Errorf("only %d due days came sooner", sooner)
	}
}
