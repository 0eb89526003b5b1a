package store

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"testing"

	"pryday/scheduler"
)

// importCrowded makes a club of apiaries that one member looks after, who can
// make one visit a day and two a week.
func importCrowded(t *testing.T, s *Store, apiaries int) int64 {
	t.Helper()
	ctx := context.Background()
	c := sampleClub()
	c.Members[1].NoGo, c.Spare = nil, nil
	c.Members[1].Prefs.HoursADay, c.Members[1].Prefs.VisitsAWeek = 3.5, 2
	model := c.Apiaries[0]
	c.Apiaries = nil
	for i := range apiaries {
		a := model
		a.ID, a.Name, a.Keepers, a.Hives = int64(i+1), fmt.Sprintf("Place %d", i+1), []int64{2}, nil
		h := scheduler.Hive{ID: int64(i + 1), Name: "Hive"}
		for b := range 2 {
			id := int64(2*i + b + 1)
			h.Boxes = append(h.Boxes, scheduler.Box{
				ID: id, Name: fmt.Sprintf("B%d", id), Kind: "deep", SetUpOn: scheduler.NewDate(2025, 4, 10), Openings: sampleOpenings(id, int(id)%4),
			})
		}
		a.Hives = []scheduler.Hive{h}
		c.Apiaries = append(c.Apiaries, a)
	}
	club, err := s.CreateClub(ctx, c.Name)
	if err != nil {
		t.Fatal(err)
	}
	inClub(t, s, club, func(tx *Tx) error { _, err := tx.Import(ctx, c); return err })
	return club
}

// crowd counts the visits that members are asked to make, by day and by week,
// and how many nobody is asked to make; it fails where that is too many.
func crowd(t *testing.T, c *scheduler.Club) (asked, lacking int) {
	t.Helper()
	days, weeks := map[scheduler.Date]int{}, map[scheduler.Date]int{}
	for _, v := range c.Visits {
		switch {
		case !v.Status.Open():
		case len(v.Who) == 0:
			lacking++
			if !v.NoTime {
				t.Errorf("nobody is asked to make the visit on %s, and it does not say why", v.On)
			}
		default:
			asked++
			days[v.On]++
			weeks[v.On-scheduler.Date(v.On.Weekday()+6)%7]++
		}
	}
	for on, n := range days {
		if n > 1 {
			t.Errorf("%d visits on %s", n, on)
		}
	}
	for on, n := range weeks {
		if n > 2 {
			t.Errorf("%d visits in the week of %s", n, on)
		}
	}
	return asked, lacking
}

// TestPlansShareWhatPeopleCanGive: more apiaries than go into one chunk, and
// each planned alone, take of the same days; planned again nothing changes.
func TestPlansShareWhatPeopleCanGive(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importCrowded(t, s, 2*chunk+8)
	plan := func() *scheduler.Club {
		t.Helper()
		inClub(t, s, club, func(tx *Tx) error {
			_, err := tx.tx.Exec(ctx, `UPDATE apiary SET planned_on = NULL, planned_rules = NULL`)
			return err
		})
		if n, _, err := s.ReplanClub(ctx, club, today); err != nil || n != 2*chunk+8 {
			t.Fatalf("planned %d: %v", n, err)
		}
		return readClub(t, s, club)
	}
	plan() // in the order of the ids, since nothing is known of the boxes yet
	c := plan()
	asked, lacking := crowd(t, c)
	if asked < 30 || lacking < 30 {
		t.Fatalf("%d visits are asked for and %d lack people: the case is too easy", asked, lacking)
	}
	if again := plan(); !equalJSON(again.Visits, c.Visits) {
		t.Error("planning the whole club once more changes its visits")
	}
	for i := range 3 {
		inClub(t, s, club, func(tx *Tx) error {
			_, err := tx.Replan(ctx, c.Apiaries[i*11].ID, today)
			return err
		})
		crowd(t, readClub(t, s, club))
	}
}

// TestPlanningAloneMindsTheOthers: a visit that somebody took elsewhere keeps
// that day free of others, and leaves it when the member cannot go.
func TestPlanningAloneMindsTheOthers(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importCrowded(t, s, 2)
	first := func(apiary int) scheduler.Visit {
		t.Helper()
		c := readClub(t, s, club)
		for _, v := range c.Visits {
			if v.ApiaryID == c.Apiaries[apiary].ID && v.Status.Open() {
				return v
			}
		}
		t.Fatal("there is no visit")
		return scheduler.Visit{}
	}
	inClub(t, s, club, func(tx *Tx) error { _, err := tx.ReplanAll(ctx, today); return err })
	a, b := first(0), first(1)
	if a.On == b.On {
		t.Fatalf("both on %s", a.On)
	}
	inClub(t, s, club, func(tx *Tx) error { _, err := tx.MoveVisit(ctx, a.ID, a.Sequence, b.On, today); return err })
	inClub(t, s, club, func(tx *Tx) error { _, err := tx.Replan(ctx, b.ApiaryID, today); return err })
	if now := first(1); now.On == b.On && len(now.Who) > 0 {
		t.Errorf("two visits on %s", b.On)
	}
}

// TestAroundAVisitIsWhatIsPromisedElsewhere: also of who goes there without
// looking after the place.
func TestAroundAVisitIsWhatIsPromisedElsewhere(t *testing.T) {
	t.Parallel()
	s := open(t)
	club := importCrowded(t, s, 3)
	inClub(t, s, club, func(tx *Tx) error { _, err := tx.ReplanAll(t.Context(), today); return err })
	inClub(t, s, club, func(tx *Tx) error {
		c, err := tx.Outline(t.Context())
		if err != nil {
			return err
		}
		i := slices.IndexFunc(c.Visits, func(v scheduler.Visit) bool { return v.Status.Open() && v.ApiaryID == c.Apiaries[0].ID })
		around, err := tx.RecordsAroundVisit(t.Context(), c.Visits[i].UID, today)
		if err != nil {
			return err
		}
		want := map[int64]int{}
		for _, v := range c.Visits {
			if v.ApiaryID != c.Apiaries[0].ID && v.Status.Open() && len(v.Who) > 0 {
				want[v.ApiaryID]++
			}
		}
		got := map[int64]int{}
		for _, p := range around.Club.Elsewhere {
			got[p.ApiaryID]++
		}
		if len(want) < 2 || !maps.Equal(got, want) {
			t.Errorf("promises elsewhere by apiary: %v, want %v", got, want)
		}
		for _, sql := range []string{
			`DELETE FROM apiary_keeper WHERE apiary_id = $1`,
			`UPDATE visit_member SET said = 'going' WHERE visit_id IN (SELECT id FROM visit WHERE apiary_id = $1)`,
		} {
			if _, err := tx.tx.Exec(t.Context(), sql, c.Apiaries[0].ID); err != nil {
				return err
			}
		}
		around, err = tx.RecordsAroundVisit(t.Context(), c.Visits[i].UID, today)
		total := 0
		for _, n := range want {
			total += n
		}
		if err == nil && len(around.Club.Elsewhere) != total {
			t.Errorf("%d promises of who goes there and looks after others, want %d", len(around.Club.Elsewhere), total)
		}
		return err
	})
}
