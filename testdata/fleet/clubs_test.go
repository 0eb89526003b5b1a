package fleet

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/google/uuid"

	"pryday/migrations"
	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// made is a club of the fleet's.
type made struct {
	id       int64
	member   int64
	calendar string // its path
}

// found makes clubs whose boxes are long due, whose members' hour has come and
// for which no day was planned yet, as they are after change.
func found(t testing.TB, s *server, n int, change func(*scheduler.Club)) []made {
	t.Helper()
	ctx := context.Background()
	if err := migrations.Up(ctx, s.url("pryday", "pryday")); err != nil {
		t.Fatal(err)
	}
	st := open(t, s.url("pryday_app", "pryday"))
	defer st.Close()
	clubs := make([]made, n)
	for i := range clubs {
		id, err := st.CreateClub(ctx, fmt.Sprintf("Valley Club %03d", i))
		if err == nil {
			err = st.InClub(ctx, id, func(tx *store.Tx) error {
				c := records(i)
				change(c)
				if _, err := tx.Import(ctx, c); err != nil {
					return err
				}
				members, err := tx.Members(ctx)
				if err != nil {
					return err
				}
				_, token, err := tx.CreateLink(ctx, store.ClubLink, members[0].ID, 0, store.LinkOptions{})
				clubs[i] = made{id, members[0].ID, "/calendar/" + token + "/club.ics"}
				return err
			})
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	return clubs
}

func open(t testing.TB, url string) *store.Store {
	t.Helper()
	st, err := store.Open(context.Background(), store.Config{URL: url, Apart: true, MaxConns: 4})
	if err != nil {
		t.Fatal(err)
	}
	return st
}

// noon is a zone in which it is about noon, so that a run sees no change of the day.
func noon() string {
	if ahead := 12 - time.Now().UTC().Hour(); ahead != 0 {
		return fmt.Sprintf("Etc/GMT%+d", -ahead) // whose sign is the other way round
	}
	return "Etc/UTC"
}

// records are a club's with two members and apiaries where it is summer now.
func records(n int) *scheduler.Club {
	today := scheduler.DateOf(time.Now().UTC())
	latitude := 47.5
	if m := time.Now().Month(); m < time.April || m > time.September {
		latitude = -37.5
	}
	c := &scheduler.Club{Name: fmt.Sprintf("Valley Club %03d", n), Rules: scheduler.DefaultRules()}
	for m := range int64(2) {
		c.Members = append(c.Members, scheduler.Member{ID: m + 1, Name: fmt.Sprintf("Keeper %d", m+1), Email: fmt.Sprintf("%d.%d@keepers.test", n, m), Role: scheduler.Organiser})
	}
	box := int64(0)
	for a := range int64(4) {
		apiary := scheduler.Apiary{ID: a + 1, Name: fmt.Sprintf("Meadow %d", a+1), Latitude: latitude, Longitude: 9, ElevationM: 200, Timezone: noon(), Keepers: []int64{a%2 + 1}}
		for h := range int64(6) {
			hive := scheduler.Hive{ID: a*10 + h + 1, Name: fmt.Sprintf("Hive %d.%d", a+1, h+1)}
			for range 3 {
				box++
				hive.Boxes = append(hive.Boxes, scheduler.Box{
					ID: box, Name: fmt.Sprintf("B%03d", box), Kind: "deep", SetUpOn: today - 900,
					Openings: []scheduler.Opening{{ID: uuid.NewString(), On: today - 300, Joint: scheduler.Hard, Frames: scheduler.Firm, Scraped: scheduler.ScrapedPart}},
				})
			}
			apiary.Hives = append(apiary.Hives, hive)
		}
		c.Apiaries = append(c.Apiaries, apiary)
	}
	return c
}

// owe records so many more mails of a club, each with its job.
func owe(t testing.TB, st *store.Store, c made, n int) {
	t.Helper()
	ctx := context.Background()
	today := scheduler.DateOf(time.Now().UTC())
	if err := st.InClub(ctx, c.id, func(tx *store.Tx) error {
		visits, err := tx.Visits(ctx, store.VisitFilter{OpenOnly: true, From: today + 2})
		if err != nil || len(visits) == 0 {
			return fmt.Errorf("the club has %d visits: %w", len(visits), err)
		}
		v := visits[0]
		messages := make([]owed.Message, n)
		for i := range messages {
			messages[i] = owed.Message{
				Key: fmt.Sprintf("more/%d", i), Kind: scheduler.DigestMessage, MemberID: c.member, On: today, Reason: owed.BecauseDaysBefore,
				Items: []owed.Item{{Kind: scheduler.DigestMessage, Because: owed.BecauseDaysBefore, VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, VisitOn: v.On}},
			}
		}
		_, err = tx.Owe(ctx, messages, time.Time{})
		return err
	}); err != nil {
		t.Fatal(err)
	}
}
