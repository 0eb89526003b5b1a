package owed

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pryday/scheduler"
)

// day reads a date that a test writes down.
func day(t testing.TB, s string) scheduler.Date {
	t.Helper()
	d, err := scheduler.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// mailClub is a club of an organiser (1) and two keepers (2, 3) with one
// apiary in Toronto, which keeper 2 looks after, and one box in it.
func mailClub() *scheduler.Club {
	return &scheduler.Club{
		ID: 9, Rules: scheduler.DefaultRules(),
		Members: []scheduler.Member{{ID: 1, Role: scheduler.Organiser, Timezone: "UTC"}, {ID: 2, Role: scheduler.Keeper}, {ID: 3, Role: scheduler.Keeper}},
		Apiaries: []scheduler.Apiary{{
			ID: 4, Name: "Orchard", Timezone: "America/Toronto", Keepers: []int64{2},
			Hives: []scheduler.Hive{{ID: 5, Name: "Larch", Boxes: []scheduler.Box{{ID: 6, Name: "R14", Kind: "deep"}}}},
		}},
	}
}

// mailbox plays the store: it remembers what was decided.
type mailbox struct {
	before Before
	keys   map[string]bool
	sent   []Message
	passed []Message
}

func newMailbox() *mailbox {
	b := &mailbox{keys: map[string]bool{}}
	b.before.Seen = func(k string) bool { return b.keys[k] }
	return b
}

// tick decides at one instant and records the outcome.
func (b *mailbox) tick(t testing.TB, c *scheduler.Club, p *scheduler.Plan, now time.Time) []Message {
	t.Helper()
	out := Decide(c, p, now, b.before)
	for _, m := range out {
		if b.keys[m.Key] {
			t.Fatalf("%s: key %s decided twice", now, m.Key)
		}
		b.keys[m.Key] = true
		b.before.Told = append(b.before.Told, m.Tells()...)
		if m.PassedOver == "" {
			b.sent = append(b.sent, m)
		} else {
			b.passed = append(b.passed, m)
		}
	}
	b.before.Since = now
	return out
}

// said is a short line for each message, to compare with.
func said(messages []Message, names map[int64]string) []string {
	out := []string{}
	for _, m := range messages {
		s := m.On.Format("01-02") + " " + names[m.MemberID] + ":"
		for _, it := range m.Items {
			s += " " + it.Because
			if it.VisitOn != 0 {
				s += " " + it.VisitOn.Format("01-02")
			}
			if it.WasOn != 0 {
				s += " was " + it.WasOn.Format("01-02")
			}
		}
		if m.PassedOver != "" {
			s += " (" + m.PassedOver + ")"
		}
		out = append(out, s)
	}
	return out
}

// TestOwedOverDays runs stories with one tick an hour; each change falls into
// the story at an hour of its own.
func TestOwedOverDays(t *testing.T) {
	names := map[int64]string{1: "organiser", 2: "keeper", 3: "other"}
	visit := func(on string, change ...func(*scheduler.Visit)) func(*scheduler.Club, *scheduler.Plan) {
		return func(c *scheduler.Club, p *scheduler.Plan) {
			v := scheduler.Visit{ID: 7, UID: "a", ApiaryID: 4, On: day(t, on), Status: scheduler.Confirmed, Boxes: []scheduler.VisitBox{{BoxID: 6}}}
			for _, f := range change {
				f(&v)
			}
			p.Visits = nil
			if v.Status.Open() {
				p.Visits = []scheduler.Visit{v}
			}
			c.Visits = []scheduler.Visit{v}
		}
	}
	who := func(ids ...int64) func(*scheduler.Visit) { return func(v *scheduler.Visit) { v.Who = ids } }
	taken := func(ids ...int64) func(*scheduler.Visit) { return func(v *scheduler.Visit) { v.Taken = ids } }
	status := func(s scheduler.VisitStatus) func(*scheduler.Visit) { return func(v *scheduler.Visit) { v.Status = s } }
	prefs := func(member int, f func(*scheduler.Preferences)) func(*scheduler.Club, *scheduler.Plan) {
		return func(c *scheduler.Club, _ *scheduler.Plan) { f(&c.Members[member].Prefs) }
	}
	overdue := func(due string) func(*scheduler.Club, *scheduler.Plan) {
		return func(_ *scheduler.Club, p *scheduler.Plan) {
			p.Boxes = []scheduler.BoxState{{BoxID: 6, ApiaryID: 4, HiveID: 5, Due: day(t, due), Overdue: true}}
		}
	}
	type change struct {
		at   string // local time in Toronto
		what func(*scheduler.Club, *scheduler.Plan)
	}
	for _, tc := range []struct {
		name        string
		from, until string
		down        [2]string // no tick in between
		changes     []change
		want        []string
	}{
		{
			name: "7 days before and on the eve", from: "2027-05-20", until: "2027-06-10",
			changes: []change{{"2027-05-20 00:00", visit("2027-06-05")}},
			want:    []string{"05-29 keeper: days-before 06-05", "06-04 keeper: days-before 06-05"},
		},
		{
			name: "a visit that comes up three days ahead is told the next morning", from: "2027-05-20", until: "2027-06-10",
			changes: []change{{"2027-06-02 11:00", visit("2027-06-05")}},
			want:    []string{"06-03 keeper: caught-up 06-05", "06-04 keeper: days-before 06-05"},
		},
		{
			name: "those who go hear of it, not those who look after the place", from: "2027-05-20", until: "2027-06-10",
			changes: []change{{"2027-05-20 00:00", visit("2027-06-05", who(3))}},
			want:    []string{"05-29 other: days-before 06-05", "06-04 other: days-before 06-05"},
		},
		{
			name: "who takes over late is told", from: "2027-05-20", until: "2027-06-04",
			changes: []change{{"2027-05-20 00:00", visit("2027-06-05")}, {"2027-06-01 12:00", visit("2027-06-05", who(3))}},
			want:    []string{"05-29 keeper: days-before 06-05", "06-02 other: caught-up 06-05", "06-04 other: days-before 06-05"},
		},
		{
			name: "an apiary that nobody looks after goes to the organisers", from: "2027-05-20", until: "2027-06-01",
			changes: []change{{"2027-05-20 00:00", func(c *scheduler.Club, p *scheduler.Plan) {
				c.Apiaries[0].Keepers = nil
				visit("2027-06-05")(c, p)
			}}},
			want: []string{"05-29 organiser: days-before 06-05"},
		},
		{
			name: "a move is told with old and new day, and the reminders follow", from: "2027-05-20", until: "2027-06-20",
			changes: []change{{"2027-05-20 00:00", visit("2027-06-05")}, {"2027-05-30 12:00", visit("2027-06-12")}},
			want: []string{
				"05-29 keeper: days-before 06-05", "05-31 keeper: visit-moved 06-12 was 06-05",
				"06-05 keeper: days-before 06-12", "06-11 keeper: days-before 06-12",
			},
		},
		{
			name: "moved by other rules and back by the old ones before the morning is no news", from: "2027-05-20", until: "2027-06-10",
			changes: []change{
				{"2027-05-20 00:00", visit("2027-06-05")},
				{"2027-05-30 12:00", visit("2027-06-12")},
				{"2027-05-30 13:00", visit("2027-06-05")},
			},
			want: []string{"05-29 keeper: days-before 06-05", "06-04 keeper: days-before 06-05"},
		},
		{
			name: "told of a move, and of the move back a day later", from: "2027-05-20", until: "2027-06-10",
			changes: []change{
				{"2027-05-20 00:00", visit("2027-06-05")},
				{"2027-05-30 12:00", visit("2027-06-12")},
				{"2027-05-31 12:00", visit("2027-06-05")},
			},
			want: []string{
				"05-29 keeper: days-before 06-05", "05-31 keeper: visit-moved 06-12 was 06-05",
				"06-01 keeper: visit-moved 06-05 was 06-12", "06-04 keeper: days-before 06-05",
			},
		},
		{
			name: "taken out by other rules and back by the old ones", from: "2027-05-20", until: "2027-06-10",
			changes: []change{
				{"2027-05-20 00:00", visit("2027-06-05")},
				{"2027-05-30 12:00", visit("2027-06-05", status(scheduler.Cancelled))},
				{"2027-05-31 12:00", visit("2027-06-05")},
			},
			want: []string{
				"05-29 keeper: days-before 06-05", "05-31 keeper: visit-cancelled was 06-05",
				"06-01 keeper: caught-up 06-05", "06-04 keeper: days-before 06-05",
			},
		},
		{
			name: "a move of what nobody was told of is no news", from: "2027-05-20", until: "2027-06-01",
			changes: []change{{"2027-05-20 00:00", visit("2027-06-20")}, {"2027-05-25 12:00", visit("2027-06-12")}},
			want:    []string{},
		},
		{
			name: "rained off on the day itself cannot wait", from: "2027-06-01", until: "2027-06-12",
			changes: []change{{"2027-06-01 00:00", visit("2027-06-05")}, {"2027-06-05 09:30", visit("2027-06-12")}},
			want: []string{
				"06-01 keeper: caught-up 06-05", "06-04 keeper: days-before 06-05",
				"06-05 keeper: visit-moved 06-12 was 06-05", "06-11 keeper: days-before 06-12",
			},
		},
		{
			name: "cancelled", from: "2027-05-20", until: "2027-06-10",
			changes: []change{{"2027-05-20 00:00", visit("2027-06-05")}, {"2027-05-30 12:00", visit("2027-06-05", status(scheduler.Cancelled))}},
			want:    []string{"05-29 keeper: days-before 06-05", "05-31 keeper: visit-cancelled was 06-05"},
		},
		{
			name: "done before its day by somebody else", from: "2027-05-28", until: "2027-06-10",
			changes: []change{{"2027-05-28 00:00", visit("2027-06-05")}, {"2027-05-31 12:00", visit("2027-05-31", status(scheduler.Done))}},
			want:    []string{"05-29 keeper: days-before 06-05", "06-01 keeper: visit-done-before was 06-05"},
		},
		{
			name: "done before its day by the one who was told", from: "2027-05-28", until: "2027-06-10",
			changes: []change{{"2027-05-28 00:00", visit("2027-06-05")}, {"2027-05-31 12:00", func(c *scheduler.Club, p *scheduler.Plan) {
				visit("2027-05-31", status(scheduler.Done))(c, p)
				c.Apiaries[0].Hives[0].Boxes[0].Openings = []scheduler.Opening{{On: day(t, "2027-05-31"), By: 2}}
			}}},
			want: []string{"05-29 keeper: days-before 06-05"},
		},
		{
			name: "done before its day by one of two who were told", from: "2027-05-28", until: "2027-06-10",
			changes: []change{{"2027-05-28 00:00", visit("2027-06-05", who(2, 3))}, {"2027-05-31 12:00", func(c *scheduler.Club, p *scheduler.Plan) {
				visit("2027-05-31", status(scheduler.Done), who(2, 3))(c, p)
				c.Apiaries[0].Hives[0].Boxes[0].Openings = []scheduler.Opening{{On: day(t, "2027-05-24"), By: 3}, {On: day(t, "2027-05-31"), By: 2}}
			}}},
			want: []string{"05-29 keeper: days-before 06-05", "05-29 other: days-before 06-05", "06-01 other: visit-done-before was 06-05"},
		},
		{
			name: "cancelled on the day itself cannot wait", from: "2027-06-04", until: "2027-06-10",
			changes: []change{{"2027-06-04 00:00", visit("2027-06-05")}, {"2027-06-05 09:30", visit("2027-06-05", status(scheduler.Cancelled))}},
			want:    []string{"06-04 keeper: days-before 06-05", "06-05 keeper: visit-cancelled was 06-05"},
		},
		{
			name: "a move to tomorrow cannot wait", from: "2027-06-03", until: "2027-06-06",
			changes: []change{{"2027-06-03 00:00", visit("2027-06-10")}, {"2027-06-05 12:00", visit("2027-06-06")}},
			want:    []string{"06-03 keeper: days-before 06-10", "06-05 keeper: visit-moved 06-06 was 06-10"},
		},
		{
			name: "two moves of one day that cannot wait are two mails", from: "2027-06-05", until: "2027-06-06",
			changes: []change{{"2027-06-05 00:00", visit("2027-06-05")}, {"2027-06-05 09:30", visit("2027-06-06")}, {"2027-06-05 12:30", visit("2027-06-20")}},
			want: []string{
				"06-05 keeper: visit-today 06-05", "06-05 keeper: visit-moved 06-06 was 06-05",
				"06-05 keeper: visit-moved 06-20 was 06-06",
			},
		},
		{
			name: "to and fro and to again: never a key twice", from: "2027-06-05", until: "2027-06-06",
			changes: []change{
				{"2027-06-05 00:00", visit("2027-06-05")},
				{"2027-06-05 09:30", visit("2027-06-20")},
				{"2027-06-05 11:30", visit("2027-06-05")},
				{"2027-06-05 13:30", visit("2027-06-20")},
			},
			want: []string{
				"06-05 keeper: visit-today 06-05", "06-05 keeper: visit-moved 06-20 was 06-05", "06-05 keeper: visit-moved 06-05 was 06-20",
			},
		},
		{
			name: "who goes and was told long before only is told on the day", from: "2027-05-20", until: "2027-06-10",
			changes: []change{{"2027-05-20 00:00", visit("2027-06-05", who(2), taken(2))}, {"2027-05-20 00:00", prefs(1, func(p *scheduler.Preferences) { p.DaysBefore = []int{7} })}},
			want:    []string{"05-29 keeper: days-before 06-05", "06-05 keeper: visit-today 06-05"},
		},
		{
			name: "a visit that nobody says a word about is asked about once, and its boxes are not mailed", from: "2027-06-05", until: "2027-06-12",
			changes: []change{
				{"2027-06-05 00:00", visit("2027-06-05", who(2), taken(2), status(scheduler.Unanswered))},
				{"2027-06-05 00:00", overdue("2027-05-31")},
			},
			want: []string{"06-05 keeper: visit-unanswered 06-05"},
		},
		{
			name: "nobody is asked about a visit that they never heard of", from: "2027-06-05", until: "2027-06-12",
			changes: []change{{"2027-06-05 00:00", visit("2027-06-05", who(2), status(scheduler.Unanswered))}},
			want:    []string{},
		},
		{
			name: "boxes that were put off are not mailed before their day", from: "2027-06-05", until: "2027-06-12",
			changes: []change{
				{"2027-06-05 00:00", visit("2027-06-02", who(2), status(scheduler.Cancelled), func(v *scheduler.Visit) { v.OffUntil = day(t, "2027-06-10") })},
				{"2027-06-05 00:00", overdue("2027-05-31")},
			},
			want: []string{"06-10 keeper: boxes-overdue"},
		},
		{
			name: "a move within three days goes out at once", from: "2027-06-01", until: "2027-06-04",
			changes: []change{{"2027-06-01 00:00", visit("2027-06-08")}, {"2027-06-03 12:00", visit("2027-06-05")}},
			want:    []string{"06-01 keeper: days-before 06-08", "06-03 keeper: visit-moved 06-05 was 06-08", "06-04 keeper: days-before 06-05"},
		},
		{
			name: "own days, muted kinds", from: "2027-05-20", until: "2027-06-10",
			changes: []change{{"2027-05-20 00:00", visit("2027-06-05")}, {"2027-05-20 00:00", prefs(1, func(p *scheduler.Preferences) {
				p.DaysBefore, p.Mute = []int{3}, []scheduler.MessageKind{scheduler.DayMessage}
			})}},
			want: []string{"06-02 keeper: days-before 06-05"},
		},
		{
			name: "a visit that comes up on its day", from: "2027-06-04", until: "2027-06-06",
			changes: []change{{"2027-06-05 00:00", visit("2027-06-05")}},
			want:    []string{"06-05 keeper: visit-today 06-05"},
		},
		{
			name: "and is muted then", from: "2027-06-04", until: "2027-06-06",
			changes: []change{{"2027-06-05 00:00", visit("2027-06-05")}, {"2027-06-04 00:00", prefs(1, func(p *scheduler.Preferences) { p.Mute = []scheduler.MessageKind{scheduler.DayMessage} })}},
			want:    []string{},
		},
		{
			name: "who mutes moves still gets the reminders of the new day", from: "2027-05-20", until: "2027-06-06",
			changes: []change{
				{"2027-05-20 00:00", visit("2027-06-05")},
				{"2027-05-30 12:00", visit("2027-06-06")},
				{"2027-05-20 00:00", prefs(1, func(p *scheduler.Preferences) { p.Mute = []scheduler.MessageKind{scheduler.MovedMessage} })},
			},
			want: []string{"05-29 keeper: days-before 06-05", "05-31 keeper: caught-up 06-06", "06-05 keeper: days-before 06-06"},
		},
		{
			name: "no reminders at all when none are wanted", from: "2027-05-20", until: "2027-06-04",
			changes: []change{{"2027-05-20 00:00", visit("2027-06-05")}, {"2027-05-20 00:00", prefs(1, func(p *scheduler.Preferences) { p.DaysBefore = []int{} })}},
			want:    []string{},
		},
		{
			name: "a pause swallows nothing that is still ahead", from: "2027-05-20", until: "2027-06-06",
			changes: []change{{"2027-05-20 00:00", visit("2027-06-05")}, {"2027-05-20 00:00", prefs(1, func(p *scheduler.Preferences) { p.PausedUntil = day(t, "2027-06-02") })}},
			want:    []string{"06-02 keeper: caught-up 06-05", "06-04 keeper: days-before 06-05"},
		},
		{
			name: "overdue every seven days, the organiser from day 21", from: "2027-06-01", until: "2027-06-24",
			changes: []change{{"2027-06-01 00:00", overdue("2027-05-31")}},
			want: []string{
				"06-01 keeper: boxes-overdue", "06-08 keeper: boxes-overdue", "06-15 keeper: boxes-overdue",
				"06-21 organiser: boxes-long-overdue", "06-22 keeper: boxes-overdue",
			},
		},
		{
			name: "overdue with a visit near is left to the visit's own mail", from: "2027-06-01", until: "2027-06-03",
			changes: []change{{"2027-06-01 00:00", overdue("2027-05-31")}, {"2027-06-01 00:00", visit("2027-06-05")}},
			want:    []string{"06-01 keeper: caught-up 06-05"},
		},
		{
			name: "a visit on the last day of the notice is near", from: "2027-06-01", until: "2027-06-01",
			changes: []change{{"2027-06-01 00:00", overdue("2027-05-31")}, {"2027-06-01 00:00", visit("2027-06-15")}},
			want:    []string{},
		},
		{
			name: "a visit beyond the notice is not", from: "2027-06-01", until: "2027-06-01",
			changes: []change{{"2027-06-01 00:00", overdue("2027-05-31")}, {"2027-06-01 00:00", visit("2027-06-16")}},
			want:    []string{"06-01 keeper: boxes-overdue"},
		},
		{
			name: "nor is one that may still be written down", from: "2027-06-01", until: "2027-06-01",
			changes: []change{{"2027-06-01 00:00", overdue("2027-05-30")}, {"2027-06-01 00:00", visit("2027-05-31")}},
			want:    []string{"06-01 keeper: boxes-overdue"},
		},
		{
			name: "overdue for long with a visit near that nobody goes to", from: "2027-06-01", until: "2027-06-01",
			changes: []change{{"2027-06-01 00:00", overdue("2027-05-01")}, {"2027-06-01 00:00", visit("2027-06-10")}},
			want:    []string{"06-01 organiser: boxes-long-overdue"},
		},
		{
			name: "overdue for long and somebody goes", from: "2027-06-01", until: "2027-06-01",
			changes: []change{{"2027-06-01 00:00", overdue("2027-05-01")}, {"2027-06-01 00:00", visit("2027-06-10", who(3), taken(3))}},
			want:    []string{},
		},
		{
			name: "overdue and left alone", from: "2027-06-01", until: "2027-06-01",
			changes: []change{{"2027-06-01 00:00", overdue("2027-05-01")}, {"2027-06-01 00:00", func(_ *scheduler.Club, p *scheduler.Plan) {
				p.Boxes[0].LeftAlone = scheduler.LeftAlone{Why: scheduler.ClosedHive, Words: "queen cells"}
			}}},
			want: []string{},
		},
		{
			name: "several things on one day are one mail", from: "2027-06-01", until: "2027-06-01",
			changes: []change{{"2027-06-01 00:00", overdue("2027-05-31")}, {"2027-06-01 00:00", func(_ *scheduler.Club, p *scheduler.Plan) {
				p.Visits = []scheduler.Visit{
					{ID: 8, UID: "b", ApiaryID: 4, On: day(t, "2027-06-03"), Status: scheduler.Confirmed},
					{ID: 7, UID: "a", ApiaryID: 4, On: day(t, "2027-06-01"), Status: scheduler.Confirmed},
				}
			}}},
			want: []string{"06-01 keeper: visit-today 06-01 caught-up 06-03 boxes-overdue"},
		},
		{
			name: "a tick missed in the morning is caught up in the evening", from: "2027-05-28", until: "2027-05-30",
			down:    [2]string{"2027-05-29 05:00", "2027-05-29 22:00"},
			changes: []change{{"2027-05-28 00:00", visit("2027-06-05")}},
			want:    []string{"05-29 keeper: days-before 06-05"},
		},
		{
			name: "down for two days: the reminder goes out late, once", from: "2027-05-28", until: "2027-06-03",
			down:    [2]string{"2027-05-29 05:00", "2027-05-31 12:30"},
			changes: []change{{"2027-05-28 00:00", visit("2027-06-05")}},
			want:    []string{"05-31 keeper: caught-up 06-05"},
		},
		{
			name: "down until the nearer one: the far one is passed over", from: "2027-05-28", until: "2027-06-06",
			down:    [2]string{"2027-05-29 05:00", "2027-06-04 12:30"},
			changes: []change{{"2027-05-28 00:00", visit("2027-06-05")}},
			want:    []string{"05-29 keeper: days-before 06-05 (passed.nearer)", "06-04 keeper: days-before 06-05"},
		},
		{
			name: "down over the visit: nothing is sent", from: "2027-05-28", until: "2027-06-10",
			down:    [2]string{"2027-05-29 05:00", "2027-06-08 12:30"},
			changes: []change{{"2027-05-28 00:00", visit("2027-06-05")}},
			want: []string{
				"05-29 keeper: days-before 06-05 (passed.day-over)", "06-04 keeper: days-before 06-05 (passed.day-over)",
				"06-05 keeper: visit-today 06-05 (passed.day-over)",
			},
		},
		{
			name: "down, and the visit came up meanwhile", from: "2027-05-28", until: "2027-06-05",
			down:    [2]string{"2027-05-29 05:00", "2027-06-04 12:30"},
			changes: []change{{"2027-05-28 00:00", visit("2027-06-05", func(v *scheduler.Visit) { v.FirstSeen = day(t, "2027-06-01") })}},
			want:    []string{"06-04 keeper: days-before 06-05"},
		},
		{
			name: "down over a pause", from: "2027-05-28", until: "2027-06-05",
			down:    [2]string{"2027-05-29 05:00", "2027-06-04 12:30"},
			changes: []change{{"2027-05-28 00:00", visit("2027-06-05")}, {"2027-05-28 00:00", prefs(1, func(p *scheduler.Preferences) { p.PausedUntil = day(t, "2027-06-01") })}},
			want:    []string{"06-04 keeper: days-before 06-05"},
		},
		{
			name: "down over what is muted", from: "2027-05-28", until: "2027-06-08",
			down:    [2]string{"2027-05-29 05:00", "2027-06-08 12:30"},
			changes: []change{{"2027-05-28 00:00", visit("2027-06-05")}, {"2027-05-28 00:00", prefs(1, func(p *scheduler.Preferences) { p.Mute = []scheduler.MessageKind{scheduler.DayMessage} })}},
			want:    []string{"05-29 keeper: days-before 06-05 (passed.day-over)", "06-04 keeper: days-before 06-05 (passed.day-over)"},
		},
		{
			name: "down for more than a month: what lies further back is not even recorded", from: "2027-04-01", until: "2027-05-25",
			down:    [2]string{"2027-04-02 05:00", "2027-05-25 12:30"},
			changes: []change{{"2027-04-01 00:00", visit("2027-04-30")}},
			want:    []string{"04-29 keeper: days-before 04-30 (passed.day-over)", "04-30 keeper: visit-today 04-30 (passed.day-over)"},
		},
		{
			name: "a first start after years owes no history", from: "2027-06-08", until: "2027-06-10",
			changes: []change{{"2027-06-08 00:00", visit("2027-06-05")}},
			want:    []string{},
		},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c, p, box := mailClub(), &scheduler.Plan{}, newMailbox()
			loc, err := time.LoadLocation("America/Toronto")
			if err != nil {
				t.Fatal(err)
			}
			local := func(s string) time.Time {
				at, err := time.ParseInLocation("2006-01-02 15:04", s, loc)
				if err != nil {
					t.Fatal(err)
				}
				return at
			}
			changes := tc.changes
			for now := local(tc.from + " 00:00"); !now.After(local(tc.until + " 23:00")); now = now.Add(time.Hour) {
				for len(changes) > 0 && !local(changes[0].at).After(now) {
					changes[0].what(c, p)
					changes = changes[1:]
				}
				if tc.down[0] != "" && now.After(local(tc.down[0])) && now.Before(local(tc.down[1])) {
					continue
				}
				box.tick(t, c, p, now)
			}
			got := said(append(slices.Clone(box.passed), box.sent...), names)
			slices.SortStableFunc(got, func(a, b string) int { return strings.Compare(a[:5], b[:5]) })
			if !slices.Equal(got, tc.want) {
				t.Errorf("got\n  %s\nwant\n  %s", strings.Join(got, "\n  "), strings.Join(tc.want, "\n  "))
			}
		})
	}
}

// TestUrgentComesFirst: an organiser who looks after a place can be owed
// everything on one morning; the mail is named for the most urgent.
func TestUrgentComesFirst(t *testing.T) {
	c := mailClub()
	c.Apiaries[0].Keepers = []int64{1}
	today := day(t, "2027-06-01")
	visit := func(uid string, on scheduler.Date) scheduler.Visit {
		return scheduler.Visit{UID: uid, ApiaryID: 4, On: on, Status: scheduler.Confirmed, Who: []int64{1}}
	}
	p := &scheduler.Plan{
		Boxes: []scheduler.BoxState{
			{BoxID: 6, ApiaryID: 4, Due: today - 3, Overdue: true},
			{BoxID: 7, ApiaryID: 4, Due: today - 30, Overdue: true},
		},
		Visits: []scheduler.Visit{visit("far", today+7), visit("moved", today+5), visit("near", today+1), visit("now", today)},
	}
	before := Before{Told: []Told{{MemberID: 1, Kind: scheduler.DigestMessage, VisitUID: "moved", On: today + 3, ToldOn: today - 4}}}
	out := Decide(c, p, today.At(12*60, time.UTC), before)
	if len(out) != 1 || out[0].Kind != scheduler.DayMessage || out[0].Reason != BecauseToday {
		t.Fatalf("got %+v, want one mail about today", out)
	}
	var got []string
	for _, it := range out[0].Items {
		got = append(got, it.Because+" "+it.VisitUID)
	}
	want := []string{"visit-today now", "visit-moved moved", "days-before near", "days-before far", "boxes-overdue "}
	if !slices.Equal(got, want) {
		t.Errorf("in the order\n  %s\nwant\n  %s", strings.Join(got, "\n  "), strings.Join(want, "\n  "))
	}
}

// TestWhoMovedAVisitWhileNobodyDecided knows its day: nothing is recorded as
// told too late.
func TestWhoMovedAVisitWhileNobodyDecided(t *testing.T) {
	c := mailClub()
	today := day(t, "2027-06-03")
	v := scheduler.Visit{UID: "a", ApiaryID: 4, On: today + 1, Status: scheduler.Confirmed, Who: []int64{2}, FirstSeen: today - 20}
	p := &scheduler.Plan{Visits: []scheduler.Visit{v}}
	knows := Told{MemberID: 2, Kind: scheduler.MovedMessage, VisitUID: "a", On: v.On, ToldOn: today - 5}
	for _, tt := range []struct {
		told []Told
		want int
	}{{nil, 1}, {[]Told{knows}, 0}} {
		passed := 0
		for _, m := range Decide(c, p, today.At(4*60, time.UTC), Before{Told: tt.told, Since: (today - 8).At(12*60, time.UTC)}) {
			if m.PassedOver != "" && m.MemberID == 2 {
				passed++
			}
		}
		if passed != tt.want {
			t.Errorf("told %+v: %d mails passed over, want %d", tt.told, passed, tt.want)
		}
	}
}
