package scheduler

import (
	"strings"
	"testing"
)

func TestEffective(t *testing.T) {
	on := func(day int) Date { return NewDate(2027, 5, day) }
	tests := []struct {
		name string
		all  []Opening
		want string
	}{
		{"none", nil, ""},
		{"by day", []Opening{{ID: "b", On: on(2)}, {ID: "a", On: on(1)}}, "a b"},
		{"in the order recorded within a day", []Opening{{ID: "b", On: on(2)}, {ID: "c", On: on(2)}, {ID: "a", On: on(1)}}, "a b c"},
		{"corrected", []Opening{{ID: "a", On: on(1)}, {ID: "b", On: on(2), Supersedes: "a"}}, "b"},
		{"corrected twice", []Opening{{ID: "a", On: on(1)}, {ID: "b", On: on(2), Supersedes: "a"}, {ID: "c", On: on(3), Supersedes: "b"}}, "c"},
		{"two corrections of one", []Opening{{ID: "a", On: on(1)}, {ID: "b", On: on(2), Supersedes: "a"}, {ID: "c", On: on(3), Supersedes: "a"}}, "c"},
		{"taken back", []Opening{{ID: "a", On: on(1)}, {ID: "b", On: on(1), Supersedes: "a", Void: true}}, ""},
		{"taken back, then not", []Opening{{ID: "a", On: on(1)}, {ID: "b", Supersedes: "a", Void: true}, {ID: "c", On: on(1), Supersedes: "b"}}, "c"},
		{"a correction that comes first", []Opening{{ID: "b", On: on(2), Supersedes: "a"}, {ID: "a", On: on(1)}}, "b"},
		{"a correction keeps the place of what it corrects", []Opening{{ID: "a", On: on(1)}, {ID: "b", On: on(1)}, {ID: "c", On: on(1), Supersedes: "a"}}, "c b"},
		{"a correction of something unknown", []Opening{{ID: "a", On: on(1), Supersedes: "gone"}}, "a"},
		{"a correction of itself", []Opening{{ID: "a", On: on(1), Supersedes: "a"}}, "a"},
		{"in circles", []Opening{{ID: "a", On: on(1), Supersedes: "b"}, {ID: "b", On: on(1), Supersedes: "a"}, {ID: "c", On: on(1)}}, "c"},
		{"without ids", []Opening{{On: on(2), Note: "y"}, {On: on(1), Note: "x"}, {ID: "z", On: on(3), Supersedes: ""}}, "x y z"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			var got []string
			for _, o := range Effective(test.all) {
				got = append(got, o.ID+o.Note)
			}
			if s := strings.Join(got, " "); s != test.want {
				t.Errorf("%q count, want %q", s, test.want)
			}
		})
	}
}

func TestDifficultyIsTheHarderPart(t *testing.T) {
	tests := []struct{ joint, frames, want Difficulty }{
		{Loose, NotTried, Loose}, {Light, Hard, Hard}, {Stuck, Loose, Stuck}, {NotTried, NotTried, NotTried},
	}
	for _, test := range tests {
		o := Opening{Joint: test.joint, Frames: test.frames}
		if got := o.Difficulty(); got != test.want {
			t.Errorf("joint %d, frames %d: %d, want %d", test.joint, test.frames, got, test.want)
		}
	}
}

func TestOpenedWithin(t *testing.T) {
	on := func(day int) Date { return NewDate(2027, 5, day) }
	b := Box{Openings: []Opening{
		{ID: "a", On: on(10)},
		{ID: "b", On: on(20)},
		{ID: "c", On: on(25), Supersedes: "b"}, // the day was wrong
		{ID: "d", On: on(28)},
		{ID: "e", On: on(28), Supersedes: "d", Void: true},
	}}
	for _, tc := range []struct {
		within int32
		of     int
		want   bool
	}{{0, 10, true}, {2, 12, true}, {2, 8, true}, {2, 13, false}, {2, 7, false}, {0, 20, false}, {0, 25, true}, {0, 28, false}, {2, 29, false}} {
		if got := b.openedWithin(tc.within, on(tc.of)); got != tc.want {
			t.Errorf("opened within %d days of May %d: %v", tc.within, tc.of, got)
		}
	}
}

// TestOpeningForAVisit: the last that counts, from some days before the visit
// to two days after it.
func TestOpeningForAVisit(t *testing.T) {
	visit := date("2027-05-20")
	for _, tt := range []struct {
		name   string
		days   []string
		before Date
		want   string
	}{
		{"none", nil, 20, ""},
		{"on its day", []string{"2027-05-20"}, 20, "2027-05-20"},
		{"two days after", []string{"2027-05-22"}, 20, "2027-05-22"},
		{"three days after", []string{"2027-05-23"}, 20, ""},
		{"as early as may be", []string{"2027-04-30"}, 20, "2027-04-30"},
		{"too early", []string{"2027-04-29"}, 20, ""},
		{"two days before, where rules let boxes be opened every day", []string{"2027-05-18"}, -1, "2027-05-18"},
		{"the last of two", []string{"2027-05-10", "2027-05-19", "2027-06-19"}, 20, "2027-05-19"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := Box{}
			for _, on := range tt.days {
				b.Openings = append(b.Openings, opened(on, Light))
			}
			got := ""
			if o := b.OpeningFor(visit, tt.before); o != nil {
				got = o.On.String()
			}
			if got != tt.want {
				t.Errorf("the opening of %q, want %q", got, tt.want)
			}
		})
	}
}

// TestWhichOfADayDecides: whatever the order in which two records of a box and
// day arrived.
func TestWhichOfADayDecides(t *testing.T) {
	day := date("2027-06-01")
	one := func(joint Difficulty, scraped Scraped) Opening {
		return Opening{ID: "1", On: day, Joint: joint, Frames: NotTried, Scraped: scraped}
	}
	shut := Opening{ID: "2", On: day, Joint: Stuck, Frames: NotTried, LeftShut: true}
	for name, pair := range map[string][2]Opening{
		"the harder":                  {one(Hard, ScrapedAll), {ID: "2", On: day, Joint: Light, Frames: NotTried}},
		"the harder of frames":        {{ID: "2", On: day, Joint: Loose, Frames: Firm}, one(Light, ScrapedNone)},
		"what came apart":             {one(Loose, ScrapedAll), shut},
		"what was graded":             {one(Loose, ScrapedAll), {ID: "2", On: day, Joint: NotTried, Frames: NotTried}},
		"what left more":              {one(Firm, ScrapedPart), {ID: "2", On: day, Joint: Firm, Frames: NotTried, Scraped: ScrapedAll}},
		"what is known to leave more": {one(NotTried, ScrapedPart), {ID: "2", On: day, Joint: NotTried, Frames: NotTried}},
		"of two alike the greater id": {{ID: "3", On: day, Joint: Firm, Frames: NotTried}, {ID: "2", On: day, Joint: Firm, Frames: NotTried}},
	} {
		for _, all := range [][]Opening{{pair[0], pair[1]}, {pair[1], pair[0]}} {
			b := Box{Openings: all}
			if o := b.OpeningOn(day); o.ID != pair[0].ID {
				t.Errorf("%s: %+v decides", name, o)
			}
			if n := len(b.OpeningsOn(day)); n != 2 {
				t.Errorf("%s: %d stand", name, n)
			}
		}
	}
}
