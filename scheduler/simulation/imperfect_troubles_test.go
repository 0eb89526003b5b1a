package simulation

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"pryday/scheduler"
)

// kept is a club kept by four visits a year, with what was really done beside
// what was written.
type kept struct {
	yard    *yard
	written *keep   // by the club, after everything has arrived
	perfect *keep   // by somebody who writes down everything
	late    []entry // what was on its way on the evening of the last visit
}

func keepAll(a Imperfect, seeds int) []kept {
	size := Size{Apiaries: 8, Hives: 4, Boxes: 3, Years: 4, History: 2, Change: 1}
	var out []kept
	for seed := range seeds {
		for _, y := range NewImperfectClub(seed, size, a).yards {
			k := kept{yard: y, written: y.begin(false), perfect: y.begin(true)}
			for _, half := range []*keep{k.written, k.perfect} {
				half.follow(calendarDays(&half.book.apiary, 4, y.club.from, y.club.until), everyBox)
			}
			k.late = slices.Clone(k.written.book.pending)
			k.written.book.arrive(y.club.until + 400)
			k.perfect.book.arrive(y.club.until + 400)
			out = append(out, k)
		}
	}
	return out
}

// pages returns the openings of a hive by day; with moves off a box stays in its hive.
func pages(k *keep) map[[2]int64]int {
	out := map[[2]int64]int{}
	for _, h := range k.book.apiary.Hives {
		for _, b := range h.Boxes {
			for _, o := range b.Openings {
				out[[2]int64{h.ID, int64(o.On)}]++
			}
		}
	}
	return out
}

// only returns the world with the troubles that keep copies, and no other.
func only(keep func(from, to *Imperfect)) Imperfect {
	all := DefaultImperfect()
	clean := all.WithoutTroubles()
	keep(&all, &clean)
	return clean
}

// TestRateOfEachTrouble counts each trouble alone in many clubs: its share is
// what the assumption says within five standard deviations, and 0 without it.
func TestRateOfEachTrouble(t *testing.T) {
	type counted struct {
		n, of int
		want  float64 // share
	}
	a := DefaultImperfect()
	lost := a.Unwritten * a.UnwrittenTogether
	for _, tc := range []struct {
		name, trouble string
		keep          func(from, to *Imperfect)
		count         func(k kept) counted
	}{
		{"openings not written down", "unwritten", func(from, to *Imperfect) { to.Unwritten = from.Unwritten }, func(k kept) counted {
			// boxes that were lost alone, among those whose hive was not lost whole
			all, some := pages(k.perfect), pages(k.written)
			c := counted{want: (a.Unwritten - lost) / (1 - lost)}
			for page, n := range all {
				if some[page] > 0 && n > 1 {
					c.n, c.of = c.n+n-some[page], c.of+n
				}
			}
			return c
		}},
		{"whole hives not written down", "unwritten", func(from, to *Imperfect) { to.Unwritten = from.Unwritten }, func(k kept) counted {
			all, some := pages(k.perfect), pages(k.written)
			c := counted{want: lost}
			for page, n := range all {
				if n > 2 {
					c.of++
					if some[page] == 0 {
						c.n++
					}
				}
			}
			return c
		}},
		{"coarse keepers", "coarse", func(from, to *Imperfect) { to.Coarse = from.Coarse }, func(k kept) counted {
			c := counted{want: a.Coarse, of: 1}
			if k.yard.grader.coarse {
				c.n = 1
			}
			return c
		}},
		{"hard keepers", "bias", func(from, to *Imperfect) { to.KeeperSD = from.KeeperSD }, func(k kept) counted {
			c := counted{want: 0.3173 / 2, of: 1} // beyond one standard deviation
			if k.yard.grader.bias > a.KeeperSD {
				c.n = 1
			}
			return c
		}},
		{"colonies that die", "new-bees", func(from, to *Imperfect) { to.Dies = from.Dies }, func(k kept) counted {
			c := counted{want: a.Dies, of: k.yard.club.years() * len(k.yard.lives)}
			for _, lives := range k.yard.lives {
				for _, r := range lives {
					if r.glues == 0 {
						c.n++
					}
				}
			}
			return c
		}},
		{"new queens", "new-bees", func(from, to *Imperfect) { to.NewQueens = from.NewQueens }, func(k kept) counted {
			c := counted{want: a.NewQueens, of: k.yard.club.years() * len(k.yard.lives)}
			for _, lives := range k.yard.lives {
				c.n += len(lives) - 1
			}
			return c
		}},
		{"queens not noted", "queens-unnoted", func(from, to *Imperfect) {
			to.NewQueens, to.Dies, to.QueensUnnoted = from.NewQueens, from.Dies, from.QueensUnnoted
		}, func(k kept) counted {
			c := counted{want: a.QueensUnnoted}
			for h := range k.yard.lives {
				all := len(k.perfect.book.apiary.Hives[h].Requeened)
				c.n, c.of = c.n+all-len(k.written.book.apiary.Hives[h].Requeened), c.of+all
			}
			return c
		}},
		{"moves not noted", "moves-unnoted", func(from, to *Imperfect) { to.Moved, to.MovesUnnoted = from.Moved, from.MovesUnnoted }, func(k kept) counted {
			c := counted{want: a.MovesUnnoted}
			for year := epoch; year < epoch+7; year++ {
				for _, s := range k.yard.wishes(year) {
					c.of++
					if !s.noted {
						c.n++
					}
				}
			}
			return c
		}},
		{"boxes moved", "moved", func(from, to *Imperfect) { to.Moved = from.Moved }, func(k kept) counted {
			// a pair moves two; a sixth of the draws names the own hive, and stacks differ
			c := counted{}
			for year := epoch; year < epoch+7; year++ {
				c.n += len(k.yard.wishes(year))
				for i, at := range k.yard.places {
					c.of++
					partners := 0
					for h := range k.yard.club.size.Hives {
						if j := k.yard.at(h, at.level); j >= 0 && j != i {
							partners++
						}
					}
					c.want += a.Moved / 2 * float64(partners) / float64(k.yard.club.size.Hives)
				}
			}
			c.want /= float64(c.of)
			return c
		}},
		{"visits not made", "skipped", func(from, to *Imperfect) { to.Skipped = from.Skipped }, func(k kept) counted {
			c := counted{want: a.Skipped}
			for d := k.yard.club.from; d < k.yard.club.until; d += 40 {
				c.of++
				if !k.yard.made(d) {
					c.n++
				}
			}
			return c
		}},
		{"visits broken off", "rained-out", func(from, to *Imperfect) { to.RainedOut = from.RainedOut }, func(k kept) counted {
			c := counted{want: a.RainedOut}
			for d := k.yard.club.from; d < k.yard.club.until; d += 10 {
				c.of++
				if k.yard.hivesOpened(d) < k.yard.club.size.Hives {
					c.n++
				}
			}
			return c
		}},
		{"silent visits", "silent", func(from, to *Imperfect) { to.Silent = from.Silent }, func(k kept) counted {
			c := counted{want: a.Silent}
			for d := k.yard.club.from; d < k.yard.club.until; d += 40 {
				c.of++
				if !k.yard.answers(d) {
					c.n++
				}
			}
			return c
		}},
		{"late entries", "late", func(from, to *Imperfect) { to.Late = from.Late }, func(k kept) counted {
			c := counted{want: a.Late}
			visits := map[scheduler.Date]bool{} // whole visits are late together
			for _, e := range k.late {
				visits[e.opening.On] = visits[e.opening.On] || e.arrives > e.opening.On
			}
			for _, late := range visits {
				c.of++
				if late {
					c.n++
				}
			}
			return c
		}},
		{"wrong dates", "wrong-dates", func(from, to *Imperfect) { to.WrongDates = from.WrongDates }, func(k kept) counted {
			c := counted{want: a.WrongDates}
			right := pages(k.perfect)
			for page := range pages(k.written) {
				c.of++
				if right[page] == 0 {
					c.n++
				}
			}
			return c
		}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			world := only(tc.keep)
			var sum counted
			weighed := 0.0
			for _, k := range keepAll(world, 20) {
				c := tc.count(k)
				sum.n, sum.of = sum.n+c.n, sum.of+c.of
				weighed += c.want * float64(c.of)
			}
			want := weighed / float64(sum.of)
			sd := math.Sqrt(want * (1 - want) / float64(sum.of))
			if got := float64(sum.n) / float64(sum.of); math.Abs(got-want) > 5*sd || sum.of < 150 {
				t.Errorf("%d of %d are %.4f, want %.4f give or take %.4f", sum.n, sum.of, got, want, sd)
			}
			i := slices.IndexFunc(Troubles(), func(tr Trouble) bool { return tr.Name == tc.trouble })
			for _, k := range keepAll(Troubles()[i].Without(world), 3) {
				if c := tc.count(k); c.n != 0 {
					t.Errorf("without it there are still %d of %d", c.n, c.of)
				}
			}
		})
	}
}

// TestWithoutTroublesRecordsArePerfect: with every trouble gone the notebook
// holds what was done, to the letter; with any of those about records it does not.
func TestWithoutTroublesRecordsArePerfect(t *testing.T) {
	for _, k := range keepAll(DefaultImperfect().WithoutTroubles(), 4) {
		if !reflect.DeepEqual(k.written.book.apiary, k.perfect.book.apiary) {
			t.Error("the club's records differ from perfect ones")
		}
	}
	for name, keep := range map[string]func(from, to *Imperfect){
		"unwritten": func(from, to *Imperfect) { to.Unwritten = from.Unwritten },
		"coarse":    func(from, to *Imperfect) { to.Coarse = from.Coarse },
		"keeper":    func(from, to *Imperfect) { to.KeeperSD = from.KeeperSD },
		"judging":   func(from, to *Imperfect) { to.JudgingSD = from.JudgingSD },
		"queens":    func(from, to *Imperfect) { to.NewQueens, to.QueensUnnoted = from.NewQueens, from.QueensUnnoted },
		"moves":     func(from, to *Imperfect) { to.Moved, to.MovesUnnoted = from.Moved, from.MovesUnnoted },
		"dates":     func(from, to *Imperfect) { to.WrongDates = from.WrongDates },
	} {
		differ := false
		for _, k := range keepAll(only(keep), 4) {
			differ = differ || !reflect.DeepEqual(k.written.book.apiary, k.perfect.book.apiary)
		}
		if !differ {
			t.Errorf("%s: the club's records are perfect", name)
		}
	}
}

// TestTroublesOfRecordsChangeNoTruth: what a calendar finds, or who knows every
// seal, does not hang on what is written; what the planner does, does.
func TestTroublesOfRecordsChangeNoTruth(t *testing.T) {
	about := []string{"unwritten", "coarse", "bias", "queens-unnoted", "moves-unnoted", "silent", "late", "wrong-dates"}
	world := DefaultImperfect()
	policies := []Policy{Calendar(3), Planner(0.2), Planner(0.2).Told()}
	with := RunImperfect(policies, tenSeeds[:5], hamlet, world)
	for _, tr := range Troubles() {
		without := RunImperfect(policies, tenSeeds[:5], hamlet, tr.Without(world))
		if same := reflect.DeepEqual(with.Scores[0], without.Scores[0]); same != slices.Contains(about, tr.Name) {
			t.Errorf("without %s a calendar finds the same: %t", tr.Name, same)
		}
		if told := reflect.DeepEqual(with.Scores[2], without.Scores[2]); told != slices.Contains(about, tr.Name) {
			t.Errorf("without %s who knows every seal does the same: %t", tr.Name, told)
		}
		if reflect.DeepEqual(with.Scores[1], without.Scores[1]) {
			t.Errorf("without %s the planner does the same", tr.Name)
		}
	}
}

func TestCosts(t *testing.T) {
	costs := Costs(scheduler.DefaultRules(), []int{1, 2}, Size{Apiaries: 1, Hives: 2, Boxes: 2, Years: 3, History: 1}, DefaultImperfect())
	if len(costs) != len(Troubles())+2 || costs[0].Without != "" || costs[len(costs)-1].Without != "all" {
		t.Fatalf("%d rows", len(costs))
	}
	for i, tr := range Troubles() {
		if costs[i+1].Without != tr.Name || costs[i+1].Planner.Policy != "planner-0.20" || costs[i+1].Against.Policy != "planner-0.20" {
			t.Errorf("row %d: %+v", i+1, costs[i+1])
		}
	}
}
