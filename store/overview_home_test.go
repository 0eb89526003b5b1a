package store

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"pryday/scheduler"
)

// What is kept as overdue with an apiary is what counting its boxes comes to: a
// year on all are late but those of a hive that is left alone.
func TestOverdueIsKeptWithTheApiary(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	left := readClub(t, s, club).Apiaries[0].Hives[0]
	inClub(t, s, club, func(tx *Tx) error {
		hive := left
		hive.LeaveAlone = []scheduler.Period{{From: today, Reason: "queen cells"}}
		_, err := tx.UpdateHive(ctx, hive, today)
		return err
	})
	for _, day := range []scheduler.Date{today, today + 500} {
		inClub(t, s, club, func(tx *Tx) error {
			if _, err := tx.ReplanAll(ctx, day); err != nil {
				return err
			}
			h, err := tx.Home(ctx, HomeWish{Leads: true, Since: day, MostLate: 9})
			if err != nil {
				return err
			}
			counts, err := tx.ApiaryCounts(ctx)
			if err != nil {
				return err
			}
			var want []ApiaryLate
			for _, c := range counts {
				if c.Overdue > 0 {
					want = append(want, ApiaryLate{c.ID, c.Overdue, c.Since})
				}
			}
			slices.SortStableFunc(want, func(a, b ApiaryLate) int { return cmp.Compare(a.Since, b.Since) })
			if !slices.Equal(h.Late, want) {
				t.Errorf("%s: %+v are kept, want %+v", day, h.Late, want)
			}
			if late := day > today; late != (len(h.Late) == 2) || late && (h.Late[0].Overdue != 6 || h.Late[1].Overdue != 3) {
				t.Errorf("%s: late are %+v", day, h.Late)
			}
			for _, a := range readClub(t, s, club).Apiaries {
				for _, keeper := range a.Keepers {
					own, err := tx.Home(ctx, HomeWish{Member: keeper, Since: day, MostLate: 1})
					if err != nil {
						return err
					}
					if n := min(len(want), 1); len(own.Late) != n || n == 1 && !slices.Contains(own.Club.Apiary(own.Late[0].ID).Keepers, keeper) {
						t.Errorf("%s: to a keeper of %s, late are %+v", day, a.Name, own.Late)
					}
				}
			}
			return nil
		})
	}
}

// What is read for the first page is what choosing among all visits comes to.
func TestHomeVisits(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importLarge(t, s, 16, 1)
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.ReplanAll(ctx, today)
		return err
	})
	c := readClub(t, s, club)
	member := c.Members[0].ID
	work := map[int64]scheduler.Work{}
	for i := range c.Visits {
		work[c.Visits[i].ID] = c.Visits[i].Expected()
	}
	inClub(t, s, club, func(tx *Tx) error {
		all, err := tx.Overview(ctx, today)
		if err != nil {
			return err
		}
		if len(all.Visits) < 30 {
			t.Fatalf("only %d visits", len(all.Visits))
		}
		// To every third nobody goes.
		for i := range all.Visits {
			if i%3 == 0 {
				if _, err := tx.tx.Exec(ctx, `UPDATE visit_member SET said = 'cannot' WHERE visit_id = $1`, all.Visits[i].ID); err != nil {
					return err
				}
			}
		}
		// Nobody has time for every second, though somebody goes to some of those.
		if _, err := tx.tx.Exec(ctx, `UPDATE visit SET no_time = true WHERE id % 2 = 0`); err != nil {
			return err
		}
		if all, err = tx.Overview(ctx, today); err != nil {
			return err
		}
		lackedBy := 0
		for _, w := range []HomeWindow{
			{Member: member, Today: today, From: today, Until: today + 42, Soon: today + 14, Most: 7, Whole: []int64{c.Apiaries[3].ID, c.Apiaries[9].ID}, FirstAt: []int64{c.Apiaries[4].ID}},
			{Member: member + 1, Today: today + 7, From: today, Until: today + 200, Soon: today + 100, Most: 40},
			{Member: member, Today: today + 900, From: today + 900, Until: today + 942, Soon: today + 914, Most: 40},
		} {
			got, err := tx.HomeVisits(ctx, w)
			if err != nil {
				return err
			}
			if want := chosen(all.Visits, w); !reflect.DeepEqual(daysOf(got.Visits), daysOf(want)) {
				t.Errorf("%+v: %v, want %v", w, daysOf(got.Visits), daysOf(want))
			}
			near, later, first := 0, 0, map[int64]scheduler.Date{}
			for _, v := range all.Visits {
				if v.On < w.From {
					continue
				}
				later++
				if v.On <= w.Until {
					near++
				}
				if slices.Contains(w.FirstAt, v.ApiaryID) && first[v.ApiaryID] == 0 {
					first[v.ApiaryID] = v.On
				}
			}
			var lacking []scheduler.Lacking
			for i := range all.Visits {
				v := &all.Visits[i]
				if v.LacksPeople(w.Today) && v.On >= w.From && v.On <= w.Today+scheduler.OverloadDays {
					lacking = append(lacking, scheduler.Lacking{ApiaryID: v.ApiaryID, On: v.On, Work: work[v.ID]})
				}
			}
			lackedBy += len(lacking)
			slices.SortFunc(got.Lacking, func(a, b scheduler.Lacking) int {
				return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(a.ApiaryID, b.ApiaryID))
			})
			if !slices.Equal(got.Lacking, lacking) {
				t.Errorf("%+v: nobody has time for %v, want %v", w, got.Lacking, lacking)
			}
			if got.All != later || got.Near != near || !reflect.DeepEqual(got.First, first) {
				t.Errorf("%+v: %d, %d of them near, first %v; want %d, %d, %v", w, got.All, got.Near, got.First, later, near, first)
			}
		}
		if lackedBy == 0 {
			t.Error("somebody had time for every visit")
		}
		return nil
	})
}

// chosen are the visits that a window asks for, by day.
func chosen(all []VisitRecord, w HomeWindow) []VisitRecord {
	rank := func(v *VisitRecord) int {
		switch {
		case len(v.Who) == 0 && v.On <= w.Soon:
			return 0
		case slices.Contains(v.Who, w.Member):
			return 1
		}
		return 2
	}
	take := map[int64]bool{}
	var near []VisitRecord
	mine, any := false, false
	for _, v := range all {
		if v.On < w.From {
			continue
		}
		if v.On <= w.Until {
			near = append(near, v)
		}
		if !mine && slices.Contains(v.Who, w.Member) {
			mine, take[v.ID] = true, true
		}
		if !any && len(v.Who) > 0 {
			any, take[v.ID] = true, true
		}
		if slices.Contains(w.Whole, v.ApiaryID) {
			take[v.ID] = true
		}
	}
	slices.SortStableFunc(near, func(a, b VisitRecord) int { return cmp.Compare(rank(&a), rank(&b)) })
	for _, v := range near[:min(len(near), w.Most)] {
		take[v.ID] = true
	}
	return slices.DeleteFunc(slices.Clone(all), func(v VisitRecord) bool { return !take[v.ID] })
}

func daysOf(visits []VisitRecord) (out []string) {
	for _, v := range visits {
		out = append(out, fmt.Sprint(v.On, " ", v.ID))
	}
	return out
}

// TestVisitLists: what visits open in short is what their boxes say, read from as little
// as it takes.
func TestVisitLists(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	var all *scheduler.Club
	read := func() (visits []VisitRecord) {
		all = readClub(t, s, club)
		for _, v := range all.Visits {
			visits = append(visits, VisitRecord{Visit: v})
		}
		return visits
	}
	check := func(what string) {
		t.Helper()
		visits := read()
		inClub(t, s, club, func(tx *Tx) error {
			_, _, got, err := tx.HomeStacks(ctx, all, nil, visits, nil, today)
			if len(got) == 0 || len(got) != len(visits) {
				t.Errorf("%s: %d lists of %d visits", what, len(got), len(visits))
			}
			for i := range visits {
				want := scheduler.ListVisit(all, &visits[i].Visit)
				want.Hives = 0
				list := got[visits[i].ID]
				near := func(a, b float64) bool { return math.Abs(a-b) < 1e-9 } // added up in another order
				if near(list.Hard, want.Hard) && near(list.Stuck, want.Stuck) {
					list.Hard, list.Stuck = want.Hard, want.Stuck
				}
				if list != want {
					t.Errorf("%s: visit %d opens %+v, want %+v", what, visits[i].ID, list, want)
				}
			}
			return err
		})
	}
	check("as planned")
	first := read()[0].ID
	for _, tt := range []struct{ what, sql string }{
		{"days that are the same", `UPDATE visit_box SET due = (SELECT min(due) FROM visit_box), reason = 'odds'`},
		{"one that is due sooner", `UPDATE visit_box SET due = due - 1 WHERE visit_id = $1 AND n = (SELECT max(n) FROM visit_box WHERE visit_id = $1)`},
		{"what only comes off for others", `UPDATE visit_box SET reason = 'above', due = due - 9 WHERE visit_id = $1 AND n < (SELECT max(n) FROM visit_box WHERE visit_id = $1)`},
		{"no other boxes", `UPDATE visit_box SET reason = 'above' WHERE visit_id = $1`},
	} {
		inClub(t, s, club, func(tx *Tx) error {
			args := []any{first}
			if tt.what == "days that are the same" {
				args = nil
			}
			_, err := tx.tx.Exec(ctx, tt.sql, args...)
			return err
		})
		check(tt.what)
	}
	inClub(t, s, club, func(tx *Tx) error { // the sooner one of two went away
		_, err := tx.tx.Exec(ctx, `UPDATE visit_box SET reason = 'odds', due = date '2027-06-01' + n WHERE visit_id = $1`, first)
		if err == nil {
			_, err = tx.tx.Exec(ctx, `UPDATE box SET hive_id = NULL, position = NULL WHERE id = (SELECT box_id FROM visit_box WHERE visit_id = $1 AND n = 1)`, first)
		}
		return err
	})
	check("one that stands there no more")
}
