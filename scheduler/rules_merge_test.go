package scheduler

import (
	"reflect"
	"strings"
	"testing"
	"time"
)

func TestMergeRules(t *testing.T) {
	for _, tc := range []struct {
		name         string
		mine, theirs func(*Rules)
		want         func(*Rules)
		both         string
	}{
		{"nobody changed anything", func(*Rules) {}, func(*Rules) {}, func(*Rules) {}, ""},
		{
			"different rules", func(r *Rules) { r.OddsLimit = 0.1 }, func(r *Rules) { r.MaxDays = 300 },
			func(r *Rules) { r.OddsLimit, r.MaxDays = 0.1, 300 }, "",
		},
		{
			"the same rule", func(r *Rules) { r.OddsLimit = 0.1 }, func(r *Rules) { r.OddsLimit = 0.3 },
			func(r *Rules) { r.OddsLimit = 0.1 }, "odds_limit",
		},
		{
			"to the same", func(r *Rules) { r.OddsLimit = 0.1 }, func(r *Rules) { r.OddsLimit = 0.1 },
			func(r *Rules) { r.OddsLimit = 0.1 }, "",
		},
		{
			"a rule set and a list emptied", func(r *Rules) { r.Reminders.DaysBefore = nil },
			func(r *Rules) { r.Stages[Flow].Starts = MonthDay{time.May, 20} },
			func(r *Rules) {
				r.Reminders.DaysBefore = nil
				r.Stages[Flow].Starts = MonthDay{time.May, 20}
			}, "",
		},
		{
			"one place, not half of each", func(r *Rules) { r.Home.Latitude = 48 }, func(r *Rules) { r.Home.ElevationM = 900 },
			func(r *Rules) { r.Home.Latitude = 48 }, "home.latitude home.elevation_m",
		},
		{
			"the place taken away by others", func(*Rules) {}, func(r *Rules) { r.Home = nil },
			func(r *Rules) { r.Home = nil }, "",
		},
		{
			"the place taken away", func(r *Rules) { r.Home = nil }, func(r *Rules) { r.MinDays = 3 },
			func(r *Rules) { r.Home, r.MinDays = nil, 3 }, "",
		},
	} {
		t.Run(tc.name, func(t *testing.T) {
			var rules [4]Rules // base, mine, theirs, want
			for i, change := range []func(*Rules){func(*Rules) {}, tc.mine, tc.theirs, tc.want} {
				rules[i] = DefaultRules()
				rules[i].Home = &Home{Latitude: 47, ElevationM: 410}
				change(&rules[i])
			}
			theirs := *rules[2].clone()
			got, both := MergeRules(&rules[0], &rules[1], &rules[2])
			if d := DifferentRules(&got, &rules[3]); len(d) > 0 {
				t.Errorf("%s is %v, want %v", d[0].Path, d[0].Get(&got), d[0].Get(&rules[3]))
			}
			var paths []string
			for _, k := range both {
				paths = append(paths, k.Path)
			}
			if s := strings.Join(paths, " "); s != tc.both {
				t.Errorf("both changed %q, want %q", s, tc.both)
			}
			if !reflect.DeepEqual(rules[2], theirs) {
				t.Error("merging changed what it merged")
			}
		})
	}
}

// clone copies rules with what they point to.
func (r *Rules) clone() *Rules {
	c := *r
	if r.Home != nil {
		home := *r.Home
		c.Home = &home
	}
	return &c
}
