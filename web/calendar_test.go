package web

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"github.com/chromedp/cdproto/cdp"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// calendarOf is what a member, Ansel (1) who organises or Brida (2) who keeps Quarry,
// sees of some visits of the club.
func calendarOf(member int64, visits ...scheduler.Visit) *calendarRecords {
	club := quarryClub()
	rec := &calendarRecords{club: club, today: today, say: &text.Speaker{}, names: scheduler.NewNames(club)}
	rec.who = &visitor{Membership: store.Membership{MemberID: member, Role: club.Member(member).Role}}
	for i, v := range visits {
		v.ID, v.UID, v.ApiaryID = int64(i+1), fmt.Sprint(i), cmp.Or(v.ApiaryID, 2)
		rec.visits = append(rec.visits, store.CalendarVisit{Visit: v, Work: scheduler.Work{Openings: 3}})
	}
	slices.SortStableFunc(rec.visits, func(a, b store.CalendarVisit) int { return cmp.Compare(a.On, b.On) })
	return rec
}

func expectedOn(on scheduler.Date, who ...int64) scheduler.Visit {
	return scheduler.Visit{On: on, Status: scheduler.Confirmed, Who: who}
}

// Every state has a sign of its own and says what it is in words.
func TestSignsOfACalendar(t *testing.T) {
	t.Parallel()
	signs := map[string]bool{}
	for _, row := range []struct {
		visit       scheduler.Visit
		class, says string
		toBrida     string
	}{
		{expectedOn(today), "nobody", "nobody goes", ""},
		{scheduler.Visit{On: today, Status: scheduler.Confirmed, NoTime: true}, "nobody", "nobody has time", ""},
		{expectedOn(today, 2), "expected", "expected: Brida Okonjo", "expected: you"},
		{scheduler.Visit{On: today, Status: scheduler.Tentative, Who: []int64{3, 2}}, "expected", "expected: Corin Tasker and Brida Okonjo · may still move", "expected: you and Corin Tasker · may still move"},
		{scheduler.Visit{On: today, Status: scheduler.Confirmed, Who: []int64{3, 2, 1}, Taken: []int64{3, 2, 1}}, "going", "you, Corin Tasker and 1 other", "you, Corin Tasker and 1 other"},
		{scheduler.Visit{On: today, Status: scheduler.Confirmed, Who: []int64{2, 3}, Taken: []int64{3}}, "going", "Corin Tasker", ""},
		{scheduler.Visit{On: today - 1, Status: scheduler.Unanswered, Who: []int64{2}}, "unanswered", "no word of it yet", ""},
		{scheduler.Visit{On: today - 1, Status: scheduler.Done, Who: []int64{2}}, "done", "done: Brida Okonjo", "done: you"},
		{scheduler.Visit{On: today - 1, Status: scheduler.Done}, "done", "done", ""},
		{scheduler.Visit{On: today - 1, Status: scheduler.Missed, Who: []int64{2}}, "missed", "missed", ""},
		{scheduler.Visit{On: today + 1, Status: scheduler.Cancelled, Who: []int64{2}}, "cancelled", "cancelled", ""},
	} {
		for member, says := range map[int64]string{1: row.says, 2: cmp.Or(row.toBrida, row.says)} {
			got := calendarOf(member).entry(&row.visit)
			if got.Class != row.class || got.Says != says || got.Mine != slices.Contains(row.visit.Who, member) {
				t.Errorf("%s to member %d: %+v, want %s: %q", row.visit.Status, member, got, row.class, says)
			}
		}
		signs[signOf(&row.visit).Sign] = true
	}
	if len(signs) != len(visitSigns) {
		t.Errorf("%d signs of %d: %v", len(signs), len(visitSigns), signs)
	}
}

// A month is a table of whole weeks, whose days follow one another, whatever the
// clocks do: on 28 March 2027 and 31 October 2027 they change in Vienna.
func TestAMonthIsWholeWeeks(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		month, language   string
		weeks, week       int // and the number of the first
		first, last, head string
	}{
		{"2027-02", "", 4, 5, "2027-02-01", "2027-02-28", "Monday"},
		{"2027-02", "en-US", 5, 0, "2027-01-31", "2027-03-06", "Sunday"},
		{"2026-08", "de", 6, 31, "2026-07-27", "2026-09-06", "Montag"},
		{"2027-03", "en-GB", 5, 9, "2027-03-01", "2027-04-04", "Monday"},
		{"2027-10", "", 5, 39, "2027-09-27", "2027-10-31", "Monday"},
		{"2028-02", "en-CA", 5, 0, "2028-01-30", "2028-03-04", "Sunday"},
		{"2021-01", "", 5, 53, "2020-12-28", "2021-01-31", "Monday"}, // ISO 8601: the week of 1 January 2021 is the 53rd of 2020
		{"1800-01", "", 5, 1, "1799-12-30", "1800-02-02", "Monday"},
		{"2200-12", "", 5, 49, "2200-12-01", "2201-01-04", "Monday"},
	} {
		t.Run(row.month+row.language, func(t *testing.T) {
			rec := calendarOf(1)
			rec.say = text.In(row.language, text.Millimetres)
			for i := range rec.club.Apiaries {
				rec.club.Apiaries[i].Timezone = "Europe/Vienna"
			}
			first, err := askedMonth(row.month)
			if err != nil {
				t.Fatal(err)
			}
			v := rec.monthView(first)
			if len(v.Weeks) != row.weeks || v.Weekdays[0] != row.head || v.Weeks[0].Number != row.week {
				t.Errorf("%d weeks from %s, the first the %d.; want %d, %s, %d", len(v.Weeks), v.Weekdays[0], v.Weeks[0].Number, row.weeks, row.head, row.week)
			}
			var days []string
			for _, w := range v.Weeks {
				if len(w.Days) != 7 || !w.Empty || w.Stages == "" {
					t.Errorf("%d days, empty %t, %q in the week of %s", len(w.Days), w.Empty, w.Stages, w.Name)
				}
				for _, d := range w.Days {
					days = append(days, d.ISO)
					if out := strings.Contains(d.Class, "out"); out != !strings.HasPrefix(d.ISO, row.month) {
						t.Errorf("%s is outside of the month: %t", d.ISO, out)
					}
				}
			}
			if days[0] != row.first || days[len(days)-1] != row.last {
				t.Errorf("from %s to %s, want %s to %s", days[0], days[len(days)-1], row.first, row.last)
			}
			on := first - scheduler.Date(slices.Index(days, first.String()))
			for i, day := range days {
				if want := (on + scheduler.Date(i)).String(); day != want {
					t.Errorf("day %d is %s, want %s", i, day, want)
				}
			}
			if (v.Before.Path == "") != (row.month == "1800-01") || (v.After.Path == "") != (row.month == "2200-12") {
				t.Errorf("leads to %+v and %+v", v.Before, v.After)
			}
		})
	}
}

// What lies beside a month is drawn in its weeks and not counted to it.
func TestVisitsAtTheEdgesOfAMonth(t *testing.T) {
	t.Parallel()
	june := scheduler.NewDate(2027, 6, 1)
	rec := calendarOf(1, expectedOn(june-2, 2), expectedOn(june-1, 2), expectedOn(june, 2), expectedOn(june+29, 2), expectedOn(june+30, 2), expectedOn(june+34, 2))
	v := rec.monthView(june)
	if len(v.Counts) != 1 || v.Counts[0].Text.Args[0] != 2 {
		t.Errorf("counts %+v, want 2 visits of June", v.Counts)
	}
	var drawn []string
	for _, w := range v.Weeks {
		for _, d := range w.Days {
			for range d.Entries {
				drawn = append(drawn, d.ISO)
			}
		}
	}
	if got := fmt.Sprint(drawn); got != "[2027-05-31 2027-06-01 2027-06-30 2027-07-01]" {
		t.Errorf("drawn are visits of %s", got)
	}
	if first, last := v.Weeks[0], v.Weeks[4]; first.Name != "31 May – 6 Jun" || last.Name != "28 Jun – 4 Jul" || v.Weeks[1].Name != "7 – 13 Jun" || !v.Weeks[1].Empty || first.Empty {
		t.Errorf("weeks are %q, %q, ..., %q", first.Name, v.Weeks[1].Name, last.Name)
	}
	if !v.Weeks[0].Days[1].Today || v.Weeks[0].Days[0].Today {
		t.Error("1 June is today, and no other day")
	}
}

// A keeper begins with their own visits and those at their apiaries that nobody
// goes to, an organiser with the club's; anybody may look at anybody's.
func TestWhoseVisits(t *testing.T) {
	t.Parallel()
	visits := []scheduler.Visit{
		expectedOn(today, 2), expectedOn(today + 1),
		{On: today + 2, Status: scheduler.Confirmed, ApiaryID: 1},
		{On: today + 3, Status: scheduler.Confirmed, ApiaryID: 1, Who: []int64{2}},
		expectedOn(today+4, 3),
		{On: today + 5, Status: scheduler.Done, ApiaryID: 1, Who: []int64{1}},
	}
	for _, row := range []struct {
		member int64
		query  string
		want   string // days after today
		says   string
	}{
		{1, "", "[0 1 2 3 4 5]", "All visits of the club."},
		{2, "", "[0 1 3]", "Visits that you are expected on, and those at your apiaries that nobody goes to."},
		{3, "", "[4]", "Visits that you are"},
		{2, "person=all", "[0 1 2 3 4 5]", "All visits of the club."},
		{2, "person=1", "[5]", "Visits that Ansel Whitlow is expected on"},
		{1, "apiary=1", "[2 3 5]", "All visits to Orchard."},
		{2, "apiary=1", "[3]", "Your visits to Orchard."},
		{1, "person=2&apiary=2", "[0 1]", "Visits of Brida Okonjo to Quarry."},
	} {
		t.Run(fmt.Sprint(row.member, row.query), func(t *testing.T) {
			rec := calendarOf(row.member, visits...)
			r := httptest.NewRequest("GET", "/month?"+row.query, nil)
			var err error
			if rec.of, err = askedWhose(r.URL.Query(), rec.club, rec.who); err != nil {
				t.Fatal(err)
			}
			var got []int
			for _, v := range rec.shown(today, today+9) {
				got = append(got, int(v.On-today))
			}
			if fmt.Sprint(got) != row.want {
				t.Errorf("shown %v, want %s", got, row.want)
			}
			if says := rec.say.Tell(rec.saysWhose()); !strings.HasPrefix(says, row.says) {
				t.Errorf("says %q, want %q", says, row.says)
			}
			after := rec.monthView(monthOf(today, 0)).After.Path
			for _, part := range strings.FieldsFunc(row.query, func(r rune) bool { return r == '&' }) {
				if !strings.Contains(after, part) {
					t.Errorf("%s loses %s", after, part)
				}
			}
		})
	}
}

// Of many visits a day says honestly how many are not drawn, with those first that
// nobody goes to, and leads to all of them.
func TestMoreVisitsThanADayHasRoomFor(t *testing.T) {
	t.Parallel()
	var visits []scheduler.Visit
	for day := range scheduler.Date(30) {
		for range 14 {
			visits = append(visits, expectedOn(today+day, 2))
		}
	}
	visits = append(visits, expectedOn(today+3))
	v := calendarOf(1, visits...).monthView(today)
	drawn, more := 0, 0
	for _, w := range v.Weeks {
		for _, d := range w.Days {
			drawn, more = drawn+len(d.Entries), more+d.More
			if (d.More > 0) != (d.Path == "/day?day="+d.ISO) || len(d.Entries) > 0 && d.PrintMore != len(d.Entries)+d.More-printDayMost {
				t.Errorf("%s: %d more, %d on paper, at %q", d.ISO, d.More, d.PrintMore, d.Path)
			}
			if d.ISO == (today+3).String() && d.Entries[0].Class != signNobody.Class {
				t.Errorf("first stands %+v", d.Entries[0])
			}
		}
	}
	if drawn != 150 || drawn+more != len(visits) {
		t.Errorf("%d drawn and %d more of %d visits", drawn, more, len(visits))
	}
	if few := calendarOf(1, visits[:14]...).monthView(today).Weeks[0].Days[1]; len(few.Entries) != dayMost || few.More != 2 {
		t.Errorf("of 14 visits of one day %d are drawn, and %d more", len(few.Entries), few.More)
	}
}

// A month and a year of 300 apiaries stay light.
func TestACalendarOfManyApiariesIsLight(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	rec := calendarOf(1)
	rec.club.Apiaries = nil
	for i := range 300 {
		a := scheduler.Apiary{ID: int64(i + 1), Name: fmt.Sprintf("The apiary at the back of beyond, number %d", i), Latitude: 40 + float64(i)/30, Keepers: []int64{2}, Timezone: "UTC"}
		rec.club.Apiaries = append(rec.club.Apiaries, a)
		for n := range 8 {
			rec.visits = append(rec.visits, store.CalendarVisit{Visit: scheduler.Visit{
				ID: int64(8*i + n), UID: fmt.Sprintf("%032d@example.org", 8*i+n), ApiaryID: a.ID, On: today - 60 + scheduler.Date((i+20*n)%120), Status: scheduler.Tentative, Who: []int64{2, 3},
			}})
		}
	}
	rec.names = scheduler.NewNames(rec.club)
	year, err := rec.yearView(newYear(today, 0), "")
	if err != nil || year.To != yearMost || year.Later == "" || year.Earlier != "" {
		t.Fatalf("%v: apiaries %d to %d of %d", err, year.From, year.To, year.Of)
	}
	for name, view := range map[string]any{"month": rec.monthView(today), "year": year, "day": rec.dayView(today)} {
		w := httptest.NewRecorder()
		if err := c.server.showTo(w, httptest.NewRequest("GET", "/"+name, nil), rec.who, rec.club, http.StatusOK, name, name, view); err != nil {
			t.Fatal(err)
		}
		if n := w.Body.Len(); n > 100<<10 {
			t.Errorf("the %s has %d kB", name, n>>10)
		}
	}
}

func TestWorkOfAMonth(t *testing.T) {
	t.Parallel()
	rec := calendarOf(1, expectedOn(today, 2), expectedOn(today+1, 2), scheduler.Visit{ApiaryID: 1, On: today + 8, Status: scheduler.Confirmed}, expectedOn(today-1, 3))
	rec.club.Rules.Capacity.HoursADay, rec.club.Rules.Capacity.VisitsAWeek = 4, 2
	rec.club.Members[2].Prefs.HoursADay = 2 // of the journey alone
	rec.club.Rules.Hours = scheduler.Hours{Travel: 2, Setup: 0.3, Open: 0.2}
	june := monthOf(today, 0)
	v := rec.work(june, june+29)
	if len(v.Weeks) != 5 || v.Weeks[0] != "31 May – 6 Jun" || len(v.People) != 2 || v.More != 0 || v.Sunday {
		t.Fatalf("%+v", v)
	}
	brida, corin := v.People[0], v.People[1]
	for _, row := range []struct {
		cell  workCell
		hours string
		bar   int
		class string
	}{
		{corin.Weeks[0], "2.9 of 4 hours", 73, "over"}, {brida.Weeks[0], "5.8 of 8 hours", 73, "full"}, {brida.Weeks[1], "0 of 8 hours", 0, ""},
	} {
		if got := rec.say.Tell(row.cell.Hours); got != row.hours || row.cell.Bar != row.bar || row.cell.Class != row.class {
			t.Errorf("%q, %d %% %s; want %q, %d %% %s", got, row.cell.Bar, row.cell.Class, row.hours, row.bar, row.class)
		}
	}
	if brida.Idle || !brida.Weeks[1].None || len(v.Lacks) != 5 || rec.say.Tell(v.Lacks[1].Text) != "1 visit, 2.9 hours" {
		t.Errorf("nobody: %+v", v.Lacks)
	}
	rec.of = chosenVisits{person: 1, chosen: true}
	if v := rec.work(june, june+29); len(v.People) != 1 || v.People[0].Name != "Ansel Whitlow" || !v.People[0].Idle || v.Lacks != nil {
		t.Errorf("somebody who has promised nothing: %+v", v)
	}
	rec.of = chosenVisits{apiary: 1}
	if v := rec.work(june, june+29); v != nil {
		t.Errorf("an apiary that nobody goes to: %+v", v)
	}
}

// The season behind is that of most apiaries, and says where they differ.
func TestStagesBehindACalendar(t *testing.T) {
	t.Parallel()
	rec := calendarOf(1)
	rec.club.Apiaries = append(rec.club.Apiaries, rec.club.Apiaries[1])
	rec.club.Apiaries[0].SeasonShiftDays = -10 // one of three is earlier
	all := rec.apiaries(nil)
	seasons := rec.seasons(all)
	first := seasons[1].Starts(2027)[scheduler.Flow]
	for _, row := range []struct {
		on     scheduler.Date
		class  string
		differ bool
	}{{first - 30, "st-build-up", false}, {first - 1, "st-build-up also-flow", true}, {first, "st-flow", false}} {
		if got, ok := stagesOn(seasons, row.on); !ok || got.class() != row.class || got.differ != row.differ {
			t.Errorf("%s: %q, want %q", row.on, got.class(), row.class)
		}
	}
	early := seasons[0].Starts(2027)[scheduler.Flow]
	got := rec.begins(all, seasons, early, first)
	want := fmt.Sprintf("Flow begins between %s and %s at Orchard, Quarry and Quarry.", rec.say.PlainDay(early), rec.say.PlainDay(first))
	if len(got) != 1 || got[0] != want {
		t.Errorf("begins %q, want %q", got, want)
	}
	if got := rec.begins(all, seasons, early+1, first-1); len(got) != 0 {
		t.Errorf("begins %q between the two", got)
	}
	bands, says := rec.stageBands(seasons, newYear(today, 0), newYear(today, 1))
	days := 0
	for _, b := range bands {
		if b.From != days {
			t.Errorf("a band begins on day %d, want %d", b.From, days)
		}
		days += b.Width
	}
	if days != 365 || len(bands) != len(says) || len(bands) != 6 {
		t.Errorf("%d bands of %d days", len(bands), days)
	}
	if _, ok := stagesOn(nil, today); ok {
		t.Error("there is a season without an apiary")
	}
}

func TestAYear(t *testing.T) {
	t.Parallel()
	rec := calendarOf(1, expectedOn(newYear(today, 0), 2), expectedOn(newYear(today, 1)-1, 2), expectedOn(newYear(today, 1), 2), expectedOn(today))
	v, err := rec.yearView(newYear(today, 0), "")
	if err != nil || len(v.Months) != 12 || len(v.Apiaries) != 2 || v.Later != "" {
		t.Fatalf("%v: %+v", err, v)
	}
	for n, want := range map[int]int{0: 1, 5: 1, 11: 1, 3: 0} {
		if m := v.Months[n]; len(m.Line.Marks) != want || m.Path != fmt.Sprintf("/month?month=2027-%02d", n+1) || m.Now != (n == 5) {
			t.Errorf("%s: %d visits at %s", m.Name, len(m.Line.Marks), m.Path)
		}
	}
	if says := rec.say.Tell(v.Apiaries[1].Line.Says); !strings.Contains(says, "flow from") || !strings.HasSuffix(says, "1 that nobody goes to, 2 expected, nobody has said yet.") {
		t.Errorf("Quarry's line says %q", says)
	}
	if at := v.Months[5].Line.Marks[0]; at.At != 0 || !at.Nobody {
		t.Errorf("the visit of 1 June is drawn as %+v", at)
	}
	for _, from := range []string{"0", "3", "-1", "x", "99999999999999999999"} {
		if _, err := rec.yearView(newYear(today, 0), from); err == nil {
			t.Errorf("there are apiaries from %q on", from)
		}
	}
}

// What no calendar has is refused in words, and what another club has is not
// there.
func TestACalendarRefuses(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel, brida := c.as("Ansel"), c.as("Brida")
	foreign := itoa(c.member["Dorrit"])
	for path, want := range map[string]struct {
		status int
		says   string
	}{
		"/month?month=2026-13":     {400, "2026-13 is no month. Write it as 2027-06, from 1800-01 to 2200-12."},
		"/month?month=2026-1":      {400, "2026-1 is no month"},
		"/month?month=1799-12":     {400, "1799-12 is no month"},
		"/month?month=2201-01":     {400, "2201-01 is no month"},
		"/month?month=%C3%BC":      {400, "ü is no month"},
		"/month?month=%00":         {400, "Unreadable"},
		"/year?year=27":            {400, "27 is no year. Write it as 2027, from 1800 to 2200."},
		"/year?year=2201":          {400, "2201 is no year"},
		"/year?year=%2B202":        {400, "no year"},
		"/year?from=9":             {404, "Nothing here"},
		"/day?day=2027-02-29":      {400, "2027-02-29 is no day. Write it as 2027-06-12, from 1800-01-01 to 2200-12-31."},
		"/month?person=unknown":    {404, "No member of the club has the number unknown."},
		"/month?person=0":          {404, "No member of the club"},
		"/month?person=" + foreign: {404, "No member of the club has the number " + foreign},
		"/year?person=-1":          {404, "No member of the club"},
		"/month?apiary=999999":     {404, "No apiary of the club has the number 999999."},
		"/day?apiary=x":            {404, "No apiary of the club"},
		"/month?month=" + fmt.Sprint(strings.Repeat("9", 99)): {400, strings.Repeat("9", 40) + "… is no month"},
	} {
		ansel.get(path).says(want.status, want.says)
		brida.get(path).says(want.status, want.says)
	}
	c.speaks("Brida", "de")
	brida.get("/month?month=2026-13").says(400, "2026-13 ist kein Monat. Schreib ihn wie 2027-06, von 1800-01 bis 2200-12.").inGerman()
	for _, path := range []string{"/month?month=1800-01", "/month?month=2200-12", "/year?year=1800", "/year?year=2200", "/day?day=1800-01-01", "/day?day=2200-12-31", "/month?month=&person=&apiary="} {
		ansel.get(path).says(200)
	}
	ansel.get("/year?year=1999").says(200, "There is no visit here.", "1998", "2000", "January no visit")
}

var (
	monthRows  = regexp.MustCompile(`(?s)<tr role="row".*?</tr>`)
	monthCells = regexp.MustCompile(`<td role="cell"[^>]*>`)
	cellDays   = regexp.MustCompile(`<time datetime="([^"]+)"><span class="wd">`)
)

// The month itself is a table with a caption and headers, and every visit in it
// leads to its page.
func TestTheTableOfAMonth(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	got := c.as("Brida").get("/month").says(200, "June 2027", "Quarry", "expected: you", "Today", "← May", "July →", "Year 2027").hides("Orchard</b>")
	table := got.body[strings.Index(got.body, `<table class="month"`):]
	table = table[:strings.Index(table, "</table>")]
	rows := monthRows.FindAllString(table, -1)
	if len(rows) != 6 || strings.Count(rows[0], `scope="col"`) != 8 || strings.Count(table, "<caption") != 1 {
		t.Fatalf("%d rows, %d columns", len(rows), strings.Count(rows[0], `scope="col"`))
	}
	for _, row := range rows[1:] {
		if strings.Count(row, `scope="row"`) != 1 || len(monthCells.FindAllString(row, -1)) != 7 || len(cellDays.FindAllString(row, -1)) != 7 {
			t.Errorf("a week has no header, or not seven days: %s", row)
		}
	}
	today := regexp.MustCompile(`(?s)<td[^>]*aria-current="date".*?</td>`).FindString(table)
	if !strings.Contains(today, `href="`+visitPath(v.UID)+`"`) || !strings.Contains(today, `datetime="2027-06-01"`) {
		t.Errorf("today has %s", today)
	}
	ansel := c.as("Ansel")
	ansel.get("/month").holds("<b>Orchard</b>").holds("<b>Quarry</b>").says(200, "nobody goes", "Work by week")
	ansel.get("/day").says(200, "Tuesday 1 June 2027", "Orchard", "Quarry", "Mon 31 May").holds(visitPath(v.UID))
	ansel.get("/month?apiary=" + itoa(v.ApiaryID)).hides("<b>Orchard</b>")
	ansel.get("/").holds(`href="/month"`)
}

// A club's month is that of its own day: west of the date line it is still May.
func TestTheMonthOfAClubsDay(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	far := quarryClubOf("far-")
	far.Name, far.Apiaries[0].Timezone = "Far West", "Pacific/Pago_Pago"
	c.id = c.importClub(far)
	ansel := c.as("Ansel")
	ansel.get("/month?month=2026-11").says(200, "There is no visit here.", "The club's next visit is on")
	ansel.get("/month?month=2026-11&person=all").holds(`href="/month?month=2027-0`)
	ansel.get("/month").says(200, "May 2027").holds(`id="today" aria-current="date"><time datetime="2027-05-31">`)
	ansel.get("/day").says(200, "Monday 31 May 2027")
}

// monthFromHome goes from home to the month to a visit, on a phone and on a wide
// screen, and prints the month on one page.
func monthFromHome(t *testing.T, browser context.Context) {
	c := serveClub(t)
	v := c.visit("Quarry")
	b := c.open(t, browser, "Brida")
	for _, row := range []struct {
		width           int64
		language        string
		month, weekdays string
	}{{360, "en", "June 2027", "false"}, {1280, "de", "Juni 2027", "true"}} {
		c.speaks("Brida", row.language)
		b.do(chromedp.EmulateViewport(row.width, 740))
		b.goTo("/")
		b.tap(`main a[href="/month"]`)
		b.headed(row.month)
		if seven := ask[string](b, `String(document.querySelectorAll(".month td")[6].getBoundingClientRect().left > document.querySelectorAll(".month td")[1].getBoundingClientRect().left + 300)`); seven != row.weekdays {
			t.Errorf("%d px: days stand side by side: %s", row.width, seven)
		}
		for what, list := range map[string]string{"too wide": tooWide, "too small": tooSmall, "entries too small": `[...document.querySelectorAll(".ev a")].filter(e => e.checkVisibility() && e.getBoundingClientRect().height < 43.5).length || ""`} {
			if bad := ask[string](b, "String("+list+")"); bad != "" {
				t.Errorf("%d px: %s: %s", row.width, what, bad)
			}
		}
		if row.width == 1280 {
			b.do(func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
				printed, err := cdp.Call(ctx, target, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: 8.27, PaperHeight: 11.69, PreferCSSPageSize: new(true)}) // A4, in inches
				if err != nil {
					return chromedp.Void{}, err
				}
				pages := regexp.MustCompile(`/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]`).FindAllStringSubmatch(string(printed.Data), -1)
				if len(pages) != 1 {
					t.Errorf("printed on %d pages", len(pages))
				} else if pages[0][1] <= pages[0][2] {
					t.Errorf("printed on a page of %s by %s", pages[0][1], pages[0][2])
				}
				return chromedp.Void{}, nil
			})
		}
		b.tap(fmt.Sprintf(`.ev a[href=%q]`, visitPath(v.UID)))
		b.until(`location.pathname.startsWith("/visit/")`)
	}
	b.quiet()
}
