package store

import (
	"context"
	"slices"
	"testing"

	"pryday/scheduler"
)

func TestOverview(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	club := importSample(t, s)
	all := readClub(t, s, club)
	inClub(t, s, club, func(tx *Tx) error {
		bare, err := tx.Apiaries(ctx)
		if err != nil {
			return err
		}
		for i, a := range bare.Apiaries {
			want := all.Apiaries[i]
			want.Hives = nil
			if !equalJSON(a, want) || len(bare.Spare) > 0 {
				t.Errorf("apiary %+v, want %+v", a, want)
			}
		}
		if !equalJSON(bare.Members, all.Members) || !equalJSON(bare.Rules, all.Rules) {
			t.Error("members or rules differ from those of the whole club")
		}

		states, err := tx.BoxStates(ctx, 0)
		if err != nil {
			return err
		}
		over, err := tx.Overview(ctx, today)
		if err != nil {
			return err
		}
		if !equalJSON(over.Club, bare) {
			t.Error("the overview's club is another than its apiaries")
		}
		for i, n := range over.Counts {
			want := ApiaryCount{ID: all.Apiaries[i].ID, Hives: len(all.Apiaries[i].Hives)}
			for _, st := range states {
				if st.ApiaryID != want.ID {
					continue
				}
				want.Boxes++
				want.Worst = max(want.Worst, st.Odds)
				if st.Overdue && st.LeftAlone.IsZero() {
					want.Overdue++
					if want.Since == 0 || st.Due < want.Since {
						want.Since = st.Due
					}
				}
			}
			if n != want {
				t.Errorf("counted %+v, want %+v", n, want)
			}
		}

		visits := over.Visits
		full, err := tx.Visits(ctx, VisitFilter{OpenOnly: true, From: today})
		if err != nil {
			return err
		}
		if len(visits) == 0 || len(visits[0].Boxes) > 0 {
			t.Errorf("%d visits, the first with boxes %v", len(visits), visits[0].Boxes)
		}
		ids := []int64{all.Apiaries[0].ID}
		stacks, opened, err := tx.Stacks(ctx, over.Club, visits, ids, scheduler.NewDate(2026, 1, 1))
		if err != nil {
			return err
		}
		if !equalJSON(visits, full) {
			t.Error("visits filled with their boxes are not the visits")
		}

		outline, err := tx.Outline(ctx)
		if err != nil {
			return err
		}
		outline.Visits, outline.Spare = nil, nil
		if !equalJSON(stacks, outline) {
			t.Errorf("stacks %+v, want %+v", stacks, outline)
		}
		if want := []scheduler.Date{scheduler.NewDate(2026, 5, 9), scheduler.NewDate(2027, 4, 24)}; len(opened) != 1 || !slices.Equal(opened[ids[0]], want) {
			t.Errorf("opened on %v, want %v at %d", opened, want, ids[0])
		}

		spare, err := tx.SpareBoxes(ctx)
		if err != nil {
			return err
		}
		if len(spare) != 1 || spare[0].Name != "S1" || spare[0].Where != scheduler.InStore {
			t.Errorf("on no hive: %+v", spare)
		}
		others, err := tx.Others(ctx, all.Apiaries[1].ID, 3)
		if err != nil {
			return err
		}
		if !equalJSON(others.Spare, spare) || len(others.Apiaries) != 1 || others.Apiaries[0] != (ApiaryName{ids[0], "Orchard"}) {
			t.Errorf("others: %+v", others)
		}
		hives := others.Hives
		if len(hives) != 3 || hives[0].Apiary != "Quarry" || hives[2].Apiary != "Orchard" {
			t.Errorf("hives: %+v", hives)
		}
		return nil
	})
}
