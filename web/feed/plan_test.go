package feed

import (
	"bytes"
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pryday/notify/calendar"
	"pryday/scheduler"
	"pryday/store"
)

// The plan, worked out from the records alone, stands in the calendar event by
// event as two decoders that did not write it read it.
func TestCalendarIsThePlan(t *testing.T) {
	for seed := range stories(6, 150) {
		t.Run(fmt.Sprint("club ", seed), func(t *testing.T) {
			b := newFixture(t, randomClub(4, 4).Example(seed))
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

// An entry's bytes say nothing of the hour at which it was rendered.
func TestRendersAreEqualAtAnyHour(t *testing.T) {
	b := newFixture(t, records())
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
			b := newFixture(t, randomClub(3, 4).Example(seed))
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
				part, _, err := tx.FeedClub(ctx, 0, visits, b.today())
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
