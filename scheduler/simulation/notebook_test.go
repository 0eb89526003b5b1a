package simulation

import (
	"math"
	"slices"
	"testing"

	"pryday/scheduler"
)

// TestEntriesArrive: an entry counts from the day on which it arrives, or from
// the announcement of a visit for those whom that reminds.
func TestEntriesArrive(t *testing.T) {
	y := NewImperfectClub(3, hamlet, DefaultImperfect()).yards[0]
	book := y.begin(false).book
	book.pending = nil
	box := book.box(0)
	before := len(box.Openings)
	day := y.club.from
	book.pending = []entry{
		{arrives: day + 3, boxID: box.ID, opening: scheduler.Opening{On: day}},
		{arrives: day + 9, boxID: box.ID, asked: true, opening: scheduler.Opening{On: day}},
		{arrives: day + 20, boxID: box.ID, opening: scheduler.Opening{On: day}},
	}
	for _, step := range []struct {
		today    scheduler.Date
		announce bool
		entered  int
		next     scheduler.Date
	}{
		{day + 2, false, 0, day + 3},
		{day + 3, false, 1, day + 9},
		{day + 5, true, 2, day + 20},
		{day + 19, true, 2, day + 20},
		{day + 20, false, 3, math.MaxInt32},
	} {
		if step.announce {
			if any := book.announce(step.today); any != (step.today == day+5) {
				t.Errorf("day %d: announced to somebody: %t", step.today-day, any)
			}
		} else {
			book.arrive(step.today)
		}
		if got := len(book.box(0).Openings) - before; got != step.entered || book.next(step.today) != step.next {
			t.Errorf("day %d: %d entered, the next on %v", step.today-day, got, book.next(step.today)-day)
		}
	}
}

// TestLateEntries wait a day and, on average, LateMean more; the mean of what
// wrong dates are off is a few days, and none lies after its entry.
func TestLateEntries(t *testing.T) {
	a := DefaultImperfect()
	for _, k := range keepAll(only(func(from, to *Imperfect) { to.Late, to.LateMean = 1, from.LateMean }), 1) {
		for _, e := range k.late {
			if e.arrives <= e.opening.On {
				t.Fatalf("an opening of %s entered late, on %s", e.opening.On, e.arrives)
			}
		}
	}
	world := only(func(from, to *Imperfect) {
		to.Late, to.LateMean, to.WrongDates = 1, from.LateMean, 1
	})
	asked, all, lag := 0, 0, 0.0
	entered, lastMonth, near := 0, 0, 0
	for _, k := range keepAll(world, 5) {
		days := map[scheduler.Date]bool{}
		for page := range pages(k.perfect) {
			days[scheduler.Date(page[1])] = true
		}
		for _, e := range k.late {
			if e.opening.On > e.arrives || days[e.opening.On] && e.arrives != e.opening.On {
				t.Fatalf("an opening of %s entered on %s", e.opening.On, e.arrives)
			}
			real := scheduler.Date(0) // the visit's day
			for d := range days {
				if d < e.arrives && d > real {
					real = d
				}
			}
			off := e.opening.On - real
			switch {
			case e.opening.On == e.arrives:
				entered++
			case off == -30:
				lastMonth++
			case -7 <= off && off <= 7 && off != 0:
				near++
			default:
				continue // written so late that another visit lies between
			}
			all++
			lag += float64(e.arrives - real - 1)
			if e.asked {
				asked++
			}
		}
	}
	if mean := lag / float64(all); math.Abs(mean-a.LateMean+0.5) > 1 {
		t.Errorf("late entries wait %.1f days more", mean)
	}
	if share := float64(asked) / float64(all); math.Abs(share-a.Reminded) > 0.1 {
		t.Errorf("%.2f are reminded by the next visit", share)
	}
	if r := float64(entered) / float64(all); r < 0.4 || r > 0.6 || lastMonth < all/20 || lastMonth > all/5 || near < all/4 {
		t.Errorf("of %d wrong dates %d are those of the entry, %d of the last month, %d near", all, entered, lastMonth, near)
	}
}

// TestGrader: coarse keepers know three words, others write what they felt when
// they judge as everybody does.
func TestGrader(t *testing.T) {
	p := &ImperfectClub{grades: [4]float64{0.08, 0.22, 0.5, 1}}
	strengths := []float64{0.05, 0.1, 0.3, 0.7, 2}
	for _, tc := range []struct {
		name   string
		grader grader
		want   []scheduler.Difficulty
	}{
		{"fine", grader{}, []scheduler.Difficulty{0, 1, 2, 3, 4}},
		{"coarse, so-so is firm", grader{coarse: true, so: scheduler.Firm}, []scheduler.Difficulty{0, 0, 2, 2, 4}},
		{"coarse, so-so is hard", grader{coarse: true, so: scheduler.Hard}, []scheduler.Difficulty{0, 0, 3, 3, 4}},
		{"a hard keeper", grader{bias: 1}, []scheduler.Difficulty{1, 2, 3, 4, 4}},
		{"a soft keeper", grader{bias: -1}, []scheduler.Difficulty{0, 0, 1, 2, 3}},
	} {
		for i, strength := range strengths {
			if got := tc.grader.says(p, strength, 1, 1); got != tc.want[i] {
				t.Errorf("%s: %g is %d, want %d", tc.name, strength, got, tc.want[i])
			}
		}
	}
	p.a.JudgingSD = 0.5
	higher := 0
	for box := range 1000 {
		if new(grader).says(p, 0.5, box, 1) >= scheduler.Hard {
			higher++
		}
	}
	if higher < 420 || higher > 580 {
		t.Errorf("%d of 1000 judge a seal on the border hard", higher)
	}
}

// TestSwaps: boxes change places with their seals when both are open, with
// their records where it is noted.
func TestSwaps(t *testing.T) {
	y := NewImperfectClub(4, Size{Apiaries: 1, Hives: 3, Boxes: 2, Years: 3, History: 1}, DefaultImperfect()).yards[0]
	on := y.club.from + 150
	for _, noted := range []bool{true, false} {
		k := y.begin(false)
		i, j := 0, y.at(1, 0)
		k.wished, k.swaps = on.Year(), []swap{{i, j, noted}}
		first, second := k.book.box(i).ID, k.book.box(j).ID
		stands := slices.Clone(k.stands)
		k.seals[i], k.seals[j] = seal{on, 0.1}, seal{on, 0.2}

		k.swapBoxes([]found{{at: i}}, on)
		if !slices.Equal(k.stands, stands) || len(k.swaps) != 1 {
			t.Fatal("a box changed places with one that was shut")
		}
		k.swapBoxes([]found{{at: j}, {at: i}}, on)
		if k.stands[i] != stands[j] || k.stands[j] != stands[i] || k.seals[i].left != 0.2 || k.seals[j].left != 0.1 || len(k.swaps) != 0 {
			t.Errorf("after the swap %v stand there, with seals %v and %v", k.stands, k.seals[i], k.seals[j])
		}
		if moved := k.book.box(i).ID == second && k.book.box(j).ID == first; moved != noted {
			t.Errorf("the records say %d and %d, noted: %t", k.book.box(i).ID, k.book.box(j).ID, noted)
		}
		if !noted {
			continue
		}
		places := k.book.box(i).Places
		last := places[len(places)-1]
		if len(places) != 2 || places[0].HiveID != k.book.apiary.Hives[1].ID || last.HiveID != k.book.apiary.Hives[0].ID ||
			last.From != on || last.Position != 1 || places[0].From != y.club.began {
			t.Errorf("places %+v", places)
		}
		if kept := y.begin(false); len(kept.book.box(i).Places) > 0 && kept.book.box(i).ID == second {
			t.Error("another keep has moved as well")
		}
	}
}

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

// TestPromise works out calibration by hand: in the second tenth 0.1 and 0.2
// were said and one of two was hard, in the last 0.9, and it was not.
func TestPromise(t *testing.T) {
	var p, q promise
	p.add(0.1, true)
	p.add(0.2-1e-12, false)
	q.add(0.9, false)
	q.add(1, true)
	p.join(&q)
	if n, hard := p.count(); n != 4 || hard != 2 {
		t.Errorf("%d openings, %d hard", n, hard)
	}
	// |0.3 - 1| and |1.9 - 1| over 4 openings
	if got := p.gap(); math.Abs(got-(0.7+0.9)/4) > 1e-9 {
		t.Errorf("gap %g", got)
	}
	said, same := p.brier()
	if math.Abs(said-(0.81+0.04+0.81+0)/4) > 1e-9 || same != 0.25 {
		t.Errorf("Brier scores %g and %g", said, same)
	}
	if !math.IsNaN(new(promise).gap()) {
		t.Error("a gap where nothing was said")
	}
}
