package feed

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/emersion/go-ical"
	"github.com/google/uuid"
	"pgregory.net/rapid"

	"pryday/notify/calendar"
	"pryday/scheduler"
	"pryday/store"
)

// event is one event as a decoder read it.
type event struct {
	uid, on, until, status, place, summary, description, sequence, stamp string
}

// byGolangICal reads a feed with arran4/golang-ical.
func byGolangICal(t testing.TB, body string) (out []event) {
	t.Helper()
	c, err := ics.ParseCalendar(strings.NewReader(body))
	if err != nil {
		t.Fatalf("golang-ical: %v\n%s", err, body)
	}
	for _, e := range c.Events() {
		get := func(name ics.ComponentProperty) string {
			if p := e.GetProperty(name); p != nil {
				return p.Value
			}
			return ""
		}
		out = append(out, event{
			e.Id(), get("DTSTART"), get("DTEND"), get("STATUS"), get("LOCATION"), get("SUMMARY"), get("DESCRIPTION"), get("SEQUENCE"), get("DTSTAMP"),
		})
	}
	return out
}

// byGoICal reads a feed with emersion/go-ical.
func byGoICal(t testing.TB, body string) (out []event) {
	t.Helper()
	c, err := ical.NewDecoder(strings.NewReader(body)).Decode()
	if err != nil {
		t.Fatalf("go-ical: %v\n%s", err, body)
	}
	for _, e := range c.Events() {
		get := func(name string) string {
			s, err := e.Props.Text(name)
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		raw := func(name string) string { return e.Props.Get(name).Value }
		out = append(out, event{
			get("UID"), raw("DTSTART"), raw("DTEND"), raw("STATUS"), get("LOCATION"), get("SUMMARY"), get("DESCRIPTION"), raw("SEQUENCE"), raw("DTSTAMP"),
		})
	}
	return out
}

// awkward are names that have broken calendars elsewhere: emoji, commas and
// other separators, newlines, right-to-left text, 500 characters.
var awkward = []string{
	"Orchard", "🐝 Bee 👩‍🌾 yard", `a, b; c: "d" \ e\n`, "two\r\nlines\nand\rmore", "مَنحل الوادي", "מכוורת, הגליל", "\u202eright to left\u202c",
	strings.Repeat("länge ", 30), "BEGIN:VEVENT\r\nSUMMARY:not ours", " edge ", "\tq\u00a0\u2028p", "=?utf-8?q?x?=", "END:VCALENDAR",
}

// name draws a name that no other thing of its kind has.
func name(t *rapid.T, kind string, id int64) string {
	n := rapid.OneOf(rapid.SampledFrom(awkward), rapid.StringN(1, 40, 150)).Draw(t, kind)
	return fmt.Sprint(strings.ToValidUTF8(strings.ReplaceAll(n, "\x00", ""), ""), " ", id)
}

// randomClub draws a club with all that a calendar shows of it.
func randomClub(apiaries, boxes int) *rapid.Generator[*scheduler.Club] {
	return rapid.Custom(func(t *rapid.T) *scheduler.Club {
		c := &scheduler.Club{Name: "Sluice Lane", Rules: scheduler.DefaultRules()}
		for i := range rapid.IntRange(1, 3).Draw(t, "members") {
			c.Members = append(c.Members, scheduler.Member{
				ID: int64(i + 1), Name: name(t, "member", int64(i)), Email: fmt.Sprintf("m%d@example.org", i), Role: scheduler.Organiser,
				Language: rapid.SampledFrom([]string{"", "de", "en-US"}).Draw(t, "language"),
			})
		}
		box, hive := int64(0), int64(0)
		for i := range rapid.IntRange(1, apiaries).Draw(t, "apiaries") {
			a := scheduler.Apiary{
				ID: int64(i + 1), Name: name(t, "apiary", int64(i)), Latitude: rapid.Float64Range(-60, 65).Draw(t, "latitude"),
				Longitude: 10, ElevationM: rapid.Float64Range(0, 1500).Draw(t, "elevation"), AccessNotes: "gate code Q8812Q",
				Timezone: rapid.SampledFrom([]string{"Europe/London", "America/Toronto", "Pacific/Auckland", "Africa/Nairobi"}).Draw(t, "zone"),
				Keepers:  []int64{int64(rapid.IntRange(1, len(c.Members)).Draw(t, "keeper"))},
			}
			for range rapid.IntRange(1, 2).Draw(t, "hives") {
				hive++
				h := scheduler.Hive{ID: hive, Name: name(t, "hive", hive)}
				for range rapid.IntRange(1, boxes).Draw(t, "boxes") {
					box++
					h.Boxes = append(h.Boxes, randomBox(t, box))
				}
				a.Hives = append(a.Hives, h)
			}
			c.Apiaries = append(c.Apiaries, a)
		}
		return c
	})
}

func randomBox(t *rapid.T, id int64) scheduler.Box {
	b := scheduler.Box{ID: id, Name: name(t, "box", id), Kind: "deep", SetUpOn: scheduler.NewDate(2025, 4, 1)}
	on := b.SetUpOn
	for range rapid.IntRange(0, 3).Draw(t, "openings") {
		on += scheduler.Date(rapid.IntRange(20, 200).Draw(t, "wait"))
		b.Openings = append(b.Openings, scheduler.Opening{
			ID: uuid.NewString(), On: on, Joint: scheduler.Difficulty(rapid.IntRange(0, 4).Draw(t, "joint")), Frames: scheduler.NotTried,
			Scraped: scheduler.ScrapedPart, Note: strings.Repeat("näher, am Zaun; ", 32)[:500],
			Condition: rapid.SampledFrom([][]scheduler.Condition{nil, {scheduler.Warped}, {scheduler.BroodSuspect, scheduler.LugBroken}}).Draw(t, "condition"),
		})
	}
	return b
}

// stories is how many random cases a test goes through: more in a long run.
func stories(short, long int) int {
	if os.Getenv("PRYDAY_SOAK") != "" {
		return long
	}
	return short
}

// The plan, worked out from the records alone, stands in the calendar event by
// event as two decoders that did not write it read it.
func TestCalendarIsThePlan(t *testing.T) {
	for seed := range stories(6, 150) {
		t.Run(fmt.Sprint("club ", seed), func(t *testing.T) {
			b := newBed(t, randomClub(4, 4).Example(seed))
			_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{Far: true})
			body := b.calendar(t, token)
			var club *scheduler.Club
			b.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
				club, err = tx.Club(ctx)
				return err
			})
			saved := map[string]scheduler.Visit{} // identities are the store's
			for _, v := range club.Visits {
				saved[fmt.Sprint(v.ApiaryID, v.On)] = v
			}
			club.Visits = nil
			plan := scheduler.PlanClub(club, b.today())
			if len(plan.Visits) == 0 {
				t.Fatal("an empty plan proves nothing")
			}
			where := scheduler.NewNames(club)
			var want []string
			for _, v := range plan.Visits {
				s, ok := saved[fmt.Sprint(v.ApiaryID, v.On)]
				if !ok {
					t.Fatalf("planned for %s and not saved", v.On)
				}
				want = append(want, fmt.Sprint(s.UID, "@pryday|", v.On.Format("20060102"), "|", (v.On+1).Format("20060102"), "|",
					strings.ToUpper(string(v.Status)), "|", calendar.CleanLine(where.Apiary(v.ApiaryID)), "|boxes ", len(v.Boxes)))
			}
			slices.Sort(want)
			for name, read := range map[string]func(testing.TB, string) []event{"golang-ical": byGolangICal, "go-ical": byGoICal} {
				var got []string
				for _, e := range read(t, body) {
					boxes := -1
					for _, v := range saved {
						if v.UID+"@pryday" != e.uid {
							continue
						}
						boxes = 0
						for _, vb := range v.Boxes {
							if _, box := where.Box(vb.BoxID); strings.Contains(e.description, calendar.CleanLine(box)) {
								boxes++
							}
						}
						if !strings.Contains(e.summary, calendar.CleanLine(where.Apiary(v.ApiaryID))) {
							t.Errorf("%s: the summary %q does not name %q", name, e.summary, where.Apiary(v.ApiaryID))
						}
					}
					got = append(got, fmt.Sprint(e.uid, "|", e.on, "|", e.until, "|", e.status, "|", e.place, "|boxes ", boxes))
				}
				slices.Sort(got)
				if !slices.Equal(got, want) {
					t.Errorf("%s reads\n%s\nthe plan is\n%s", name, strings.Join(got, "\n"), strings.Join(want, "\n"))
				}
			}
			if strings.Contains(body, "Q8812Q") {
				t.Error("access notes stand in a calendar")
			}
		})
	}
}

// Over any run of openings, rule changes, moves, cancellations and days going
// by, an identity belongs to one apiary and never comes back, its sequence
// never falls and grows with every change of its day or state, and nothing
// changes by itself.
func TestIdentitiesLast(t *testing.T) {
	for seed := range stories(4, 150) {
		t.Run(fmt.Sprint("story ", seed), func(t *testing.T) {
			b := newBed(t, randomClub(2, 3).Example(seed))
			_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{Far: true})
			story := lives{seen: map[string]event{}, gone: map[string]bool{}}
			for step, deed := range rapid.SliceOfN(deeds(), 12, 12).Example(seed) {
				version := deed.do(t, b)
				eventually(t, "the daemon hears", func() bool { return b.feeds.ear.version(b.club) >= version })
				body := b.calendar(t, token)
				story.follow(t, fmt.Sprintf("step %d, %s", step, deed.name), byGoICal(t, body))
				b.feeds.cache.InvalidateAll()
				if again := b.calendar(t, token); again != body {
					t.Fatalf("step %d, %s: two renders of the same differ\n%s\n%s", step, deed.name, body, again)
				}
			}
			if len(story.seen) == 0 {
				t.Error("no visit ever showed")
			}
		})
	}
}

// lives follows each identity through a story.
type lives struct {
	seen map[string]event
	gone map[string]bool
}

func (l *lives) follow(t *testing.T, when string, events []event) {
	t.Helper()
	present := map[string]bool{}
	for _, e := range events {
		if present[e.uid] {
			t.Errorf("%s: %s stands there twice", when, e.uid)
		}
		present[e.uid] = true
		if l.gone[e.uid] {
			t.Errorf("%s: %s was gone and is back", when, e.uid)
		}
		was, known := l.seen[e.uid]
		l.seen[e.uid] = e
		if !known {
			continue
		}
		var before, now int
		if _, err := fmt.Sscan(was.sequence+" "+e.sequence, &before, &now); err != nil {
			t.Fatal(err)
		}
		switch {
		case e.place != was.place:
			t.Errorf("%s: %s went from %s to %s", when, e.uid, was.place, e.place)
		case now < before:
			t.Errorf("%s: the sequence of %s fell from %d to %d", when, e.uid, before, now)
		case now == before && (e.on != was.on || e.status != was.status):
			t.Errorf("%s: %s changed from %s, %s to %s, %s within sequence %d", when, e.uid, was.on, was.status, e.on, e.status, now)
		case now > before && e.stamp < was.stamp:
			t.Errorf("%s: the stamp of %s fell from %s to %s", when, e.uid, was.stamp, e.stamp)
		}
	}
	for uid := range l.seen {
		l.gone[uid] = l.gone[uid] || !present[uid]
	}
}

// deed is one thing that happens to a club.
type deed struct {
	name string
	pick int
	days int
	hard scheduler.Difficulty
}

func deeds() *rapid.Generator[deed] {
	return rapid.Custom(func(t *rapid.T) deed {
		return deed{
			rapid.SampledFrom([]string{"open", "open", "rules", "move", "cancel", "days", "days", "finish", "leave out"}).Draw(t, "deed"),
			rapid.IntRange(0, 1000).Draw(t, "pick"), rapid.IntRange(1, 40).Draw(t, "days"), scheduler.Difficulty(rapid.IntRange(0, 4).Draw(t, "hard")),
		}
	})
}

// do does it and returns the feed version afterwards.
func (d deed) do(t *testing.T, b *bed) (version int64) {
	t.Helper()
	today := b.today()
	err := b.store.InClub(context.Background(), b.club, func(tx *store.Tx) (err error) {
		ctx := context.Background()
		c, err := tx.Outline(ctx)
		if err != nil {
			return err
		}
		visits, err := tx.Visits(ctx, store.VisitFilter{OpenOnly: true, From: today})
		if err != nil || len(visits) == 0 {
			return err
		}
		v := visits[d.pick%len(visits)]
		switch d.name {
		case "open":
			a := &c.Apiaries[d.pick%len(c.Apiaries)]
			h := &a.Hives[d.pick%len(a.Hives)]
			_, err = tx.RecordOpening(ctx, h.Boxes[d.pick%len(h.Boxes)].ID, scheduler.Opening{
				On: today, Joint: d.hard, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedPart,
			}, today)
		case "rules":
			r := scheduler.DefaultRules()
			r.MinDays, r.NoticeDays = 10+d.days, 5+d.days/2
			r.OddsLimit = 0.05 + float64(d.pick%40)/100
			if _, err = tx.ApplyRules(ctx, r, b.member, "", today); err == nil {
				_, err = tx.ReplanAll(ctx, today)
			}
		case "move":
			_, err = tx.MoveVisit(ctx, v.ID, v.Sequence, today+scheduler.Date(d.days), today)
		case "cancel":
			_, err = tx.CancelVisit(ctx, v.ID, v.Sequence, today)
		case "finish":
			_, err = tx.FinishVisit(ctx, v.ID, v.Sequence, today, today)
		case "leave out":
			if len(v.Boxes) > 0 {
				_, err = tx.LeaveBoxOut(ctx, v.ID, v.Sequence, v.Boxes[d.pick%len(v.Boxes)].BoxID, true, today)
			}
		case "days":
			b.clock.set(b.clock.Civil().AddDate(0, 0, d.days))
			_, err = tx.ReplanAll(ctx, b.today())
		}
		return err
	})
	if err != nil && !errors.Is(err, store.ErrVisitChanged) {
		t.Fatalf("%s: %v", d.name, err)
	}
	b.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
		version, err = tx.FeedVersion(ctx)
		return err
	})
	return version
}

// An entry's bytes say nothing of the hour at which it was rendered.
func TestRendersAreEqualAtAnyHour(t *testing.T) {
	b := newBed(t, records())
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{Far: true, Alarms: true})
	first := b.get(t, token)
	b.clock.set(b.clock.Civil().Add(9 * time.Hour))
	b.feeds.cache.InvalidateAll()
	second := b.get(t, token)
	if !bytes.Equal([]byte(first.body), []byte(second.body)) || first.header.Get("ETag") != second.header.Get("ETag") {
		t.Error("two renders on one day differ")
	}
}

// What is read for a calendar says the same as the whole records would.
func TestWhatIsReadIsEnough(t *testing.T) {
	for seed := range stories(4, 100) {
		t.Run(fmt.Sprint("club ", seed), func(t *testing.T) {
			b := newBed(t, randomClub(3, 4).Example(seed))
			for _, deed := range rapid.SliceOfN(deeds(), 4, 4).Example(seed) {
				deed.do(t, b)
			}
			b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
				visits, _, err := tx.FeedVisits(ctx, &store.Link{Kind: store.ClubLink, LinkOptions: store.LinkOptions{Far: true}}, store.FeedWindow{
					Today: b.today(), From: b.today() - calendar.PastDays,
				})
				if err != nil {
					return err
				}
				part, err := tx.FeedClub(ctx, visits, b.today())
				if err != nil {
					return err
				}
				whole, err := tx.Club(ctx)
				if err != nil {
					return err
				}
				shown := make([]calendar.VisitRecord, len(visits))
				for i, v := range visits {
					shown[i] = calendar.VisitRecord{Visit: v.Visit, ChangedAt: v.ChangedAt, CancelledUntil: v.CancelledUntil}
				}
				o := calendar.Options{Today: b.today(), FarTentative: true}
				got, want := calendar.EventsOf(part, shown, o), calendar.EventsOf(whole, shown, o)
				for i := range want {
					if !reflect.DeepEqual(got[i], want[i]) {
						t.Fatalf("from what is read\n%+v\nfrom all records\n%+v", got[i], want[i])
					}
				}
				if len(want) == 0 || len(got) != len(want) {
					t.Errorf("%d events, want %d", len(got), len(want))
				}
				return nil
			})
		})
	}
}
