package store

import (
	"context"
	"slices"
	"testing"

	"pryday/scheduler"
)

// TestStatesOfEveryKind: what is kept of a box gives the numbers of a plan that is
// made anew, also where its seal is in doubt, where there are no bees, and where the
// club's odds are corrected; and those of the day that its apiary was planned for.
func TestStatesOfEveryKind(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club, err := s.CreateClub(ctx, "Old Mill Beekeepers")
	if err != nil {
		t.Fatal(err)
	}
	records := sampleClub()
	first := &records.Apiaries[0]
	for i := range first.Hives[1].Boxes { // nothing says what became of the one that was to be opened
		b := &first.Hives[1].Boxes[i]
		b.Openings = b.Openings[:2]
	}
	listed := first.Hives[1].Boxes[0].ID
	records.Visits = []scheduler.Visit{{
		ID: 1, UID: "visit-1", ApiaryID: first.ID, On: today - 20, Status: scheduler.Done, FirstSeen: today - 40,
		Boxes: []scheduler.VisitBox{{BoxID: listed, Due: today - 19, Reason: scheduler.BecauseOdds}},
	}}
	records.Apiaries[1].Hives[1].Events = []scheduler.ColonyEvent{{ID: "6f1c1f0e-3a52-4f3e-9a59-0d6f5b0a7a21", On: today - 30, What: scheduler.Died}}
	inClub(t, s, club, func(tx *Tx) error {
		if _, err := tx.Import(ctx, records); err != nil {
			return err
		}
		correct := scheduler.Recalibration{MadeOn: today - 1, Openings: 200, Hard: scheduler.Curve{Intercept: 0.4, Slope: 1.1}, Stuck: scheduler.Curve{Slope: 1}}
		if err := tx.putRecalibration(ctx, correct, today-1); err != nil {
			return err
		}
		_, err := tx.ReplanAll(ctx, today)
		return err
	})
	for _, night := range []scheduler.Date{today, today + 1, today + 40} {
		if _, _, err := s.ReplanClub(ctx, club, night); err != nil {
			t.Fatal(err)
		}
		c := readClub(t, s, club)
		want := scheduler.PlanClub(c, night).Boxes
		var doubted, barren int
		for _, b := range want {
			if len(b.Outlook.Ages()) > 0 {
				doubted++
			}
			if b.Outlook.Since == 0 {
				barren++
			}
		}
		if doubted == 0 || barren == 0 {
			t.Fatalf("%d seals are in doubt, and %d boxes without bees", doubted, barren)
		}
		inClub(t, s, club, func(tx *Tx) error {
			got, err := tx.BoxStates(ctx, 0)
			if err != nil {
				return err
			}
			if !slices.Equal(got, want) {
				t.Errorf("states of %s are\n%+v\nwant\n%+v", night, got, want)
			}
			worst := map[int64]float64{}
			for _, b := range want {
				worst[b.ApiaryID] = max(worst[b.ApiaryID], b.Odds)
			}
			counts, err := tx.ApiaryCounts(ctx)
			for _, n := range counts {
				if n.Worst != worst[n.ID] {
					t.Errorf("the worst odds at %d on %s are %v, want %v", n.ID, night, n.Worst, worst[n.ID])
				}
			}
			return err
		})
	}
}
