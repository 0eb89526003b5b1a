package scheduler

import (
	"testing"
	"time"
)

// zonesClub has apiaries on both sides of the date line.
func zonesClub() *Club {
	return &Club{
		Apiaries: []Apiary{
			{ID: 7, Timezone: "Pacific/Honolulu"},
			{ID: 8, Timezone: "Pacific/Auckland", Keepers: []int64{3}},
			{ID: 9, Timezone: "Mars/Olympus", Keepers: []int64{4}},
		},
		Members: []Member{{ID: 2, Timezone: "Asia/Tokyo"}, {ID: 3}, {ID: 4}, {ID: 5, Timezone: "Local"}},
	}
}

func TestZoneOf(t *testing.T) {
	c := zonesClub()
	for _, tc := range []struct {
		name   string
		member Member
		want   string
	}{
		{"own zone first", Member{ID: 3, Timezone: "Asia/Tokyo"}, "Asia/Tokyo"},
		{"zone of the apiary looked after", Member{ID: 3}, "Pacific/Auckland"},
		{"no zone is the apiary's", Member{ID: 3, Timezone: "Mars/Olympus"}, "Pacific/Auckland"},
		{"an apiary without a zone is passed over", Member{ID: 4}, "Pacific/Honolulu"},
		{"the machine's zone is none", Member{ID: 5, Timezone: "Local"}, "Pacific/Honolulu"},
		{"else the club's first apiary's", Member{ID: 77}, "Pacific/Honolulu"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			if got := c.ZoneOf(&tc.member).String(); got != tc.want {
				t.Errorf("got %s, want %s", got, tc.want)
			}
		})
	}
	if got := new(Club).ZoneOf(&Member{}); got != time.UTC {
		t.Errorf("with no zone at all: got %s, want UTC", got)
	}
}

// TestToday asks for everybody's day at one instant, which is the 9th, the
// 10th and the 11th of May at once.
func TestToday(t *testing.T) {
	// UTC-10, +9 and +12: offsets of the zones in May, common knowledge.
	now := time.Date(2027, time.May, 10, 9, 30, 0, 0, time.UTC)
	late := time.Date(2027, time.May, 10, 15, 30, 0, 0, time.UTC)
	c := zonesClub()
	for _, tc := range []struct {
		name string
		got  Date
		want string
	}{
		{"the club's is its first apiary's", c.Today(now), "2027-05-09"},
		{"an apiary's is its own", c.Apiaries[1].Today(late), "2027-05-11"},
		{"an apiary without a zone has that of UTC", c.Apiaries[2].Today(late), "2027-05-10"},
		{"a member's is the member's", c.TodayOf(&c.Members[0], late), "2027-05-11"},
		{"a club without an apiary has that of UTC", new(Club).Today(now), "2027-05-10"},
		{"and not the machine's", new(Club).Today(now.In(time.FixedZone("", 20*3600))), "2027-05-10"},
	} {
		if tc.got.String() != tc.want {
			t.Errorf("%s: got %s, want %s", tc.name, tc.got, tc.want)
		}
	}
}

func TestIsZone(t *testing.T) {
	for name, want := range map[string]bool{
		"Europe/Vienna": true, "UTC": true, "": false, "Local": false, "Mars/Olympus": false, "../etc/passwd": false,
	} {
		if got := IsZone(name); got != want {
			t.Errorf("IsZone(%q) = %v", name, got)
		}
	}
}

func TestWishesOverRules(t *testing.T) {
	c := &Club{Rules: DefaultRules()}
	at := ClockTime(21 * 60)
	m := Member{Prefs: Preferences{SendAt: &at, DaysBefore: []int{}}}
	if got := c.SendAtOf(&m); got != at {
		t.Errorf("a wish for 21:00 is mailed at %s", got)
	}
	if got := c.DaysBeforeOf(&m); got == nil || len(got) != 0 {
		t.Errorf("a wish for no reminder is reminded %v days before", got)
	}
	if got := c.SendAtOf(&Member{}); got != c.Rules.Reminders.SendAt {
		t.Errorf("without a wish, mail goes at %s", got)
	}
	if got := c.DaysBeforeOf(&Member{}); len(got) != len(c.Rules.Reminders.DaysBefore) {
		t.Errorf("without a wish, reminders go %v days before", got)
	}
}
