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
				l.Add(&Promise{ApiaryID: 10 + m, Latitude: 50, On: mon, Who: []int64{m}, Taken: []int64{m}, Work: Work{Openings: row.promised}})
			}
		}
		if got := l.ask([]int64{1, 2}, &Promise{ApiaryID: 1, Latitude: 40, On: mon, Work: Work{Openings: row.asking}}); !slices.Equal(got, row.want) {
			t.Errorf("%s: %v are asked, want %v", row.name, got, row.want)
		}
	}
}

// TestPryingTakesPeoplesTime: what boxes are expected to take counts, and not only what
// they take when they come off lightly; a visit that is too long for a day because of it
// may have one to itself, and takes as many as share it to a day's work.
func TestPryingTakesPeoplesTime(t *testing.T) {
	t.Parallel()
	mon := NewDate(2027, 6, 7)
	at := func(apiary int64, w Work, taken ...int64) *Promise {
		return &Promise{ApiaryID: apiary, Latitude: 40 + float64(apiary), On: mon, Taken: taken, Who: taken, Work: w}
	}
	for _, row := range []struct {
		name   string
		before *Promise // of the first
		asking Work
		list   []int64
		want   []int64
		crew   int // of those asked, how many the visit takes a day of
	}{
		{"two light boxes", nil, Work{Openings: 2}, []int64{1, 2}, []int64{1, 2}, 1},
		{"one that is surely stuck fits in a day", nil, Work{Openings: 1, Stuck: 1}, []int64{1, 2}, []int64{1, 2}, 1},
		{"what is left of a day is too little for prying", at(9, Work{Openings: 2}, 1), Work{Openings: 1, Stuck: 1}, []int64{1}, nil, 0},
		{"who goes elsewhere has no time for it", at(9, Work{Openings: 2}, 1), Work{Openings: 1, Stuck: 1}, []int64{1, 2}, []int64{2}, 1},
		{"hard ones count as well", at(9, Work{Openings: 2}, 1), Work{Openings: 1, Hard: 3}, []int64{1}, nil, 0},
		{"light ones fit in what is left", at(9, Work{Openings: 2}, 1), Work{Openings: 1}, []int64{1}, []int64{1}, 1},
		{"two share what is too long for one", nil, Work{Openings: 2, Stuck: 2}, []int64{1, 2}, []int64{1, 2}, 2},
		{"a stuck stack has the day of one to itself", nil, Work{Openings: 4, Stuck: 4}, []int64{1}, []int64{1}, 1},
		{"not beside another visit", at(9, Work{Openings: 1}, 1), Work{Openings: 4, Stuck: 4}, []int64{1}, nil, 0},
		{"nor where there is no room for it if it is light", nil, Work{Openings: 30, Stuck: 4}, []int64{1}, nil, 0},
	} {
		c := &Club{Rules: DefaultRules(), Members: []Member{{ID: 1}, {ID: 2}}}
		c.Rules.Hours = Hours{Travel: 0.5, Setup: 0.5, Open: 0.25, Hard: 0.5, Stuck: 2}
		c.Rules.Capacity = Capacity{HoursADay: 4, VisitsAWeek: 5}
		l := NewLoad(c, mon)
		if row.before != nil {
			l.Add(row.before)
		}
		pr := at(1, row.asking)
		pr.Who = l.ask(row.list, pr)
		if !slices.Equal(pr.Who, row.want) {
			t.Errorf("%s: %v are asked, want %v", row.name, pr.Who, row.want)
			continue
		}
		stop := l.stop(pr)
		crew, share := l.crew(pr.Who, nil, &stop, pr.Hours(l.rules))
		if len(crew) != row.crew || row.crew > 0 && share*float64(row.crew) != row.asking.Hours(&c.Rules) {
			t.Errorf("%s: it counts against %d with %.2f hours each, want %d", row.name, len(crew), share, row.crew)
		}
	}
}
