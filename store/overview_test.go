package store

import (
	"context"
	"errors"
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
		counts, err := tx.ApiaryCounts(ctx)
		if err != nil {
			return err
		}
		for i, n := range counts {
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

		visits, err := tx.OpenVisits(ctx, today)
		if err != nil {
			return err
		}
		full, err := tx.Visits(ctx, VisitFilter{OpenOnly: true, From: today})
		if err != nil {
			return err
		}
		if len(visits) == 0 || len(visits[0].Boxes) > 0 {
			t.Errorf("%d visits, the first with boxes %v", len(visits), visits[0].Boxes)
		}
		if err := tx.FillBoxes(ctx, visits); err != nil {
			return err
		}
		if !equalJSON(visits, full) {
			t.Error("visits filled with their boxes are not the visits")
		}

		ids := []int64{all.Apiaries[0].ID}
		opened, err := tx.OpenedOn(ctx, ids, scheduler.NewDate(2026, 1, 1))
		if err != nil {
			return err
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
		hives, err := tx.HiveNames(ctx, all.Apiaries[1].ID, 3)
		if err != nil {
			return err
		}
		if len(hives) != 3 || hives[0].Apiary != "Quarry" || hives[2].Apiary != "Orchard" {
			t.Errorf("hives: %+v", hives)
		}
		at, err := tx.ApiaryOfHive(ctx, hives[0].ID)
		if err != nil || at != all.Apiaries[1].ID {
			t.Errorf("hive %d stands at %d (%v)", hives[0].ID, at, err)
		}
		if _, err := tx.ApiaryOfHive(ctx, 99999); !errors.Is(err, ErrNotFound) {
			t.Errorf("an unknown hive: %v", err)
		}
		return nil
	})
}
