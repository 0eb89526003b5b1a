package simulation

import (
	"math"
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

// TestANotebookBegins: of a club that brings in the notebook of its last year the
// records say what was found in it and where each box stands, and no day before.
func TestANotebookBegins(t *testing.T) {
	a, brings := DefaultImperfect(), hamlet
	brings.Notebook = 200
	kept, guessed, placed := 0, 0, 0
	for seed := range 6 {
		whole := NewImperfectClub(seed, hamlet, a).yards[0].begin(false)
		p := NewImperfectClub(seed, brings, a)
		k := p.yards[0].begin(false)
		whole.book.arrive(p.from)
		first := p.from - 200
		for at := range k.places {
			box, was := k.book.box(at), whole.book.box(at)
			var want []scheduler.Opening
			for _, o := range was.Openings {
				if o.On >= first {
					want = append(want, o)
				}
			}
			if box.ID != was.ID || len(box.Openings) != len(want) || box.GuessedOn != p.from {
				t.Fatalf("box %d, guessed on %s, has %d openings since %s, want %d", box.ID, box.GuessedOn, len(box.Openings), first, len(want))
			}
			setUp := scheduler.GuessedDay(p.from)
			for i, o := range want {
				if i == 0 || o.On < setUp {
					setUp = o.On
				}
			}
			if box.SetUpOn != setUp {
				t.Errorf("box %d with %d openings is set up on %s, want %s", box.ID, len(want), box.SetUpOn, setUp)
			}
			if n := len(box.Places); n > 0 && (box.Places[0].From != setUp || box.Places[n-1].HiveID != was.Places[len(was.Places)-1].HiveID) {
				t.Errorf("box %d, set up on %s, was at %v, and in the whole book at %v", box.ID, setUp, box.Places, was.Places)
			}
			if len(want) > 0 {
				kept++
			} else {
				guessed++
			}
			placed += len(box.Places)
		}
		for _, e := range k.book.pending {
			if e.opening.On < first {
				t.Errorf("an opening of %s is still to come into a book that begins on %s", e.opening.On, first)
			}
		}
	}
	if kept == 0 || guessed == 0 || placed == 0 {
		t.Errorf("%d boxes have openings, %d have none, with %d places", kept, guessed, placed)
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
