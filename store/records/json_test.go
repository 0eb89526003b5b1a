package records

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"pryday/scheduler"
)

// example has every key of the document, the required ones as the design of
// the records shows them.
const example = `{
 "club": {"name": "Hollow Lane Beekeepers",
  "members": [
   {"name": "Ines", "email": "ines@example.org", "role": "organiser", "apiaries": ["Orchard"]},
   {"name": "Ødger", "email": "odger@example.net", "role": "keeper", "apiaries": ["Orchard", "Quarry"],
    "timezone": "Europe/Oslo", "language": "nb", "units": "in",
    "preferences": {"days_before": [3], "send_at": "06:30", "mute": ["moved"], "paused_until": "2026-02-01", "visit_hours": {"from": "09:00", "until": "12:30"}, "long_mail": true, "hours_a_day": 4.5, "visits_a_week": 2, "weekdays": ["wed", "sat"]},
    "no_go": [{"from": "2026-07-01", "until": "2026-07-14", "reason": "away"}]}
  ],
  "recalibration": {"made_on": "2026-06-01", "openings": 140, "hard": {"intercept": -0.2, "slope": 0.9}, "stuck": {"intercept": 0.1, "slope": 1.1}}, "kinds": [{"name": "long", "depth_mm": 300, "empty_kg": 14, "full_kg": 60, "frames": 20}]},
 "rules": {"odds_limit": 0.25, "stage": {"autumn": {"required": "none"}}},
 "apiaries": [
  {"name": "Orchard", "latitude": 44.1, "longitude": -79.9, "elevation_m": 310, "timezone": "America/Toronto",
   "season_shift_days": 0, "region": "western-europe", "seen": {"first-pollen": ["2026-04-02"], "supers-on": ["2025-05-11", "2026-05-09"]}, "weekdays": ["sat", "sun"], "travel_hours": 0.5, "trip": "valley", "access_notes": "gate\n1234",
   "keepers": ["odger@example.net", "ines@example.org"],
   "no_go": [{"from": "2026-06-01"}], "standstill": [{"from": "2026-05-01", "until": "2026-05-20", "reason": "order"}],
   "hives": [
    {"name": "Larch", "bee_space": "top", "leave_alone": [{"from": "2026-05-10", "until": "2026-05-31", "reason": "queen cells"}],
     "requeened": ["2025-06-11"],
     "events": [{"id": "5d1f0c52-58a3-4c0e-9c9f-1f0d6a0b7c11", "on": "2026-05-02", "what": "united", "other": {"apiary": "Quarry", "hive": "Oak"}, "from_apiary": "Quarry",
       "queen": "stays", "boxes": [{"hive": "Larch", "box": "R14", "position": 1, "listed": true, "openings": 2}], "under": [{"hive": "Larch", "box": "R14"}],
       "alone": {"from": "2026-05-02", "until": "2026-05-20", "reason": "young queen"}, "ended": false, "whom": "a neighbour", "note": "calm", "by": "ines@example.org"}],
     "boxes": [
      {"name": "R14", "kind": "deep", "set_up_on": "2025-05-01", "repaired": ["2025-12-01"],
       "openings": [
        {"on": "2026-04-20", "joint": 2, "frames": 1, "scraped": "all",
         "gaps": [{"at": "above-frames", "mm": 8.5}, {"at": "entrance", "peg": "thin-goes"}], "condition": ["warped"], "note": "...", "by": "INES@example.org"},
        {"id": "6f1ed002-ab56-4d5c-9f0a-2c5f6d3b1a77", "on": "2026-05-20", "joint": 3, "frames": null, "scraped": "part", "by": "ines@example.org", "opened_by": "odger@example.net"},
        {"id": "7f1ed002-ab56-4d5c-9f0a-2c5f6d3b1a77", "supersedes": "6f1ed002-ab56-4d5c-9f0a-2c5f6d3b1a77", "on": "2026-05-21", "void": true},
        {"on": "2026-06-20", "left_shut": true, "opened_by_name": "Old Tam",
         "said": {"made_on": "2026-06-21", "openings": 3, "hard": 0.3, "stuck": 0.1, "model_hard": 0.4, "model_stuck": 0.15, "rules": 2, "recalibrated_on": "2026-06-01"}}
       ]},
      {"name": "R15", "kind": "long", "set_up_on": "2025-05-01",
       "places": [{"from": "2025-05-01", "where": "hive", "apiary": "Quarry", "hive": "Oak", "position": 2}, {"from": "2025-08-01", "where": "hive"}],
       "openings": [{"on": "2025-07-01", "difficulty": 1}]},
      {"name": "R15", "kind": "deep", "set_up_on": "2024-05-01", "retired_on": "2025-04-30", "openings": []}
     ]}]},
  {"name": "Quarry", "latitude": 44.3, "longitude": -79.9, "elevation_m": 410, "timezone": "America/Toronto",
   "hives": [{"name": "Oak", "retired_on": "2025-09-01", "boxes": []}]}
 ],
 "boxes": [
  {"name": "S1", "kind": "shallow", "set_up_on": "2025-03-01", "openings": []},
  {"name": "S2", "kind": "shallow", "set_up_on": "2025-03-01", "places": [{"from": "2025-03-01", "where": "lent", "lent_to": "a neighbour", "until": "2026-09-01"}], "openings": []}
 ],
 "visits": [
  {"uid": "visit-1@example.org", "apiary": "Orchard", "on": "2026-07-04", "status": "confirmed", "sequence": 2, "pinned": true,
   "for": "opening", "seen_on": "2026-06-20", "who": ["odger@example.net"], "taken": ["odger@example.net"],
   "boxes": [{"hive": "Larch", "box": "R14", "due": "2026-07-10", "reason": "odds", "odds": 0.17, "stuck": 0.02}],
   "not_boxes": [{"hive": "Larch", "box": "R15"}, {"box": "S1"}], "not_opened": [{"hive": "Larch", "box": "R14"}],
   "ticks": [{"step": "outside", "on": "2026-07-04"}, {"step": "lid", "hive": "Larch", "on": "2026-07-04", "by": "odger@example.net"}, {"step": "joint", "hive": "Larch", "box": "R14", "on": "2026-07-05"}]}
 ],
 "told": [
  {"member": "odger@example.net", "kind": "digest", "visit": "visit-1@example.org", "on": "2026-07-04", "told_on": "2026-06-27"},
  {"member": "odger@example.net", "kind": "overdue", "apiary": "Orchard", "told_on": "2026-06-20"}
 ]
}`

func parse(t *testing.T, doc string) *scheduler.Club {
	t.Helper()
	c, err := Parse([]byte(doc))
	if err != nil {
		t.Fatalf("%v", err)
	}
	return c
}

func TestParseExample(t *testing.T) {
	c := parse(t, example)
	if c.Name != "Hollow Lane Beekeepers" || len(c.Members) != 2 || len(c.Apiaries) != 2 || len(c.Spare) != 3 || len(c.Visits) != 1 {
		t.Fatalf("got %+v", c)
	}
	if c.Rules.OddsLimit != 0.25 || c.Rules.MaxDays != 400 || c.Rules.Stages[scheduler.Autumn].Required != "" {
		t.Errorf("rules: %+v", c.Rules)
	}
	orchard := &c.Apiaries[0]
	if len(orchard.Keepers) != 2 || orchard.Keepers[0] != 2 {
		t.Errorf("the lead of Orchard is not the second member: %v", orchard.Keepers)
	}
	if p := c.Members[1].Prefs; p.HoursADay != 4.5 || p.VisitsAWeek != 2 || p.Weekdays != 1<<3|1<<6 {
		t.Errorf("what Ødger can give: %+v", p)
	}
	if orchard.Weekdays != 1|1<<6 || *orchard.TravelHours != 0.5 || orchard.Trip != "valley" || orchard.NoGo[0].Until != 0 {
		t.Errorf("Orchard: %+v", orchard)
	}
	r14 := &orchard.Hives[0].Boxes[0]
	o := r14.Openings
	if o[0].Difficulty() != scheduler.Firm || o[0].By != 1 || o[0].Gaps[0].MM != 8.5 || o[0].Gaps[1].Peg != scheduler.ThinGoes {
		t.Errorf("first opening: %+v", o[0])
	}
	if o[1].Frames != scheduler.NotTried || !o[2].Void || o[3].Joint != scheduler.Stuck || !o[3].LeftShut {
		t.Errorf("later openings: %+v", o[1:])
	}
	r15 := &orchard.Hives[0].Boxes[1]
	if r15.Places[0].HiveID != 2 || r15.Places[1].HiveID != 1 || r15.Openings[0].Joint != scheduler.Light {
		t.Errorf("R15: %+v", r15)
	}
	retired := &c.Spare[0]
	if retired.Name != "R15" || len(retired.Places) != 2 || retired.Places[1].Where != scheduler.Retired || retired.Places[0].HiveID != 1 {
		t.Errorf("the retired box: %+v", retired)
	}
	if c.Spare[1].Places[0].Where != scheduler.InStore {
		t.Errorf("S1: %+v", c.Spare[1])
	}
	v := &c.Visits[0]
	if v.Boxes[0].BoxID != r14.ID || len(v.NotOpened) != 1 || v.NotOpened[0] != r14.ID || v.NotBoxes[0] != r15.ID || v.NotBoxes[1] != c.Spare[1].ID || v.Who[0] != 2 {
		t.Errorf("visit: %+v", v)
	}
}

func TestRegionOfAnApiary(t *testing.T) {
	const now = `"season_shift_days": 0, "region": "western-europe"`
	for _, test := range []struct {
		name, keys string
		want       scheduler.Region
	}{
		{"chosen", now, scheduler.WesternEurope},
		{"by where it lies", `"season_shift_days": 9, "region": "by-place"`, ""},
		{"not said", `"season_shift_days": 0`, ""},
		{"not said, of a document with a shift, from before regions", `"season_shift_days": 9`, scheduler.Continental},
	} {
		c := parse(t, strings.Replace(example, now, test.keys, 1))
		if got := c.Apiaries[0].Region; got != test.want {
			t.Errorf("%s: %q, want %q", test.name, got, test.want)
		}
	}
	want := []scheduler.SeasonDay{
		{Event: scheduler.FirstPollen, On: scheduler.NewDate(2026, 4, 2)},
		{Event: scheduler.SupersOn, On: scheduler.NewDate(2025, 5, 11)},
		{Event: scheduler.SupersOn, On: scheduler.NewDate(2026, 5, 9)},
	}
	if got := parse(t, example).Apiaries[0].Seen; !slices.Equal(got, want) {
		t.Errorf("seen %v, want %v", got, want)
	}
}

func TestIdsAreDerivedTheSameEachTime(t *testing.T) {
	first, second := parse(t, example), parse(t, example)
	later := parse(t, strings.Replace(example, `{"on": "2025-07-01", "difficulty": 1}`, `{"on": "2025-06-01", "difficulty": 1}, {"on": "2025-07-01", "difficulty": 1}`, 1))
	id := func(c *scheduler.Club, n int) string { return c.Apiaries[0].Hives[0].Boxes[1].Openings[n].ID }
	if id(first, 0) == "" || id(first, 0) != id(second, 0) || id(first, 0) != id(later, 1) || id(later, 0) == id(later, 1) {
		t.Errorf("ids: %s, %s, %s and %s", id(first, 0), id(second, 0), id(later, 0), id(later, 1))
	}
}

func TestBrokenDocuments(t *testing.T) {
	for _, tt := range []struct {
		name     string
		old, new string // the change to the example
		path     string // of the one problem
		value    string // shown in the problem
		allowed  string // part of the problem's text
	}{
		{"unknown key", `"bee_space": "top"`, `"bee_spaces": "top"`, "apiaries[0].hives[0].bee_spaces", `"top"`, "bee_space"},
		{"unknown key at the top", `"rules": {`, `"rule": {"a": 1}, "rules": {`, "rule", "an object", "club, rules, apiaries, boxes, visits"},
		{"missing key", `"latitude": 44.1, `, ``, "apiaries[0].latitude", "", "-90 to 90"},
		{"missing list", `"boxes": []}]}`, `"bee_space": "top"}]}`, "apiaries[1].hives[0].boxes", "", "from the bottom up"},
		{"key twice", `"latitude": 44.1`, `"latitude": 44.1, "latitude": 44.1`, "apiaries[0].latitude", `"latitude"`, "each key once"},
		{"wrong kind", `"elevation_m": 310`, `"elevation_m": "310"`, "apiaries[0].elevation_m", `"310"`, "a number from -430 to 6000 m"},
		{"null", `"elevation_m": 310`, `"elevation_m": null`, "apiaries[0].elevation_m", "null", "a number from -430 to 6000 m"},
		{"object for list", `"weekdays": ["sat", "sun"]`, `"weekdays": {"sat": true}`, "apiaries[0].weekdays", "an object", "a list [ ... ] of days of the week"},
		{"region", `"western-europe"`, `"moon"`, "apiaries[0].region", `"moon"`, "by-place, continental, western-europe"},
		{"event of the season", `"supers-on": [`, `"supers-in": [`, "apiaries[0].seen.supers-in", "a list", "first-pollen, supers-on, supers-off"},
		{"day of the season", `"2026-05-09"`, `"May"`, "apiaries[0].seen.supers-on[1]", `"May"`, "2027-05-31"},
		{"day of the season twice", `"2026-05-09"`, `"2025-05-11"`, "apiaries[0].seen.supers-on[1]", "2025-05-11", "each day once"},
		{"latitude", `44.1`, `94.1`, "apiaries[0].latitude", "94.1", "-90 to 90 degrees"},
		{"huge number", `44.1`, `1e999`, "apiaries[0].latitude", "1e999", "-90 to 90 degrees"},
		{"longitude", `-79.9, "elevation_m": 310`, `-179.9e1, "elevation_m": 310`, "apiaries[0].longitude", "-179.9e1", "-180 to 180"},
		{"elevation", `"elevation_m": 310`, `"elevation_m": 9000`, "apiaries[0].elevation_m", "9000", "-430 to 6000"},
		{"joint", `"joint": 2`, `"joint": 7`, "apiaries[0].hives[0].boxes[0].openings[0].joint", "7", "0 loose, 1 light, 2 firm, 3 hard, 4 stuck"},
		{"joint missing", `"joint": 2, "frames": 1, `, ``, "apiaries[0].hives[0].boxes[0].openings[0].joint", "", "difficulty in place of"},
		{"joint with a fraction", `"joint": 2`, `"joint": 2.5`, "apiaries[0].hives[0].boxes[0].openings[0].joint", "2.5", "0 loose"},
		{"frames", `"frames": 1`, `"frames": -1`, "apiaries[0].hives[0].boxes[0].openings[0].frames", "-1", "0 loose"},
		{"frames in words", `"frames": 1`, `"frames": "light"`, "apiaries[0].hives[0].boxes[0].openings[0].frames", `"light"`, "null when no frame was tried"},
		{"difficulty beside joint", `"joint": 2`, `"difficulty": 2`, "apiaries[0].hives[0].boxes[0].openings[0].difficulty", "2", "either difficulty, or joint and frames"},
		{"scraped", `"scraped": "all"`, `"scraped": "most"`, "apiaries[0].hives[0].boxes[0].openings[0].scraped", `"most"`, "all, part, none"},
		{"scraped missing", `1, "scraped": "all"`, `1`, "apiaries[0].hives[0].boxes[0].openings[0].scraped", "", "all, part, none"},
		{"gap", `"mm": 8.5`, `"mm": 850`, "apiaries[0].hives[0].boxes[0].openings[0].gaps[0].mm", "850", "0 to 100 mm"},
		{"gap without answer", `, "mm": 8.5`, ``, "apiaries[0].hives[0].boxes[0].openings[0].gaps[0].mm", "", "thin-wont-go, thin-goes, thick-goes"},
		{"gap's place", `above-frames`, `over-frames`, "apiaries[0].hives[0].boxes[0].openings[0].gaps[0].at", `"over-frames"`, "above-frames, between-frames"},
		{"condition", `["warped"]`, `["wrapped"]`, "apiaries[0].hives[0].boxes[0].openings[0].condition[0]", `"wrapped"`, "warped, cracked"},
		{"who opened it", `INES@example.org`, `inez@example.org`, "apiaries[0].hives[0].boxes[0].openings[0].by", `"inez@example.org"`, "a member of the club"},
		{"opening before set-up", `"on": "2026-04-20"`, `"on": "2025-04-30"`, "apiaries[0].hives[0].boxes[0].openings[0].on", `"2025-04-30"`, "from set_up_on, 2025-05-01, on"},
		{"far future", `"on": "2026-04-20"`, `"on": "2201-01-01"`, "apiaries[0].hives[0].boxes[0].openings[0].on", `"2201-01-01"`, "1800-01-01 to 2200-12-31"},
		{"no such day", `"on": "2026-04-20"`, `"on": "2026-02-30"`, "apiaries[0].hives[0].boxes[0].openings[0].on", `"2026-02-30"`, "a day such as 2027-05-31"},
		{"day as people write it", `"on": "2026-04-20"`, `"on": "20.4.2026"`, "apiaries[0].hives[0].boxes[0].openings[0].on", `"20.4.2026"`, "a day such as 2027-05-31"},
		{"opening's id", `"id": "6f1ed002-ab56-`, `"id": "6f1ed002_ab56-`, "apiaries[0].hives[0].boxes[0].openings[1].id", `"6f1ed002_ab56-4d5c-9f0a-2c5f6d3b1a77"`, "a UUID such as"},
		{"id twice", `"id": "7f1ed002`, `"id": "6f1ed002`, "apiaries[0].hives[0].boxes[0].openings[2].id", `"6f1ed002-ab56-4d5c-9f0a-2c5f6d3b1a77"`, "each id once"},
		{"corrects nothing", `"supersedes": "6f1ed002`, `"supersedes": "5f1ed002`, "apiaries[0].hives[0].boxes[0].openings[2].supersedes", `"5f1ed002-ab56-4d5c-9f0a-2c5f6d3b1a77"`, "above it in the list"},
		{"void of nothing", `"supersedes": "6f1ed002-ab56-4d5c-9f0a-2c5f6d3b1a77", `, ``, "apiaries[0].hives[0].boxes[0].openings[2].void", "true", "only with"},
		{"kind of box", `"kind": "deep", "set_up_on": "2025`, `"kind": "deeep", "set_up_on": "2025`, "apiaries[0].hives[0].boxes[0].kind", `"deeep"`, "deep, medium, shallow, long"},
		{"own kind twice", `"frames": 20}`, `"frames": 20}, {"name": "long", "depth_mm": 300, "empty_kg": 14, "full_kg": 60, "frames": 20}`, "club.kinds[1].name", `"long"`, "each name once"},
		{"own kind lighter when full", `"full_kg": 60`, `"full_kg": 6`, "club.kinds[0].full_kg", "6", "at least 14 kg"},
		{"zone", `"timezone": "America/Toronto",
   "season`, `"timezone": "America/Hamelin",
   "season`, "apiaries[0].timezone", `"America/Hamelin"`, "an IANA zone name"},
		{"machine's own zone", `Europe/Oslo`, `Local`, "club.members[1].timezone", `"Local"`, "an IANA zone name"},
		{"zone out of its folder", `Europe/Oslo`, `../etc/passwd`, "club.members[1].timezone", `"../etc/passwd"`, "an IANA zone name"},
		{"weekday", `["sat", "sun"]`, `["sat", "Sunday"]`, "apiaries[0].weekdays[1]", `"Sunday"`, "sun, mon, tue"},
		{"role", `"organiser"`, `"chair"`, "club.members[0].role", `"chair"`, "organiser, keeper"},
		{"address", `"ines@example.org"`, `"Ines <ines@example.org>"`, "club.members[0].email", `"Ines <ines@example.org>"`, "name@example.org"},
		{"address twice", `"odger@example.net", "role"`, `"Ines@Example.ORG", "role"`, "club.members[1].email", `"Ines@Example.ORG"`, "whether in capitals or not"},
		{"member's apiary", `["Orchard", "Quarry"]`, `["Orchard", "Quary"]`, "club.members[1].apiaries[1]", `"Quary"`, "Orchard, Quarry"},
		{"language", `"nb"`, `"norwegian!"`, "club.members[1].language", `"norwegian!"`, "en-CA"},
		{"units", `"in",`, `"inch",`, "club.members[1].units", `"inch"`, "mm, in"},
		{"send at", `"06:30"`, `"24:00"`, "club.members[1].preferences.send_at", `"24:00"`, "00:00 to 23:59"},
		{"mute", `["moved"]`, `["sign-in"]`, "club.members[1].preferences.mute[0]", `"sign-in"`, "digest, day, overdue, escalation, moved"},
		{"hours turned round", `"until": "12:30"`, `"until": "08:30"`, "club.members[1].preferences.visit_hours.until", `"08:30"`, "a later time"},
		{"period turned round", `"until": "2026-07-14"`, `"until": "2026-06-14"`, "club.members[1].no_go[0].until", `"2026-06-14"`, "the last day"},
		{"apiary twice", `"Quarry", "latitude"`, `"Orchard", "latitude"`, "apiaries[1].name", `"Orchard"`, "each name once in the club"},
		{"box twice on a hive", `"R15", "kind": "long"`, `"R14", "kind": "long"`, "apiaries[0].hives[0].boxes[1].name", `"R14"`, "each name once in its hive"},
		{"blank name", `"Larch", "bee`, `"  ", "bee`, "apiaries[0].hives[0].name", `"  "`, "1 to 200 characters"},
		{"control character", `"Larch", "bee`, `"La\u0000rch", "bee`, "apiaries[0].hives[0].name", `"La\x00rch"`, "without control characters"},
		{"half a character", `"Larch", "bee`, `"La\ud800rch", "bee`, "apiaries[0].hives[0].name", `"La�rch"`, "U+FFFD"},
		{"long name", `"Larch", "bee`, `"` + strings.Repeat("é", 201) + `", "bee`, "apiaries[0].hives[0].name", `"ééé`, "has 201 characters"},
		{"place", `"where": "lent"`, `"where": "loaned"`, "boxes[1].places[0].where", `"loaned"`, "hive, store, lent, retired"},
		{"place's hive", `"hive": "Oak", "position"`, `"hive": "Elm", "position"`, "apiaries[0].hives[0].boxes[1].places[0].hive", `"Elm"`, "a hive of this document"},
		{"places out of order", `{"from": "2025-08-01", "where": "hive"}`, `{"from": "2025-08-01", "where": "hive"}, {"from": "2025-07-01", "where": "hive"}`, "apiaries[0].hives[0].boxes[1].places[2].from", `"2025-07-01"`, "in the order of their days"},
		{"listed elsewhere", `, {"from": "2025-08-01", "where": "hive"}`, ``, "apiaries[0].hives[0].boxes[1].places[0]", "an object", "under the hive that they stand on now"},
		{"visit's status", `"confirmed"`, `"sure"`, "visits[0].status", `"sure"`, "tentative, confirmed, unanswered, done, missed, cancelled"},
		{"visit's box", `"box": "R14", "due"`, `"box": "R41", "due"`, "visits[0].boxes[0]", "an object", "where it stands now"},
		{"visit's apiary", `"apiary": "Orchard", "on"`, `"apiary": "orchard", "on"`, "visits[0].apiary", `"orchard"`, "Orchard, Quarry"},
		{"visit's odds", `0.17`, `1.7`, "visits[0].boxes[0].odds", "1.7", "from 0 to 1"},
		{"rule out of range", `"odds_limit": 0.25`, `"odds_limit": 25`, "rules.odds_limit", "25", "0.01 to 0.9"},
		{"rule unknown", `"odds_limit": 0.25`, `"odd_limit": 0.25`, "rules.odd_limit", "0.25", "odds_limit, min_days"},
		{"rule unknown in a table", `"required": "none"`, `"require": "none"`, "rules.stage.autumn.require", `"none"`, "pace, open, required, starts"},
		{"rules that cross", `"odds_limit": 0.25`, `"max_days": 30, "min_days": 30`, "rules.min_days", "30", "fewer days than max_days"},
		{"rule against a default", `{"required": "none"}`, `{"open": false}`, "rules.stage.autumn.required", "visit", "with open = false"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			broken := strings.Replace(example, tt.old, tt.new, 1)
			if broken == example {
				t.Fatal("the example does not hold what is to be broken")
			}
			c, err := Parse([]byte(broken))
			if c != nil {
				t.Error("a club came back from a broken document")
			}
			var ps Problems
			if !errors.As(err, &ps) {
				t.Fatalf("got %v", err)
			}
			p, line := ps[0], changedLine(example, broken)
			if len(ps) != 1 || p.Path != tt.path || p.Line != line || !strings.Contains(p.Value, tt.value) || p.Column == 0 {
				t.Errorf("got %d problems:\n%v\nwant %s on line %d with %s", len(ps), err, tt.path, line, tt.value)
			}
			saidInGerman(t, ps)
			for _, part := range []string{tt.path, tt.allowed, "line "} {
				if !strings.Contains(err.Error(), part) {
					t.Errorf("the error does not say %q: %v", part, err)
				}
			}
		})
	}
}

// changedLine returns the line on which two texts begin to differ.
func changedLine(a, b string) int {
	n := 0
	for n < len(a) && n < len(b) && a[n] == b[n] {
		n++
	}
	return 1 + strings.Count(a[:n], "\n")
}

// TestNobodySaidHowHard: an opening may be written down without a word of how
// hard it was, in both forms; a box that was left shut may not.
func TestNobodySaidHowHard(t *testing.T) {
	const opened = `{"on": "2026-07-20", "joint": null, "frames": null}`
	c := parse(t, `{"club": {"name": "C", "members": []}, "apiaries": [{"name": "A", "latitude": 44, "longitude": 1, "elevation_m": 0, "timezone": "UTC",
		"hives": [{"name": "H", "boxes": [{"name": "1", "kind": "deep", "set_up_on": "2026-04-01", "openings": [`+opened+`]}]}]}]}`)
	o := c.Apiaries[0].Hives[0].Boxes[0].Openings[0]
	if o.Difficulty() != scheduler.NotTried || o.Scraped != "" || o.LeftShut {
		t.Errorf("read %+v", o)
	}
	again := parse(t, mustEncode(t, c)).Apiaries[0].Hives[0].Boxes[0].Openings[0]
	if !again.SameAnswers(&o) {
		t.Errorf("written and read again: %+v", again)
	}
	unscraped := parse(t, strings.Replace(mustEncode(t, c), `"joint": null`, `"scraped": null, "joint": 2`, 1))
	if o := unscraped.Apiaries[0].Hives[0].Boxes[0].Openings[0]; o.Joint != scheduler.Firm || o.Scraped != "" {
		t.Errorf("graded, and nothing said of scraping: %+v", o)
	}
	if again := parse(t, mustEncode(t, unscraped)).Apiaries[0].Hives[0].Boxes[0].Openings[0]; again.Scraped != "" {
		t.Errorf("written and read again, %q was scraped", again.Scraped)
	}
	list := EncodeOpenings(c)
	if !strings.Contains(string(list), "2026-07-20,?,none,") {
		t.Errorf("as a list: %s", list)
	}
	if n, err := ParseOpenings(list, c, CSVOptions{}); n != 0 || err != nil {
		t.Errorf("its own list adds %d openings: %v", n, err)
	}
	c.Apiaries[0].Hives[0].Boxes[0].Openings = nil
	if _, err := ParseOpenings(list, c, CSVOptions{}); err != nil || c.Apiaries[0].Hives[0].Boxes[0].Openings[0].Difficulty() != scheduler.NotTried {
		t.Errorf("from the list: %+v, %v", c.Apiaries[0].Hives[0].Boxes[0].Openings, err)
	}
	_, err := Parse([]byte(strings.Replace(example, `"joint": 2`, `"left_shut": true, "joint": null`, 1)))
	if err == nil || !strings.Contains(err.Error(), "joint") {
		t.Errorf("left shut, and nobody said how hard: %v", err)
	}
}
