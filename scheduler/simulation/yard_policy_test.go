package simulation

import (
	"math"
	"slices"
	"testing"

	"pryday/scheduler"
)

// TestImperfectKeeping checks what was done under policies that choose boxes:
// stacks are opened from the top, and not in deep winter.
func TestImperfectKeeping(t *testing.T) {
	policy, world := Planner(0.15), DefaultImperfect()
	world.Moved = 0 // so that stacks stay as they are
	for name, run := range map[string]func(k *keep){
		"planner": func(k *keep) { k.byPlanner(&policy, new(scheduler.Planner)) },
		"thumb":   func(k *keep) { k.byThumb(120) },
	} {
		for _, seed := range tenSeeds {
			for _, y := range NewImperfectClub(seed, hamlet, world).yards {
				k := y.begin(true) // whose records are what was done
				run(k)
				rules := scheduler.DefaultRules()
				season := scheduler.NewSeason(k.book.apiary.Place(), &rules)
				openings := 0
				for h := range k.book.apiary.Hives {
					boxes := k.book.apiary.Hives[h].Boxes
					for b := range boxes {
						for _, o := range boxes[b].Openings {
							if o.On < y.club.from {
								continue
							}
							openings++
							onDay := func(above scheduler.Opening) bool { return above.On == o.On }
							if b+1 < len(boxes) && !slices.ContainsFunc(boxes[b+1].Openings, onDay) {
								t.Errorf("%s: box %d opened on %s without the one above it", name, boxes[b].ID, o.On)
							}
							if !season.MayOpen(o.On) && !season.MayOpen(o.On-16) { // rain and weekends delay it a little
								t.Errorf("%s: box %d opened on %s", name, boxes[b].ID, o.On)
							}
						}
					}
				}
				if openings < 3*len(y.places) {
					t.Errorf("%s: %d openings of %d boxes in 5 years", name, openings, len(y.places))
				}
			}
		}
	}
}

// TestThumbDay works out the rule of thumb by hand.
func TestThumbDay(t *testing.T) {
	y := NewImperfectClub(5, hamlet, DefaultImperfect()).yards[0]
	k := y.begin(false)
	k.yard = &yard{club: y.club, places: y.places}
	box := k.book.box(0)
	box.SetUpOn = 1000
	for _, tc := range []struct {
		name  string
		found []scheduler.Opening
		want  scheduler.Date
	}{
		{"never opened", nil, 1100},
		{"firm", []scheduler.Opening{{On: 2000, Joint: scheduler.Firm}}, 2100},
		{"loose: half more", []scheduler.Opening{{On: 2000, Joint: scheduler.Loose}}, 2150},
		{"hard: half", []scheduler.Opening{{On: 2000, Joint: scheduler.Hard}}, 2050},
		{"stuck: half", []scheduler.Opening{{On: 2000, Joint: scheduler.Stuck}}, 2050},
		{"entered out of order", []scheduler.Opening{{On: 2000, Joint: scheduler.Stuck}, {On: 1900}}, 2050},
	} {
		if box.Openings = tc.found; k.thumbDay(100, 0) != tc.want {
			t.Errorf("%s: day %d, want %d", tc.name, k.thumbDay(100, 0), tc.want)
		}
	}
	k.places = []place{{hive: 0}, {hive: 0, level: 1}, {hive: 1}, {hive: 1, level: 1}}
	for lowest, want := range [][]bool{{true, true, false, false}, {false, true, false, false}, {false, false, true, true}, {false, false, false, true}} {
		for at, comes := range want {
			if k.anyBelow(at, func(b int) bool { return b == lowest }) != comes {
				t.Errorf("place %d comes off for %d: want %t", at, lowest, comes)
			}
		}
	}
}

// TestRandomVisits: so many in each openable season, each hive as a coin falls.
func TestRandomVisits(t *testing.T) {
	y := NewImperfectClub(6, Size{Apiaries: 1, Hives: 10, Boxes: 2, Years: 20, History: 1}, DefaultImperfect()).yards[0]
	k := y.begin(false)
	days := k.anyDays(5)
	if n := len(days); n < 95 || n > 105 || !slices.IsSorted(days) {
		t.Errorf("%d visits in 20 years", n)
	}
	opened, hives := 0, 0
	for _, on := range days {
		for h := range 10 {
			hives++
			at, above := y.at(h, 0), y.at(h, 1)
			if k.anyHives(on, at) {
				opened++
			}
			if above >= 0 && k.anyHives(on, at) != k.anyHives(on, above) {
				t.Fatal("half of a hive is opened")
			}
		}
	}
	if math.Abs(float64(opened)/float64(hives)-0.5) > 0.08 {
		t.Errorf("%d of %d hives are opened", opened, hives)
	}
}
