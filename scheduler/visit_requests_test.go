package scheduler

import "testing"

// TestKeepTogether: boxes go with their visit when nothing else binds them and
// the rules let them wait until its day, or do not let them wait any more.
func TestKeepTogether(t *testing.T) {
	for _, tt := range []struct {
		name string
		box  boxDue
		want bool
	}{
		{"may wait longer", boxDue{latest: 9, kept: -noDay, off: -noDay}, true},
		{"may wait until the day", boxDue{latest: 5, kept: -noDay, off: -noDay}, true},
		{"may wait until the day before", boxDue{latest: 4, kept: -noDay, off: -noDay}, false},
		{"is too late anyway", boxDue{latest: -1, kept: -noDay, off: -noDay}, true},
		{"is bound to another day", boxDue{latest: 9, kept: 3, off: -noDay}, false},
		{"was taken off an earlier visit", boxDue{latest: 9, kept: -noDay, off: 4}, true},
		{"was taken off the visit", boxDue{latest: 9, kept: -noDay, off: 5}, false},
	} {
		tt.box.box = &Box{ID: 1}
		p := projection{start: []boxDue{tt.box, {box: &Box{ID: 2}, latest: 9, kept: -noDay, off: -noDay}}}
		p.keepTogether(&Visit{Boxes: []VisitBox{{BoxID: 1}}}, 5)
		if got := p.start[0].kept == 5; got != tt.want {
			t.Errorf("a box that %s is kept: %t", tt.name, got)
		}
		if p.start[1].kept != -noDay {
			t.Errorf("a box of another visit is kept on %d", p.start[1].kept)
		}
	}
}

// TestNear: whoever goes within the move notice finds what they were told of.
func TestNear(t *testing.T) {
	r := DefaultRules()
	r.LeadDays, r.MoveNotice = 1, 3
	for _, tt := range []struct {
		floor, day int32
		want       bool
	}{{0, 2, true}, {0, 3, false}, {1, 2, true}, {6, 5, true}, {6, 6, false}} {
		p := projection{floor: tt.floor, rules: dueRules{Rules: &r}}
		if got := p.near(tt.day); got != tt.want {
			t.Errorf("day %d, nobody sent before day %d: near %t", tt.day, tt.floor, got)
		}
	}
}
