package scheduler

import "testing"

// TestTooLongForADay: journey and setup are everybody's, the work is shared with those who
// said that they go, by hand: 1 + 0.5 + 8 x 0.5 hours are 5.5 for one, 3.5 for each of two.
func TestTooLongForADay(t *testing.T) {
	c := &Club{Rules: DefaultRules(), Members: []Member{{ID: 1}, {ID: 2, Prefs: Preferences{HoursADay: 4}}}}
	c.Rules.Hours.Travel, c.Rules.Hours.Setup, c.Rules.Hours.Open = 1, 0.5, 0.5
	c.Rules.Capacity.HoursADay = 6
	w := Work{Openings: 8}
	for _, tt := range []struct {
		name   string
		member int
		taken  []int64
		day    float64
		long   bool
	}{
		{"the day of the rules", 0, nil, 6, false},
		{"one's own shorter day", 1, nil, 4, true},
		{"beside somebody who goes", 1, []int64{1}, 4, false},
		{"the only one who goes", 1, []int64{2}, 4, true},
		{"one of two who go", 1, []int64{1, 2}, 4, false},
	} {
		day, long := c.TooLongFor(&c.Members[tt.member], &Visit{Taken: tt.taken}, w)
		if day != tt.day || long != tt.long {
			t.Errorf("%s: %g hours, too long %t; want %g, %t", tt.name, day, long, tt.day, tt.long)
		}
	}
	if got := c.HoursEach(0, w, 1); got != 5.5 {
		t.Errorf("for one %g hours, want 5.5", got)
	}
}
