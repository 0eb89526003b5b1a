package scheduler

import (
	"slices"
	"testing"
)

// TestNobodyIsAskedForMoreThanIsLeft: two who have an hour each left on a day
// are not asked for two hours that one of them would count for alone.
func TestNobodyIsAskedForMoreThanIsLeft(t *testing.T) {
	t.Parallel()
	mon := NewDate(2027, 6, 7)
	for _, row := range []struct {
		name             string
		promised, asking int // boxes, a quarter of an hour each
		want             []int64
	}{
		{"a free day", 0, 8, []int64{1, 2}},
		{"an hour left, and an hour of work", 4, 4, []int64{1, 2}},
		{"an hour left, and two hours of work", 4, 8, nil},
	} {
		c := &Club{Rules: DefaultRules(), Members: []Member{{ID: 1}, {ID: 2}}}
		c.Rules.Hours = Hours{Travel: 0.5, Setup: 0.5, Open: 0.25}
		c.Rules.Capacity = Capacity{HoursADay: 4, VisitsAWeek: 5}
		l := NewLoad(c, mon)
		if row.promised > 0 {
			for _, m := range []int64{1, 2} {
				l.Add(&Promise{ApiaryID: 10 + m, Latitude: 50, On: mon, Who: []int64{m}, Taken: []int64{m}, Openings: row.promised})
			}
		}
		if got := l.ask([]int64{1, 2}, &Promise{ApiaryID: 1, Latitude: 40, On: mon, Openings: row.asking}); !slices.Equal(got, row.want) {
			t.Errorf("%s: %v are asked, want %v", row.name, got, row.want)
		}
	}
}
