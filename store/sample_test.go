package store

import (
	"context"
	"fmt"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store/storetest"
)

// today is the day that the tests plan for.
var today = scheduler.NewDate(2027, 6, 1)

// open connects a store to a database of the test's own.
func open(t testing.TB) *Store {
	t.Helper()
	s, err := Open(context.Background(), Config{URL: storetest.Serving(storetest.New(t)), Apart: true, MaxConns: 8})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s
}

// sampleClub is an invented club: two apiaries with two hives of three boxes,
// one box that came over from the other apiary, and one in store.
func sampleClub() *scheduler.Club {
	c := &scheduler.Club{
		Name: "Old Mill Beekeepers", Rules: scheduler.DefaultRules(),
		Members: []scheduler.Member{
			{ID: 1, Name: "Ansel Whitlow", Email: "ansel@example.org", Role: scheduler.Organiser},
			{ID: 2, Name: "Brida Okonjo", Email: "Brida@example.org", Phone: "0123 456", Role: scheduler.Keeper, Timezone: "Europe/Vienna", Units: text.Inches},
		},
		Kinds: []scheduler.BoxKind{{Name: "nuc", DepthMM: 240, EmptyKg: 4, FullKg: 17, Frames: 5}},
	}
	box := int64(0)
	for a, name := range []string{"Orchard", "Quarry"} {
		apiary := scheduler.Apiary{
			ID: int64(a + 1), Name: name, Latitude: 47.5 + float64(a), Longitude: 15, Region: scheduler.Continental, ElevationM: 300, Timezone: "Europe/Vienna",
			Keepers: []int64{int64(2 - a)},
		}
		for h := range 2 {
			hive := scheduler.Hive{ID: int64(10*a + h + 1), Name: fmt.Sprintf("Hive %d", h+1)}
			for b := range 3 {
				box++
				hive.Boxes = append(hive.Boxes, scheduler.Box{
					ID: box, Name: fmt.Sprintf("%s%d%d", name[:1], h+1, b+1), Kind: "deep", SetUpOn: scheduler.NewDate(2025, 4, 10),
					Openings: sampleOpenings(box, int(box)%4),
				})
			}
			apiary.Hives = append(apiary.Hives, hive)
		}
		c.Apiaries = append(c.Apiaries, apiary)
	}
	c.Apiaries[0].Hives[0].LeaveAlone = []scheduler.Period{{From: today + 20, Until: today + 30, Reason: "new queen"}}
	c.Apiaries[0].Seen = []scheduler.SeasonDay{
		{Event: scheduler.FirstPollen, On: scheduler.NewDate(2026, 4, 2)},
		{Event: scheduler.FirstPollen, On: scheduler.NewDate(2027, 4, 6)},
		{Event: scheduler.SupersOff, On: scheduler.NewDate(2026, 8, 1)},
	}
	c.Apiaries[0].Hives[1].Requeened = []scheduler.Date{scheduler.NewDate(2026, 6, 3)}
	c.Members[1].NoGo = []scheduler.Period{{From: today + 3, Until: today + 4, Reason: "away"}}
	c.Spare = []scheduler.Box{{
		ID: 99, Name: "S1", Kind: "medium", SetUpOn: scheduler.NewDate(2025, 4, 1), Repaired: []scheduler.Date{scheduler.NewDate(2026, 1, 15)},
		GuessedOn: scheduler.NewDate(2026, 4, 1), GuessAnswered: true,
		Places: []scheduler.BoxPlace{{From: scheduler.NewDate(2025, 4, 1), Where: scheduler.InStore}},
	}}
	return c
}

// sampleOpenings are three openings of one box, the last with gaps.
func sampleOpenings(box int64, hard int) []scheduler.Opening {
	days := []scheduler.Date{scheduler.NewDate(2025, 7, 2), scheduler.NewDate(2026, 5, 9), scheduler.NewDate(2027, 4, 24)}
	var out []scheduler.Opening
	for i, on := range days {
		out = append(out, scheduler.Opening{
			ID: uuid.NewSHA1(uuid.NameSpaceOID, fmt.Appendf(nil, "%d/%d", box, i)).String(),
			On: on, Joint: scheduler.Difficulty(hard), Frames: scheduler.NotTried, Scraped: scheduler.ScrapedPart, By: 2,
		})
	}
	switch box {
	case 1:
		out[0].Opener = &scheduler.Opener{Name: "Old Tam"}
	case 2:
		out[0].Opener = &scheduler.Opener{Member: 1}
	case 3:
		out[0].Opener = &scheduler.Opener{}
	}
	out[2].Gaps = []scheduler.Gap{{At: scheduler.AboveFrames, MM: 8.5}, {At: scheduler.BetweenFrames, Peg: scheduler.ThinGoes}}
	out[2].Condition = []scheduler.Condition{scheduler.Warped, scheduler.LugBroken}
	out[2].Note = "näher am Zaun, \"zäh\""
	return out
}

// importSample makes a club with the sample's records and plans it.
func importSample(t testing.TB, s *Store) int64 {
	t.Helper()
	club := importClub(t, s, sampleClub())
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.ReplanAll(context.Background(), today)
		return err
	})
	return club
}

// importClub makes a club of records, and plans nothing.
func importClub(t testing.TB, s *Store, records *scheduler.Club) int64 {
	t.Helper()
	ctx := context.Background()
	club, err := s.CreateClub(ctx, records.Name)
	if err != nil {
		t.Fatal(err)
	}
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.Import(ctx, records)
		return err
	})
	return club
}

func inClub(t testing.TB, s *Store, club int64, fn func(*Tx) error) {
	t.Helper()
	if err := s.InClub(context.Background(), club, fn); err != nil {
		t.Fatal(err)
	}
}

// readClub reads a whole club.
func readClub(t testing.TB, s *Store, club int64) (c *scheduler.Club) {
	t.Helper()
	inClub(t, s, club, func(tx *Tx) (err error) {
		c, err = tx.Club(context.Background())
		return err
	})
	return c
}
