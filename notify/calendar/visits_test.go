package calendar

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/emersion/go-ical"
	"pgregory.net/rapid"

	"pryday/scheduler"
)

// today is the day of every feed in these tests.
var today = day(2027, 5, 1)

// club is an invented club of one apiary.
func club() *scheduler.Club {
	return &scheduler.Club{
		ID: 1, Name: "Tarn Valley Hive Circle", Rules: scheduler.DefaultRules(),
		Members: []scheduler.Member{{ID: 11, Name: "Maren Okoro"}, {ID: 12, Name: "Teodor Quill"}},
		Apiaries: []scheduler.Apiary{{
			ID: 21, Name: "Orchard, east", Latitude: 54.2, Longitude: -7.6, Timezone: "Europe/Dublin", AccessNotes: "gate code 4711",
			Hives: []scheduler.Hive{{ID: 31, Name: "Larch", Boxes: []scheduler.Box{
				{ID: 41, Name: "R14", Kind: "deep", SetUpOn: day(2025, 5, 1), Openings: []scheduler.Opening{{
					ID: "o", On: day(2026, 8, 20), Joint: scheduler.Hard, Condition: []scheduler.Condition{scheduler.LugBroken},
				}}},
				{ID: 42, Name: "R15", Kind: "medium", SetUpOn: day(2026, 5, 1)},
			}}},
		}},
	}
}

func visit(uid string, on scheduler.Date, status scheduler.VisitStatus) VisitRecord {
	return VisitRecord{ChangedAt: changed.AddDate(0, 2, 20), CancelledUntil: today + CancelledDays, Visit: scheduler.Visit{
		ID: 1, UID: uid, ApiaryID: 21, On: on, Status: status, Sequence: 2, Who: []int64{12, 11}, Taken: []int64{12, 11},
		Boxes: []scheduler.VisitBox{
			{BoxID: 42, Due: on + 9, Reason: scheduler.BecauseAbove, Odds: 0.03},
			{BoxID: 41, Due: on + 2, Reason: scheduler.BecauseOdds, Odds: 0.21},
		},
	}}
}

func TestEventsWindow(t *testing.T) {
	late := visit("late", today+5, scheduler.Cancelled)
	late.CancelledUntil = today // cancelled 30 days ago
	gone := visit("gone", today+5, scheduler.Cancelled)
	gone.CancelledUntil = today - 1
	unseen := visit("unseen", today-2+TentativeDays+1, scheduler.Cancelled) // two days ago, when no feed showed it
	unseen.CancelledUntil = today - 2 + CancelledDays
	elsewhere := visit("elsewhere", today, scheduler.Confirmed)
	elsewhere.ApiaryID = 99
	all := []VisitRecord{
		visit("confirmed", today+7, scheduler.Confirmed), visit("far-confirmed", today+90, scheduler.Confirmed),
		visit("tentative", today+TentativeDays, scheduler.Tentative), visit("far", today+TentativeDays+1, scheduler.Tentative),
		visit("done", today-PastDays, scheduler.Done), visit("old", today-PastDays-1, scheduler.Done),
		visit("missed", today-3, scheduler.Missed), late, gone, unseen, elsewhere, visit("", today+1, scheduler.Confirmed),
	}
	cases := []struct {
		name    string
		options Options
		want    string
	}{
		{"as it comes", Options{}, "confirmed far-confirmed tentative done missed late"},
		{"only confirmed", Options{OnlyConfirmed: true}, "confirmed far-confirmed done missed late"},
		{"far ones as well", Options{FarTentative: true}, "confirmed far-confirmed tentative far done missed late unseen"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			c.options.Today = today
			var got []string
			for _, e := range EventsOf(club(), all, c.options) {
				got = append(got, e.UID)
			}
			if s := strings.Join(got, " "); s != c.want {
				t.Errorf("got %q, want %q", s, c.want)
			}
		})
	}
}

// A title says what matters in a narrow cell, and an entry looks like what became of it.
func TestTitles(t *testing.T) {
	untaken := func(v VisitRecord) VisitRecord { v.Taken = nil; return v }
	empty := visit("v", today+7, scheduler.Confirmed)
	empty.Boxes = nil
	one := visit("v", today-7, scheduler.Done)
	one.Opened = []int64{42}
	confirmed, tentative := visit("v", today+7, scheduler.Confirmed), visit("v", today+7, scheduler.Tentative)
	for _, c := range []struct {
		name, language, title, colour, categories string
		visit                                     VisitRecord
		status                                    Status
	}{
		{"somebody goes", "", "Orchard, east: 2 boxes", "goldenrod", "Beekeeping|Opening boxes", confirmed, Confirmed},
		{"nobody said so", "", "Orchard, east: nobody yet, 2 boxes", "tomato", "Beekeeping|Opening boxes", untaken(confirmed), Confirmed},
		{"nothing to open", "", "Orchard, east: nobody yet, outside look", "tomato", "Beekeeping", untaken(empty), Confirmed},
		{"tentative", "", "Orchard, east: not fixed, 2 boxes", "tan", "Beekeeping|Opening boxes", untaken(tentative), Tentative},
		{"unanswered", "", "Orchard, east: no answer, 2 boxes", "orange", "Beekeeping, no answer", visit("v", today-1, scheduler.Unanswered), Confirmed},
		{"done", "", "Orchard, east ✓ 1 box", "darkseagreen", "Beekeeping, done", one, Confirmed},
		{"done, nothing written down", "", "Orchard, east ✓ no box written down", "darkseagreen", "Beekeeping, done", visit("v", today-7, scheduler.Done), Confirmed},
		{"missed", "", "Orchard, east ✗ 2 boxes", "indianred", "Beekeeping, missed", visit("v", today-7, scheduler.Missed), Confirmed},
		{"cancelled", "", "Orchard, east: cancelled", "gray", "Beekeeping, cancelled", visit("v", today+7, scheduler.Cancelled), Cancelled},
		{"German", "de-DE", "Orchard, east: noch niemand, 2 Zargen", "tomato", "Imkerei|Zargen öffnen", untaken(confirmed), Confirmed},
		{"German, done", "de", "Orchard, east ✓ 1 Zarge", "darkseagreen", "Imkerei, erledigt", one, Confirmed},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := EventsOf(club(), []VisitRecord{c.visit}, Options{Today: today, Language: c.language, Alarm: time.Hour})[0]
			if e.Summary != c.title || e.Status != c.status || e.Colour != c.colour || strings.Join(e.Categories, "|") != c.categories {
				t.Errorf("%q, %s, %s, %q", e.Summary, e.Status, e.Colour, e.Categories)
			}
			if (e.Alarm > 0) != c.visit.Status.Open() {
				t.Errorf("alarm %s on a visit that is %s", e.Alarm, c.visit.Status)
			}
		})
	}
}

// Where boxes of two hives have one mark, the reasons name their hives.
func TestReasonsNameTheHiveOfAMarkThatIsThereTwice(t *testing.T) {
	c, v := club(), visit("v", today+7, scheduler.Confirmed)
	c.Apiaries[0].Hives = append(c.Apiaries[0].Hives, scheduler.Hive{ID: 77, Name: "22", Boxes: []scheduler.Box{{ID: 78, Name: "R14", Kind: "deep", SetUpOn: today - 400}}})
	v.Boxes = append(v.Boxes, scheduler.VisitBox{BoxID: 78, Reason: scheduler.BecauseOdds, Odds: .34})
	for language, want := range map[string]string{
		"":   "R14 of Larch and R14 of Hive 22, each - its seal is getting hard to break",
		"de": "R14 von Larch und R14 von Volk 22",
	} {
		e := EventsOf(c, []VisitRecord{v}, Options{Today: today, Language: language})[0]
		if said := strings.ReplaceAll(e.Description, "\u00a0", " "); !strings.Contains(said, want) {
			t.Errorf("want %q in\n%s", want, said)
		}
	}
}

func TestEventWords(t *testing.T) {
	url := func(v *VisitRecord) string { return "https://hives.example/visit/" + v.UID }
	const page = "\nChecklist and form: https://hives.example/visit/v"
	with := func(v VisitRecord, change func(*VisitRecord)) VisitRecord { change(&v); return v }
	confirmed, done := visit("v", today+7, scheduler.Confirmed), visit("v", today-7, scheduler.Done)
	odds := func(chances ...float64) func(*VisitRecord) {
		return func(v *VisitRecord) {
			v.Boxes = nil
			for i, p := range chances {
				v.Boxes = append(v.Boxes, scheduler.VisitBox{BoxID: int64(41 + i%2), Reason: scheduler.BecauseOdds, Odds: p})
			}
		}
	}
	cases := []struct {
		name, language string
		visit          VisitRecord
		says, silent   string // in the description
	}{
		{"who goes, and the page", "", confirmed, "Going: Teodor Quill and Maren Okoro." + page + "\nHive Larch, from the top: R15, R14\n", "cancel"},
		{"the reasons", "", confirmed, "R15 - it stands on a box that is due\nR14 - its seal is getting hard to break; a 1 in 5 chance that it is hard to open\nBring: ", "each"},
		{"one reason for all", "", with(confirmed, odds(.21, .34)), "Each of them - its seal is getting hard to break; a 1 in 3 chance that it is hard to open, for the hardest of them\nBring", "R14 -"},
		{"one reason for some", "", with(confirmed, func(v *VisitRecord) {
			odds(.21, .34)(v)
			v.Boxes = append(v.Boxes, scheduler.VisitBox{BoxID: 41, Reason: scheduler.BecauseAbove})
		}), "R14 and R15, each - its seal is getting hard to break; a 1 in 3 chance that it is hard to open, for the hardest of them\nR14 - it stands", ""},
		{"parts", "", confirmed, "Also: frame, empty box", ""},
		{"nobody, and none expected", "", with(confirmed, func(v *VisitRecord) { v.Taken, v.Who = nil, nil }), "Nobody has said yet that they are going." + page, "Going"},
		{"expected only", "", with(confirmed, func(v *VisitRecord) { v.Taken = nil }), "Nobody has said yet that they are going. Expected: Teodor Quill and Maren Okoro." + page, "Going"},
		{"one said so", "", with(confirmed, func(v *VisitRecord) { v.Taken = v.Taken[:1] }), "Going: Teodor Quill." + page, "Maren"},
		{"tentative", "", visit("v", today+7, scheduler.Tentative), "Take care: ", ""},
		{"cancelled", "", visit("v", today+7, scheduler.Cancelled), "does not take place. The entry goes away by itself." + page, "Larch"},
		{"done", "", done, "This visit was made.\nHad said that they go: Teodor Quill and Maren Okoro." + page, "Bring"},
		{"done, nothing written down", "", done, page + "\n2 boxes have nothing written down: R15, R14 of Larch", "opened"},
		{"done, and some not opened", "", with(done, func(v *VisitRecord) { v.Opened, v.NotOpened = []int64{42}, []int64{41} }), page + "\n1 box was opened: R15 of Larch\n1 box was not opened: R14 of Larch", "written"},
		{"what stands on an opened box came off", "", with(done, func(v *VisitRecord) { v.Opened = []int64{41} }), page + "\n2 boxes were opened: R15, R14 of Larch", "written"},
		{"missed", "", visit("v", today-7, scheduler.Missed), "Missed: nobody said", "Bring"},
		{"unanswered", "", visit("v", today-1, scheduler.Unanswered), "The day is over, and nobody has said yet whether this visit was made.", "Bring"},
		{"came in without reasons", "", with(visit("v", today-7, scheduler.Missed), func(v *VisitRecord) { v.Boxes = []scheduler.VisitBox{{BoxID: 41}} }), "\nHive Larch, from the top: R14", " - "},
		{"nothing to open", "", with(confirmed, func(v *VisitRecord) { v.Boxes = nil }), "Bring", "Hive Larch"},
		{"German", "de-DE", confirmed, "Es fahren: Teodor Quill und Maren Okoro.\nCheckliste und Formular: https://", "Going"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			e := EventsOf(club(), []VisitRecord{c.visit}, Options{Today: today, Language: c.language, VisitURL: url})[0]
			if !strings.Contains(e.Description, c.says) || c.silent != "" && strings.Contains(e.Description, c.silent) {
				t.Errorf("want %q and not %q in\n%s", c.says, c.silent, e.Description)
			}
			if n := strings.Count(e.Description, "Take care: "); n > 2 {
				t.Errorf("%d cautions", n)
			}
		})
	}
}

// However many boxes a visit has, its entry stays short.
func TestEntryOfManyBoxes(t *testing.T) {
	v := visit("v", today+7, scheduler.Confirmed)
	for len(v.Boxes) < 60 {
		v.Boxes = append(v.Boxes, v.Boxes[len(v.Boxes)%2])
	}
	e := EventsOf(club(), []VisitRecord{v}, Options{Today: today})[0]
	if !strings.Contains(e.Description, "and 36 more boxes on the visit's page") || strings.Count(e.Description, "\n") > 9 {
		t.Errorf("%s", e.Description)
	}
}

// Access notes never stand in a calendar, an exact place only when asked for.
func TestEventsKeepPlacesToThemselves(t *testing.T) {
	for _, exact := range []bool{false, true} {
		out := render(t, Feed{Events: EventsOf(club(), []VisitRecord{visit("v", today+7, scheduler.Confirmed)}, Options{Today: today, ExactPlace: exact})})
		if bytes.Contains(out, []byte("4711")) || bytes.Contains(out, []byte("54.2")) != exact {
			t.Errorf("exact place %t:\n%s", exact, out)
		}
	}
}

// Timed events take the member's zone, or the apiary's where they have none.
func TestEventsTimed(t *testing.T) {
	hours := &scheduler.HoursOfDay{From: 540, Until: 720}
	for zone, want := range map[string]string{"": "TZID=Europe/Dublin:20270508T090000", "America/Toronto": "TZID=America/Toronto:20270508T090000"} {
		out := render(t, Feed{Events: EventsOf(club(), []VisitRecord{visit("v", today+7, scheduler.Confirmed)}, Options{Today: today, Hours: hours, Zone: zone})})
		if !bytes.Contains(out, []byte("DTSTART;"+want)) || bytes.Count(out, []byte("BEGIN:VTIMEZONE")) != 1 {
			t.Errorf("zone %q:\n%s", zone, out)
		}
	}
}

// Whatever stands in the records, two decoders agree with them on every event.
func TestDecodersAgreeWithRecords(t *testing.T) {
	names := rapid.OneOf(rapid.SampledFrom(texts), rapid.String())
	rapid.Check(t, func(r *rapid.T) {
		c := club()
		c.Name = names.Draw(r, "club")
		c.Apiaries[0].Name = names.Draw(r, "apiary")
		c.Apiaries[0].Hives[0].Name = names.Draw(r, "hive")
		c.Members[0].Name = names.Draw(r, "member")
		statuses := []scheduler.VisitStatus{scheduler.Tentative, scheduler.Confirmed, scheduler.Done, scheduler.Missed, scheduler.Cancelled}
		var visits []VisitRecord
		for i := range rapid.IntRange(0, 12).Draw(r, "visits") {
			v := visit(fmt.Sprint("v", i), today+scheduler.Date(rapid.IntRange(-80, 200).Draw(r, "day")), rapid.SampledFrom(statuses).Draw(r, "status"))
			v.Sequence = rapid.IntRange(0, 1000).Draw(r, "sequence")
			visits = append(visits, v)
		}
		o := Options{Today: today, FarTentative: true}
		if rapid.Bool().Draw(r, "timed") {
			o.Hours = &scheduler.HoursOfDay{From: 600, Until: 660}
		}
		events := EventsOf(c, visits, o)
		f := Feed{Name: c.Name, Events: events}
		out, err := Render(f)
		if err != nil {
			r.Fatal(err)
		}
		again, err := Render(Feed{Name: c.Name, Events: EventsOf(c, visits, o)})
		if err != nil || !bytes.Equal(out, again) {
			r.Fatal("two renders differ")
		}
		checkLines(t, out)
		a, b := decode(t, out)
		first, second := map[string]string{}, map[string]string{}
		for _, e := range a.Events() {
			get := func(p ics.ComponentProperty) string {
				if v := e.GetProperty(p); v != nil {
					return v.Value
				}
				return ""
			}
			first[e.Id()] = strings.Join([]string{get(ics.ComponentPropertyDtStart)[:8], get(ics.ComponentPropertySummary), get(ics.ComponentPropertyDescription), get("STATUS"), get("SEQUENCE")}, "|")
		}
		for _, e := range b.Events() {
			get := func(name string) string {
				s, err := e.Props.Text(name)
				if err != nil {
					r.Fatal(err)
				}
				return s
			}
			second[get("UID")] = strings.Join([]string{e.Props.Get(ical.PropDateTimeStart).Value[:8], get("SUMMARY"), get("DESCRIPTION"), get("STATUS"), e.Props.Get("SEQUENCE").Value}, "|")
		}
		if len(first) != len(events) || len(second) != len(events) {
			r.Fatalf("%d events, read back %d and %d", len(events), len(first), len(second))
		}
		for _, e := range events {
			want := strings.Join([]string{e.On.Format("20060102"), CleanLine(e.Summary), Clean(e.Description), string(e.Status), fmt.Sprint(e.Sequence)}, "|")
			if uid := e.UID + uidDomain; first[uid] != want || second[uid] != want {
				r.Fatalf("want %q, read back\n%q\n%q", want, first[uid], second[uid])
			}
		}
	})
}

// A name with line breaks stays on its line: it cannot pass for advice.
func TestNamesCannotPassForLines(t *testing.T) {
	c := club()
	c.Members[0].Name, c.Apiaries[0].Hives[0].Name, c.Apiaries[0].Hives[0].Boxes[0].Name = "M\nGoing: x", "H\r\nBring: x", "B\u2028Take care: x"
	e := EventsOf(c, []VisitRecord{visit("v", today+7, scheduler.Confirmed)}, Options{Today: today})[0]
	for line := range strings.SplitSeq(Clean(e.Description), "\n") {
		if strings.HasSuffix(line, ": x") && (strings.HasPrefix(line, "Going") || strings.HasPrefix(line, "Bring") || strings.HasPrefix(line, "Take care")) {
			t.Errorf("%q stands there as a line", line)
		}
	}
}

func BenchmarkRender400(b *testing.B) {
	var visits []VisitRecord
	for i := range 400 {
		visits = append(visits, visit(fmt.Sprint("v", i), today+scheduler.Date(i%300), scheduler.Confirmed))
	}
	c := club()
	for b.Loop() {
		if _, err := Render(Feed{Name: c.Name, Events: EventsOf(c, visits, Options{Today: today})}); err != nil {
			b.Fatal(err)
		}
	}
}

// An entry does not call a box hard that has a small chance of being so.
func TestEntriesAgreeWithTheirNumbers(t *testing.T) {
	v := visit("v", today+7, scheduler.Confirmed)
	v.Boxes[1].Odds = 1. / 45
	for language, want := range map[string]string{
		"en": "R14 - left longer, its seal gets hard to break; a 1 in 45 chance that it is hard to open",
		"de": "R14 – bleibt sie länger zu, wird die Verkittung zu fest; in 1 von 45 Fällen geht sie schwer auf",
	} {
		e := EventsOf(club(), []VisitRecord{v}, Options{Today: today, Language: language})
		if len(e) != 1 || !strings.Contains(e[0].Description, want) {
			t.Errorf("%s: %v does not say %q", language, e, want)
		}
	}
}
