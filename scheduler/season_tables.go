package scheduler

// bandTable are the stage starts of a region at sea level, by latitude.
type bandTable struct {
	south bool // dates of the southern hemisphere
	bands []latitudeBand
}

// latitudeBand is a range of latitude with its own stage dates.
type latitudeBand struct {
	centre float64 // degrees from the equator
	starts [NumStages]MonthDay
}

// tableOf returns the table of a region; the continental one for any other.
func tableOf(r Region) *bandTable {
	switch r {
	case WesternEurope:
		return &westernEurope
	case SouthernEurope:
		return &southernEurope
	case SouthernMaritime:
		return &southernMaritime
	}
	return &continental
}

// In all tables build-up is when a warm day first allows to look at frames, as
// fruit trees begin to flower; the flow when supers go on and swarms come, as
// Robinia flowers; late summer when the main flow is over. What stands beside a
// row was seen in an excerpt at least, and made its first two dates where it
// says nothing else; all other dates are from memory. The last two of a row are
// common practice, no source.

// continental is a guess that mixes mild coasts and cold interiors. From memory.
var continental = bandTable{bands: []latitudeBand{
	{25.5, [NumStages]MonthDay{{1, 25}, {3, 10}, {6, 20}, {11, 15}, {12, 20}}},
	{30.5, [NumStages]MonthDay{{2, 12}, {4, 5}, {7, 5}, {11, 1}, {12, 5}}},
	{35.5, [NumStages]MonthDay{{3, 5}, {4, 25}, {7, 15}, {10, 15}, {11, 20}}},
	{40.5, [NumStages]MonthDay{{3, 28}, {5, 15}, {7, 25}, {9, 28}, {11, 5}}},
	{45.5, [NumStages]MonthDay{{4, 18}, {6, 5}, {8, 1}, {9, 20}, {10, 25}}},
	{50.5, [NumStages]MonthDay{{4, 15}, {6, 8}, {8, 5}, {9, 20}, {10, 25}}},
	{55.5, [NumStages]MonthDay{{4, 18}, {6, 15}, {8, 5}, {9, 12}, {10, 15}}},
	{60.5, [NumStages]MonthDay{{4, 22}, {6, 22}, {8, 8}, {9, 5}, {10, 5}}},
	{65.0, [NumStages]MonthDay{{4, 28}, {6, 25}, {8, 8}, {8, 28}, {9, 20}}},
}}

var westernEurope = bandTable{bands: []latitudeBand{
	// Landes, 44.0 N: Robinia flowers from the end of April, and from 8 May in
	// 2016, "a good ten days" late (a keeper's journal, 2014 to 2016).
	{43.5, [NumStages]MonthDay{{3, 8}, {4, 24}, {7, 20}, {9, 25}, {11, 10}}},
	// Brittany: spring visits from the middle of March, swarms in April and May,
	// spring honey taken in mid-May (ADA Bretagne in Paysan Breton, 2022, 2023).
	{48, [NumStages]MonthDay{{3, 18}, {5, 4}, {7, 25}, {9, 20}, {11, 3}}},
	// The Netherlands: spring inspection after mid-March, swarms in May, the last
	// honey off about 21 July (calendars of Imkerpedia and of a Flemish apiary).
	// England: swarms mainly from early May to mid-June (BBKA, in RHS News 2011).
	{51.5, [NumStages]MonthDay{{3, 26}, {5, 14}, {7, 30}, {9, 15}, {10, 28}}},
	{55, [NumStages]MonthDay{{4, 8}, {5, 25}, {8, 3}, {9, 10}, {10, 20}}},
	{58, [NumStages]MonthDay{{4, 20}, {6, 4}, {8, 8}, {9, 3}, {10, 10}}},
}}

var southernEurope = bandTable{bands: []latitudeBand{
	{35.5, [NumStages]MonthDay{{2, 10}, {3, 25}, {6, 28}, {10, 20}, {11, 30}}},
	// Setubal: by 10 April lavender, rock rose and orange stand at their height,
	// and a keeper has taken six swarms (a hobby apiary's journal, 2011).
	{38.5, [NumStages]MonthDay{{2, 22}, {4, 8}, {7, 5}, {10, 12}, {11, 22}}},
	{41, [NumStages]MonthDay{{3, 4}, {4, 20}, {7, 12}, {10, 5}, {11, 14}}},
	// Provence: almonds in February or March; the spring visit in the last two
	// weeks of March, on days above 20 C (an apiary's account of its year).
	{43.5, [NumStages]MonthDay{{3, 12}, {4, 27}, {7, 18}, {9, 28}, {11, 8}}},
	// Lombardy: Robinia forecast to flower from 25 April in the south of the
	// plain, from the 30th in most of it, five to ten days later in the north
	// (phenological maps of IPHEN for 2014, Apilombardia). Piedmont: supers off
	// between the end of July and the first days of August (L'Apicoltore Italiano).
	{45.5, [NumStages]MonthDay{{3, 17}, {5, 2}, {7, 25}, {9, 22}, {11, 1}}},
	{48, [NumStages]MonthDay{{3, 24}, {5, 12}, {7, 30}, {9, 18}, {10, 25}}},
}}

var southernMaritime = bandTable{south: true, bands: []latitudeBand{
	// Perth: as September begins some hives raise queens to swarm (a swarm
	// catcher's journal, 2016); jarrah flows in November (ABC Perth, 2010).
	{32, [NumStages]MonthDay{{8, 6}, {9, 18}, {1, 5}, {4, 12}, {6, 1}}},
	{35, [NumStages]MonthDay{{8, 14}, {9, 28}, {1, 10}, {4, 8}, {5, 26}}},
	// Melbourne: no frames in June and July, in August when the weather permits
	// (a calendar for Melbourne); swarms from the end of September to Christmas,
	// supers from mid-October (Southside Beekeepers, A Year in the Life).
	{38, [NumStages]MonthDay{{8, 24}, {10, 10}, {1, 18}, {4, 2}, {5, 20}}},
	// Wellington: swarms by October, the flow tapering off in February, hives set
	// for winter in May (About the Apiary, Wellington Beekeepers Association,
	// 1996 to 2002; its minutes of October 2015).
	{41.5, [NumStages]MonthDay{{9, 4}, {10, 22}, {1, 27}, {3, 27}, {5, 12}}},
	// South Canterbury: plum, cherry and willow from the end of September; the
	// flow's peak in mid-January (The New Zealand BeeKeeper, November 2016, March 2017).
	{44, [NumStages]MonthDay{{9, 14}, {11, 4}, {1, 31}, {3, 21}, {5, 4}}},
	{46.5, [NumStages]MonthDay{{9, 24}, {11, 15}, {2, 3}, {3, 15}, {4, 26}}},
}}
