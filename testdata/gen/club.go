package main

import (
	"fmt"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// habit is how often, and how deep, an apiary's keepers look.
type habit struct {
	hives  []string
	supers int     // most boxes above the lowest
	visits [4]int  // in 2024, 2025, 2026 and, before the demo's day, 2027
	whole  float64 // chance that a visit opens a stack to its lowest box
	who    []int64 // who goes
	day    int     // of the week
	set    [2]int  // year and day of the year of the first hives
}

// habits stand in the order of the club's apiaries: two near home, one in a
// garden, one high up, and two out of the way.
var habits = []habit{
	{hives: []string{"Alder", "Birch", "Cherry", "Dogwood", "Elder", "Fir"}, supers: 3, visits: [4]int{5, 6, 6, 0}, whole: 0.6, who: []int64{1, 2}, day: 5, set: [2]int{2024, 100}},
	{hives: []string{"Hawthorn", "Ivy", "Juniper", "Larch", "Maple"}, supers: 3, visits: [4]int{5, 6, 6, 0}, whole: 0.75, who: []int64{2}, day: 4, set: [2]int{2024, 106}},
	{hives: []string{"Quince", "Rowan", "Sloe"}, supers: 2, visits: [4]int{6, 7, 7, 1}, whole: 0.5, who: []int64{3}, day: 0, set: [2]int{2024, 99}},
	{hives: []string{"Spruce", "Tamarack", "Willow", "Yew"}, supers: 3, visits: [4]int{4, 4, 5, 0}, whole: 0.65, who: []int64{4, 1}, day: 6, set: [2]int{2024, 118}},
	{hives: []string{"Aspen", "Beech", "Cedar", "Hazel", "Hickory"}, supers: 3, visits: [4]int{3, 3, 2, 0}, whole: 0.25, who: []int64{5}, day: 6, set: [2]int{2024, 110}},
	{hives: []string{"Linden", "Oak", "Pear", "Plum"}, supers: 3, visits: [4]int{0, 4, 4, 0}, whole: 0.45, who: []int64{6, 4}, day: 0, set: [2]int{2025, 120}},
}

func hours(h float64) *float64 { return &h }

func clock(hour, minute int) *scheduler.ClockTime {
	c := scheduler.ClockTime(60*hour + minute)
	return &c
}

func days(names ...int) scheduler.WeekdaySet {
	var set scheduler.WeekdaySet
	for _, d := range names {
		set |= 1 << d
	}
	return set
}

// club returns the club with its people, places and hives, still without boxes.
// It lies across the edge, at 43 degrees, of two bands of latitude.
func club() *scheduler.Club {
	date := scheduler.NewDate
	c := &scheduler.Club{
		ID: 1, Name: "Wickerbrook Beekeepers", Rules: scheduler.DefaultRules(),
		Members: []scheduler.Member{
			{Name: "Marit Oakhanger", Email: "marit@example.org", Role: scheduler.Organiser, Timezone: "America/New_York", Units: text.Millimetres},
			{Name: "Tobias Fennimoor", Email: "tobias@example.net", Role: scheduler.Keeper, Units: text.Inches, Prefs: scheduler.Preferences{SendAt: clock(6, 15)}},
			{Name: "Odile Quarrender", Email: "odile@example.org", Role: scheduler.Keeper, Prefs: scheduler.Preferences{VisitHours: &scheduler.HoursOfDay{From: 16 * 60, Until: 18*60 + 30}}},
			{Name: "Jutta Kemperling", Email: "jutta@example.net", Role: scheduler.Keeper, Language: "de", NoGo: []scheduler.Period{{From: date(2027, 7, 3), Until: date(2027, 7, 18), Reason: "away"}}},
			{Name: "Rufus Haldersby", Email: "rufus@example.org", Role: scheduler.Keeper, Units: text.Inches},
			{Name: "Nell Ashpitel", Email: "nell@example.net", Role: scheduler.Organiser, Prefs: scheduler.Preferences{DaysBefore: []int{7, 2, 1}, Mute: []scheduler.MessageKind{scheduler.MovedMessage}}},
		},
		Kinds: []scheduler.BoxKind{{Name: "half-width deep", DepthMM: 244.475, EmptyKg: 5, FullKg: 20, Frames: 5}},
		Apiaries: []scheduler.Apiary{
			{
				Name: "Mill Meadow", Latitude: 42.912, Longitude: -72.604, ElevationM: 130, TravelHours: hours(0.7),
				Weekdays: days(5), Keepers: []int64{1, 2}, AccessNotes: "Through the white gate, code 4471; close it for the sheep.",
				Standstill: []scheduler.Period{{From: date(2025, 6, 28), Until: date(2025, 7, 24), Reason: "inspector's order, lifted"}},
			},
			{
				Name: "Quarry Field", Latitude: 43.088, Longitude: -72.552, ElevationM: 350, TravelHours: hours(1.2),
				Weekdays: days(4), Keepers: []int64{2}, AccessNotes: "Park at the bend: the track is soft until June.",
			},
			{
				Name: "Sexton's Garden", Latitude: 42.961, Longitude: -72.581, ElevationM: 160, TravelHours: hours(0), Keepers: []int64{3},
			},
			{
				Name: "Upper Pasture", Latitude: 43.142, Longitude: -72.771, ElevationM: 690, TravelHours: hours(2.2),
				Weekdays: days(6, 0), Keepers: []int64{4, 1}, AccessNotes: "No phone signal above the barn. Tell someone when you go up.",
			},
			{
				Name: "Ferry Landing", Latitude: 42.874, Longitude: -72.498, ElevationM: 95, Weekdays: days(6), Keepers: []int64{5},
				NoGo: []scheduler.Period{{From: date(2027, 5, 20), Until: date(2027, 5, 24), Reason: "the landowner's family day"}},
			},
			{
				Name: "Hazel Gap", Latitude: 43.204, Longitude: -72.689, ElevationM: 520, SeasonShiftDays: 3,
				Weekdays: days(2, 6, 0), Keepers: []int64{6, 4},
			},
		},
	}
	for i := range c.Members {
		c.Members[i].ID, c.Members[i].PersonID = int64(i+1), int64(i+1)
	}
	hive := int64(0)
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		a.ID, a.Timezone = int64(i+1), "America/New_York"
		for n, name := range habits[i].hives {
			hive++
			h := scheduler.Hive{ID: hive, Name: name, BeeSpace: scheduler.BottomSpace}
			if n == 2 {
				h.BeeSpace = scheduler.TopSpace
			}
			a.Hives = append(a.Hives, h)
		}
	}
	return c
}

// mark paints the next mark of a kind of box: D7, M12, S3.
func (h *history) mark(kind string) string {
	h.marks[kind]++
	return fmt.Sprintf("%c%d", kind[0]-'a'+'A', h.marks[kind])
}
