package scheduler

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// copyClub copies a club as deep as events reach.
func copyClub(c *Club) *Club {
	out := *c
	out.Spare = slices.Clone(c.Spare)
	out.Apiaries = slices.Clone(c.Apiaries)
	for i := range out.Apiaries {
		a := &out.Apiaries[i]
		a.Hives = slices.Clone(a.Hives)
		for j := range a.Hives {
			h := &a.Hives[j]
			h.Boxes, h.LeaveAlone, h.Events = slices.Clone(h.Boxes), slices.Clone(h.LeaveAlone), slices.Clone(h.Events)
		}
	}
	return &out
}

// drawStep draws something that may have happened to a hive of c, mostly as it can have.
func drawStep(t *rapid.T, c *Club, id string) *ColonyStep {
	pick := func(n int, of string) int { return rapid.IntRange(0, n-1).Draw(t, of) }
	var hives []*Hive
	for i := range c.Apiaries {
		for j := range c.Apiaries[i].Hives {
			hives = append(hives, &c.Apiaries[i].Hives[j])
		}
	}
	h := hives[pick(len(hives), "hive")]
	s := &ColonyStep{
		ID: id, HiveID: h.ID, What: Fates[pick(len(Fates), "what")], On: testToday - Date(pick(60, "days ago")),
		ApiaryID: c.Apiaries[pick(len(c.Apiaries), "apiary")].ID, Name: "New " + id, OtherID: 900 + int64(len(id)),
		Queen: []Queen{QueenUnknown, QueenStays, QueenGoes}[pick(3, "queen")], Rest: []BoxesGo{BoxesStay, BoxesStore, BoxesAlong}[pick(3, "boxes go")],
	}
	if rapid.Bool().Draw(t, "alone") {
		s.AloneUntil = s.On + Date(pick(40, "for days"))
	}
	for _, b := range h.Boxes {
		if rapid.Bool().Draw(t, "goes") {
			s.Boxes = append(s.Boxes, b.ID)
		}
	}
	if s.What == United {
		other := hives[pick(len(hives), "other")]
		s.OtherID = other.ID
		s.Order = rapid.Permutation(append(idsOf(other.Boxes), s.Boxes...)).Draw(t, "order")
	}
	return s
}

// What happened and is undone leaves the records and the plan as they were; what is refused
// leaves them, too. Events are undone in any order that is allowed, the last first at
// the latest.
func TestUndoneIsNeverHappened(t *testing.T) {
	done := map[Fate]int{}
	rapid.Check(t, func(t *rapid.T) {
		r := newDice(rapid.Uint64Range(0, 1<<32).Draw(t, "seed"))
		c := r.region(2, 12)
		r.trouble(c, testToday)
		for i := range c.Apiaries {
			for j := range c.Apiaries[i].Hives {
				slices.SortStableFunc(c.Apiaries[i].Hives[j].LeaveAlone, func(a, b Period) int { return int(a.From - b.From) })
			}
		}
		type noted struct {
			hive   int64
			id     string
			before *Club
		}
		var events []noted
		for n := range 3 {
			before := copyClub(c)
			s := drawStep(t, c, fmt.Sprint("event", string(make([]byte, n))))
			e, err := c.Happen(s, testToday)
			if err != nil {
				if refused := new(ColonyRefusal); !errors.As(err, &refused) || refused.Error() == "" {
					t.Fatalf("refused by %v", err)
				}
				if !reflect.DeepEqual(c, before) {
					t.Fatalf("%v left the records changed", err)
				}
				continue
			}
			done[e.What]++
			events = append(events, noted{s.HiveID, e.ID, before})
			PlanClub(c, testToday)
			checkStacks(t, c)
		}
		for _, x := range slices.Backward(events) {
			if _, err := c.Undo(x.hive, x.id); err != nil {
				t.Fatalf("the last event cannot be undone: %v", err)
			}
			if !reflect.DeepEqual(c, x.before) {
				t.Fatalf("undone\n%+v\nwas\n%+v", c, x.before)
			}
		}
		if len(events) > 0 {
			if got, want := show(c, PlanClub(c, testToday)), show(c, PlanClub(events[0].before, testToday)); got != want {
				t.Fatalf("planned\n%s\nwas\n%s", got, want)
			}
		}
	})
	for _, f := range Fates[:len(Fates)-1] {
		if done[f] == 0 {
			t.Errorf("never drawn: %s", f)
		}
	}
}

// checkStacks asks that every box stands where its last place says.
func checkStacks(t *rapid.T, c *Club) {
	on := func(h int64, b *Box) {
		if len(b.Places) > 0 && b.Places[len(b.Places)-1].HiveID != h {
			t.Fatalf("box %d stands on hive %d, its places are %+v", b.ID, h, b.Places)
		}
	}
	for i := range c.Spare {
		on(0, &c.Spare[i])
	}
	for i := range c.Apiaries {
		for j := range c.Apiaries[i].Hives {
			h := &c.Apiaries[i].Hives[j]
			for k := range h.Boxes {
				on(h.ID, &h.Boxes[k])
			}
		}
	}
}

// larchAndRowan is an apiary of two hives of two boxes each, set up clean on a day.
func larchAndRowan(setUp Date) *Club {
	box := func(id int64) Box { return Box{ID: id, Name: fmt.Sprint(id), Kind: "deep", SetUpOn: setUp} }
	return &Club{Rules: DefaultRules(), Apiaries: []Apiary{
		{ID: 5, Name: "Orchard", Latitude: 45.5, Region: Continental, Hives: []Hive{
			{ID: 11, Name: "Larch", Boxes: []Box{box(1), box(2)}}, {ID: 12, Name: "Rowan", Boxes: []Box{box(3), box(4)}},
		}},
		{ID: 6, Name: "Quarry", Latitude: 45.5, ElevationM: 1000, Region: Continental},
	}}
}

func TestWhatCannotHaveHappened(t *testing.T) {
	today, setUp := NewDate(2027, time.June, 10), NewDate(2027, time.May, 1)
	for _, tt := range []struct {
		name  string
		first *ColonyStep // noted before
		step  ColonyStep
		field string
	}{
		{"to come", nil, ColonyStep{What: Died, On: today + 1, Rest: BoxesStay}, "on"},
		{"before the hive", nil, ColonyStep{What: Swarmed, On: setUp - 1}, "on"},
		{"no day", nil, ColonyStep{What: Swarmed}, "on"},
		{"boxes go along with the dead", nil, ColonyStep{What: Died, On: today, Rest: BoxesAlong}, "rest"},
		{"a split of nothing", nil, ColonyStep{What: Split, On: today, Name: "Elm", ApiaryID: 5}, "boxes"},
		{"a split of all", nil, ColonyStep{What: Split, On: today, Name: "Elm", ApiaryID: 5, Boxes: []int64{1, 2}}, "boxes"},
		{"a split of another's box", nil, ColonyStep{What: Split, On: today, Name: "Elm", ApiaryID: 5, Boxes: []int64{3}}, "boxes"},
		{"a name that is taken", nil, ColonyStep{What: Split, On: today, Name: "Rowan", ApiaryID: 5, Boxes: []int64{2}}, "name"},
		{"no name", nil, ColonyStep{What: Split, On: today, ApiaryID: 5, Boxes: []int64{2}}, "name"},
		{"united with itself", nil, ColonyStep{What: United, On: today, OtherID: 11, Order: []int64{1, 2}}, "other"},
		{"a stack with a gap", nil, ColonyStep{What: United, On: today, OtherID: 12, Boxes: []int64{1}, Order: []int64{3, 4}}, "order"},
		{"moved to where it stands", nil, ColonyStep{What: Moved, On: today, ApiaryID: 5}, "apiary"},
		{"new bees on bees", nil, ColonyStep{What: NewColony, On: today}, "on"},
		{"swarmed when dead", &ColonyStep{What: Died, On: today - 5, Rest: BoxesStay}, ColonyStep{What: Swarmed, On: today}, "on"},
		{"died before it moved", &ColonyStep{What: Moved, On: today - 5, ApiaryID: 6}, ColonyStep{What: Died, On: today - 6, Rest: BoxesStay}, "on"},
		{"ended", &ColonyStep{What: Died, On: today - 5, Rest: BoxesStore}, ColonyStep{What: Swarmed, On: today - 9}, ""},
		{"alone for years", nil, ColonyStep{What: Requeened, On: today, AloneUntil: today + 400}, "alone"},
		{"onto a hive that ended", &ColonyStep{HiveID: 12, What: United, On: today - 5, OtherID: 11, Order: []int64{1, 2}}, ColonyStep{What: United, On: today, OtherID: 12}, "other"},
		{"onto a hive without bees", &ColonyStep{HiveID: 12, What: Died, On: today - 5, Rest: BoxesStay}, ColonyStep{What: United, On: today, OtherID: 12, Order: []int64{3, 4}}, "other"},
		{"new bees too far ahead", &ColonyStep{What: Died, On: today - 5, Rest: BoxesStay}, ColonyStep{What: NewColony, On: today + mostAhead + 1}, "on"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := larchAndRowan(setUp)
			if tt.first != nil {
				tt.first.ID, tt.first.HiveID = "first", cmp.Or(tt.first.HiveID, 11)
				if _, err := c.Happen(tt.first, today); err != nil {
					t.Fatal(err)
				}
			}
			before := copyClub(c)
			tt.step.ID, tt.step.HiveID = "second", 11
			_, err := c.Happen(&tt.step, today)
			var refused *ColonyRefusal
			if !errors.As(err, &refused) || refused.Field != tt.field {
				t.Errorf("got %v, want it refused at %q", err, tt.field)
			}
			if !reflect.DeepEqual(c, before) {
				t.Error("the records changed")
			}
		})
	}
}

// Where the records say that it cannot have been, it has not happened.
func TestWhatTheRecordsForbid(t *testing.T) {
	today, setUp := NewDate(2027, time.June, 10), NewDate(2027, time.May, 1)
	order := []Period{{From: today - 1, Until: today + 5, Reason: "foulbrood"}}
	for _, tt := range []struct {
		name   string
		change func(*Club)
		step   ColonyStep
		field  string
	}{
		{"out of a disease order", func(c *Club) { c.Apiaries[0].Standstill = order }, ColonyStep{What: Moved, On: today, ApiaryID: 6}, "on"},
		{"into a disease order", func(c *Club) { c.Apiaries[1].Standstill = order }, ColonyStep{What: Moved, On: today, ApiaryID: 6}, "on"},
		{"onto a hive that was not there yet", func(c *Club) {
			for i := range c.Apiaries[0].Hives[1].Boxes {
				c.Apiaries[0].Hives[1].Boxes[i].SetUpOn = today - 3
			}
		}, ColonyStep{What: United, On: today - 4, OtherID: 12, Order: []int64{3, 4}}, "on"},
		{"a box goes before it came", func(c *Club) {
			c.Apiaries[0].Hives[0].Boxes[1].Places = []BoxPlace{{From: setUp, Where: OnHive, HiveID: 12, Position: 3}, {From: today - 2, Where: OnHive, HiveID: 11, Position: 2}}
		}, ColonyStep{What: Split, On: today - 3, OtherID: 13, ApiaryID: 5, Name: "Elm", Boxes: []int64{2}}, "on"},
		{"to where another has its name", func(c *Club) { c.Apiaries[1].Hives = []Hive{{ID: 21, Name: "Larch"}} }, ColonyStep{What: Moved, On: today, ApiaryID: 6}, "name"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			tt.step.ID, tt.step.HiveID = "step", 11
			if _, err := larchAndRowan(setUp).Happen(&tt.step, today); err != nil {
				t.Fatalf("without it: %v", err)
			}
			c := larchAndRowan(setUp)
			tt.change(c)
			var refused *ColonyRefusal
			if _, err := c.Happen(&tt.step, today); !errors.As(err, &refused) || refused.Field != tt.field {
				t.Errorf("got %v, want it refused at %q", err, tt.field)
			}
		})
	}
}

// A hive is without bees from the day on which they died or went, until the day on which
// others come.
func TestWithoutBees(t *testing.T) {
	day := NewDate(2027, time.June, 10)
	for _, gone := range []Fate{Died, Sold} {
		h := Hive{Events: []ColonyEvent{{What: gone, On: day}, {What: NewColony, On: day + 20}}}
		for _, tt := range []struct {
			on, gone, back Date
			without        bool
		}{{day - 1, 0, 0, false}, {day, day, day + 20, true}, {day + 19, day, day + 20, true}, {day + 20, 0, 0, false}} {
			if g, b, without := h.WithoutBees(tt.on); g != tt.gone || b != tt.back || without != tt.without {
				t.Errorf("%s, on %s: gone %s, back %s, without %t", gone, tt.on, g, b, without)
			}
		}
	}
}

// Leave-alone days are of the hive whose bees must raise a queen, or accept one.
func TestWhichHiveIsLeftAlone(t *testing.T) {
	today, setUp := NewDate(2027, time.June, 10), NewDate(2027, time.May, 1)
	for _, tt := range []struct {
		what      Fate
		queen     Queen
		here, new bool
	}{
		{Split, QueenGoes, true, false}, {Split, QueenStays, false, true}, {Split, QueenUnknown, true, true}, {Requeened, "", true, false},
	} {
		c := larchAndRowan(setUp)
		step := ColonyStep{ID: "e", HiveID: 11, What: tt.what, On: today, Queen: tt.queen, AloneUntil: today + 20}
		if tt.what == Split {
			step.OtherID, step.ApiaryID, step.Name, step.Boxes = 13, 5, "Elm", []int64{2}
		}
		if _, err := c.Happen(&step, today); err != nil {
			t.Fatal(err)
		}
		alone := func(id int64) bool { _, h := c.HiveByID(id); return h != nil && len(h.LeaveAlone) > 0 }
		if alone(11) != tt.here || alone(13) != tt.new || alone(12) {
			t.Errorf("%s, queen %q: left alone are the old hive %t, the new one %t, another %t", tt.what, tt.queen, alone(11), alone(13), alone(12))
		}
	}
}

// Boxes that were sold along are gone, and those of a colony that died are in the store.
func TestWhereBoxesGo(t *testing.T) {
	today := NewDate(2027, time.June, 10)
	for rest, want := range map[BoxesGo]BoxPlace{
		BoxesAlong: {From: today, Where: Retired}, BoxesStore: {From: today, Where: InStore},
	} {
		c := larchAndRowan(NewDate(2027, time.May, 1))
		if _, err := c.Happen(&ColonyStep{ID: "e", HiveID: 11, What: Sold, On: today, Rest: rest}, today); err != nil {
			t.Fatal(err)
		}
		for _, b := range c.Spare {
			if at := b.Places[len(b.Places)-1]; at != want || (b.RetiredOn == today) != (rest == BoxesAlong) {
				t.Errorf("%s: box %d is %+v, retired on %s", rest, b.ID, at, b.RetiredOn)
			}
		}
		if len(c.Spare) != 2 {
			t.Errorf("%s: %d boxes are on no hive", rest, len(c.Spare))
		}
	}
}

// A hive does not move back to where another has taken its name.
func TestAMoveBackNeedsItsName(t *testing.T) {
	today := NewDate(2027, time.June, 10)
	c := larchAndRowan(NewDate(2027, time.May, 1))
	if _, err := c.Happen(&ColonyStep{ID: "e", HiveID: 11, What: Moved, On: today, ApiaryID: 6}, today); err != nil {
		t.Fatal(err)
	}
	c.Apiaries[0].Hives = append(c.Apiaries[0].Hives, Hive{ID: 14, Name: "Larch"})
	var refused *ColonyRefusal
	if _, err := c.Undo(11, "e"); !errors.As(err, &refused) || refused.Text.Key != "colony.undo-name" {
		t.Errorf("got %v", err)
	}
}

// No union puts a second box of one mark on a hive, and says which it would be; such a
// box may go into the store.
func TestUnitedMarksStayApart(t *testing.T) {
	today, setUp := NewDate(2027, time.June, 10), NewDate(2027, time.May, 1)
	c := larchAndRowan(setUp)
	c.Apiaries[0].Hives[0].Boxes[1].Name, c.Apiaries[0].Hives[1].Boxes[0].Name = "r7", "R7"
	step := ColonyStep{ID: "u", HiveID: 11, What: United, On: today, OtherID: 12, Queen: QueenStays, Boxes: []int64{1, 2}, Order: []int64{3, 4, 1, 2}}
	var refused *ColonyRefusal
	if _, err := c.Happen(&step, today); !errors.As(err, &refused) || refused.Field != "order" || refused.Text.Key != "colony.mark-taken" {
		t.Errorf("got %v", err)
	}
	step.Boxes, step.Order = []int64{1}, []int64{3, 4, 1}
	if _, err := c.Happen(&step, today); err != nil {
		t.Error(err)
	}
}

// What happened later stands in the way of undoing, and says so.
func TestMayNotUndo(t *testing.T) {
	today, setUp := NewDate(2027, time.June, 10), NewDate(2027, time.May, 1)
	split := ColonyStep{ID: "split", HiveID: 11, What: Split, On: today - 9, OtherID: 13, ApiaryID: 5, Name: "Elm", Boxes: []int64{2}}
	for _, tt := range []struct {
		name, key string
		later     func(*Club)
	}{
		{"another event of the new hive", "colony.undo-later", func(c *Club) {
			if _, err := c.Happen(&ColonyStep{ID: "later", HiveID: 13, What: Died, On: today, Rest: BoxesStay}, today); err != nil {
				t.Fatal(err)
			}
		}},
		{"an opening written since", "colony.undo-opened", func(c *Club) {
			b := &c.Apiaries[0].Hive(13).Boxes[0]
			b.Openings = append(b.Openings, Opening{ID: "o", On: today - 1})
		}},
		{"the box went on", "colony.undo-moved", func(c *Club) {
			b := &c.Apiaries[0].Hive(13).Boxes[0]
			b.Places = append(b.Places, BoxPlace{From: today, Where: OnHive, HiveID: 13})
		}},
		{"another box of its mark", "colony.undo-mark", func(c *Club) {
			h := c.Apiaries[0].Hive(11)
			h.Boxes = append(h.Boxes, Box{ID: 9, Name: "2", SetUpOn: today})
		}},
		{"another box there", "colony.undo-used", func(c *Club) {
			h := c.Apiaries[0].Hive(13)
			h.Boxes = append(h.Boxes, Box{ID: 9, Name: "9", SetUpOn: today})
		}},
		{"leave-alone days there", "colony.undo-changed", func(c *Club) {
			h := c.Apiaries[0].Hive(13)
			h.LeaveAlone = append(h.LeaveAlone, Period{From: today, Until: today, Reason: "cells"})
		}},
		{"undone", "colony.undone", func(c *Club) {
			if _, err := c.Undo(11, "split"); err != nil {
				t.Fatal(err)
			}
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := larchAndRowan(setUp)
			step := split
			if _, err := c.Happen(&step, today); err != nil {
				t.Fatal(err)
			}
			if err := c.MayUndo(11, "split"); err != nil {
				t.Fatal(err)
			}
			tt.later(c)
			var refused *ColonyRefusal
			if _, err := c.Undo(11, "split"); !errors.As(err, &refused) || refused.Text.Key != tt.key {
				t.Errorf("got %v, want %s", err, tt.key)
			}
		})
	}
}

// What is known of how a colony glues goes with its queen; her daughter keeps a part of it.
func TestGluingGoesWithTheQueen(t *testing.T) {
	today, setUp := NewDate(2027, time.September, 10), NewDate(2026, time.May, 1)
	rates := func(q Queen) (stays, goes float64) {
		c := larchAndRowan(setUp)
		b := &c.Apiaries[0].Hives[0].Boxes[0]
		b.Openings = []Opening{{ID: "o", On: today - 40, Joint: Stuck, Frames: Stuck, Scraped: ScrapedAll}}
		if _, err := c.Happen(&ColonyStep{ID: "s", HiveID: 11, What: Split, On: today - 9, OtherID: 13, ApiaryID: 5, Name: "Elm", Boxes: []int64{2}, Queen: q}, today); err != nil {
			t.Fatal(err)
		}
		r := newReplay(c)
		r.run(today, nil)
		return r.hives[r.hiveAt[11]].state.Mean[0], r.hives[r.hiveAt[13]].state.Mean[0]
	}
	here, there := rates(QueenStays)
	if here <= 0 || math.Abs(there-queenKeeps*here) > 1e-3*here {
		t.Errorf("the queen stayed: %.4f here and %.4f there", here, there)
	}
	gone, along := rates(QueenGoes)
	if math.Abs(along-here) > 1e-3*here || math.Abs(gone-queenKeeps*here) > 1e-3*here {
		t.Errorf("the queen went: %.4f here and %.4f there, %.4f when she stayed", gone, along, here)
	}
}

// A colony that comes into a dead hive is another: nothing is known of how it glues.
func TestANewColonyGluesAsItPleases(t *testing.T) {
	today, setUp := NewDate(2027, time.September, 10), NewDate(2026, time.May, 1)
	c := larchAndRowan(setUp)
	b := &c.Apiaries[0].Hives[0].Boxes[0]
	b.Openings = []Opening{{ID: "o", On: today - 90, Joint: Stuck, Frames: Stuck, Scraped: ScrapedAll}}
	for _, step := range []ColonyStep{{ID: "d", What: Died, On: today - 40, Rest: BoxesStay}, {ID: "n", What: NewColony, On: today - 9}} {
		r := newReplay(c)
		r.run(today, nil)
		if state := r.hives[r.hiveAt[11]].state; state.Mean[0] <= 0 {
			t.Fatalf("before %s: it glues as %.3f", step.What, state.Mean[0])
		}
		step.HiveID = 11
		if _, err := c.Happen(&step, today); err != nil {
			t.Fatal(err)
		}
	}
	r := newReplay(c)
	r.run(today, nil)
	if state := r.hives[r.hiveAt[11]].state; state.Mean[0] != 0 || state.Cov[0] != hiveVariance {
		t.Errorf("the new colony glues as %.3f, variance %.3f", state.Mean[0], state.Cov[0])
	}
}

// A united stack stands as whoever united it says, whichever boxes came.
func TestAUnionStandsInItsOrder(t *testing.T) {
	today := NewDate(2027, time.June, 10)
	c := larchAndRowan(NewDate(2027, time.May, 1))
	order := []int64{3, 1, 4}
	if _, err := c.Happen(&ColonyStep{ID: "e", HiveID: 11, What: United, On: today, OtherID: 12, Boxes: []int64{1}, Order: order}, today); err != nil {
		t.Fatal(err)
	}
	if _, h := c.HiveByID(12); !slices.Equal(idsOf(h.Boxes), order) {
		t.Errorf("it stands as %v, want %v", idsOf(h.Boxes), order)
	}
	if got := idsOf(c.Spare); !slices.Equal(got, []int64{2}) {
		t.Errorf("in the store are %v", got)
	}
}

// A union glues as the queen does who remains.
func TestAUnionGluesAsItsQueen(t *testing.T) {
	today, setUp := NewDate(2027, time.September, 10), NewDate(2026, time.May, 1)
	glues := func(q Queen) (here, there float64) {
		c := larchAndRowan(setUp)
		c.Apiaries[0].Hives[0].Boxes[0].Openings = []Opening{{ID: "o", On: today - 40, Joint: Stuck, Frames: Stuck, Scraped: ScrapedAll}}
		if q != "" {
			if _, err := c.Happen(&ColonyStep{ID: "e", HiveID: 11, What: United, On: today - 9, OtherID: 12, Order: []int64{3, 4}, Queen: q}, today); err != nil {
				t.Fatal(err)
			}
		}
		r := newReplay(c)
		r.run(today-9, nil)
		return r.hives[r.hiveAt[11]].state.Mean[0], r.hives[r.hiveAt[12]].state.Mean[0]
	}
	here, there := glues("")
	if here <= 0 || there != 0 {
		t.Fatalf("apart they glue as %.3f and %.3f", here, there)
	}
	if _, stays := glues(QueenStays); stays != there {
		t.Errorf("its own queen stayed, and it glues as %.3f, want %.3f", stays, there)
	}
	if _, goes := glues(QueenGoes); math.Abs(goes-here) > 1e-2*here { // nine days pass apart
		t.Errorf("the other queen came, and it glues as %.3f, want %.3f", goes, here)
	}
}

// A hive that moved up the hill seals by the season there, from the day of the move on.
func TestAMovedHiveSealsByItsNewSeason(t *testing.T) {
	setUp, moved, opened := NewDate(2027, time.March, 1), NewDate(2027, time.April, 20), NewDate(2027, time.June, 1)
	c := larchAndRowan(setUp)
	o := Opening{ID: "o", On: opened, Joint: Light, Frames: NotTried, Scraped: ScrapedPart}
	if _, err := c.Happen(&ColonyStep{ID: "e", HiveID: 11, What: Moved, On: moved, ApiaryID: 6}, opened); err != nil {
		t.Fatal(err)
	}
	_, h := c.HiveByID(11)
	h.Boxes[0].Openings = []Opening{o}
	low, high := NewSeason(c.Apiaries[0].Place(), &c.Rules), NewSeason(c.Apiaries[1].Place(), &c.Rules)
	if low.SealingDays(moved, opened) == high.SealingDays(moved, opened) {
		t.Fatal("both places have one season")
	}
	rate, _ := Replay(c, opened).Of(1)
	if want := o.remains() * (low.SealingDays(setUp, moved) + high.SealingDays(moved, opened)); math.Abs(rate.Left-want) > 1e-9 {
		t.Errorf("%.3f sealing days are left of it, want %.3f", rate.Left, want)
	}
}
