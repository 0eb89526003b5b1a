package scheduler

import (
	"slices"
	"testing"
)

func TestReplanningAnUnchangedClubChangesNothing(t *testing.T) {
	for seed := range uint64(600) {
		r := newDice(seed)
		today := testToday + Date(r.IntN(365))
		c := r.club(r.between(0, 12), today)
		if r.chance(0.5) {
			r.trouble(c, today)
		}
		if r.chance(0.6) {
			r.earlierPlan(c, today)
		}
		first := PlanClub(c, today)
		remember(c, first)
		want := PlanClub(c, today)
		remember(c, want)
		for range 2 {
			got := PlanClub(c, today)
			if show(c, got) != show(c, want) || len(got.Cancel)+len(got.Past) > 0 {
				t.Fatalf("seed %d: the second plan\n%s\nthe third\n%s", seed, show(c, want), show(c, got))
			}
		}
		for i := range want.Visits {
			w, f := want.Visits[i], first.Visits[i]
			if w.On != f.On || f.ID != 0 && w.Sequence != f.Sequence || w.Sequence > f.Sequence {
				t.Fatalf("seed %d: the first plan\n%s\nthe second\n%s", seed, show(c, first), show(c, want))
			}
		}
	}
}

// earlierPlan gives c visits that were planned before other openings came in,
// some of them moved by people.
func (r dice) earlierPlan(c *Club, today Date) {
	remember(c, PlanClub(c, today-Date(r.between(0, 20))))
	for i := range c.Visits {
		v := &c.Visits[i]
		if r.chance(0.2) {
			v.On += Date(r.between(-10, 10))
			v.Pinned = true
			v.Sequence++
		}
		if r.chance(0.1) && len(v.Boxes) > 0 {
			v.NotBoxes = append(v.NotBoxes, v.Boxes[r.IntN(len(v.Boxes))].BoxID)
		}
	}
	for h := range c.Apiaries[0].Hives {
		for b := range c.Apiaries[0].Hives[h].Boxes {
			box := &c.Apiaries[0].Hives[h].Boxes[b]
			if r.chance(0.2) && len(box.Openings) > 0 {
				box.Openings[len(box.Openings)-1].Joint = Difficulty(r.IntN(5))
			}
		}
	}
}

func TestMatch(t *testing.T) {
	tests := []struct {
		name     string
		old, now []int32
		want     []int
	}{
		{"nothing", nil, nil, nil},
		{"same days", []int32{3, 40}, []int32{3, 40}, []int{0, 1}},
		{"all new", nil, []int32{5, 9}, []int{-1, -1}},
		{"all dropped", []int32{5, 9}, nil, nil},
		{"moved as far as may be", []int32{10}, []int32{55}, []int{0}},
		{"moved too far", []int32{10}, []int32{56}, []int{-1}},
		{"one put in before", []int32{30, 90}, []int32{2, 30, 90}, []int{-1, 0, 1}},
		{"one dropped", []int32{2, 30, 90}, []int32{30, 90}, []int{1, 2}},
		{"nearest rather than first", []int32{60, 101}, []int32{100}, []int{1}},
		{"nearest rather than as many as possible", []int32{60, 101}, []int32{100, 140}, []int{1, -1}},
		{"both move rather than cross", []int32{10, 20}, []int32{18, 30}, []int{0, 1}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := match(tt.old, tt.now); !slices.Equal(got, tt.want) {
				t.Errorf("match(%v, %v) = %v, want %v", tt.old, tt.now, got, tt.want)
			}
		})
	}
}
