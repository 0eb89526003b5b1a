package store

import (
	"context"
	"errors"
	"reflect"
	"sync"
	"testing"
	"time"

	"pryday/scheduler"
)

func TestRulesKeepEveryVersion(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	author := readClub(t, s, club).Members[0].ID
	changed := scheduler.DefaultRules()
	changed.OddsLimit = 0.35
	changed.Home = &scheduler.Home{Latitude: 47.25, ElevationM: 410}
	changed.Stages[scheduler.Flow].Starts = scheduler.MonthDay{Month: time.May, Day: 20}
	changed.Stages[scheduler.Autumn].Required = scheduler.NothingRequired
	changed.Reminders.DaysBefore = nil

	for range 2 { // the second time they hold already
		inClub(t, s, club, func(tx *Tx) error {
			done, err := tx.ApplyRules(ctx, RulesEdit{Rules: changed, AuthorID: author, Note: "fewer trips"}, today)
			if done.Version != 2 {
				t.Errorf("version %d", done.Version)
			}
			return err
		})
	}
	inClub(t, s, club, func(tx *Tx) error {
		now, err := tx.Rules(ctx)
		if err != nil {
			return err
		}
		if !reflect.DeepEqual(now.Rules, changed) || now.AuthorID != author || now.Note != "fewer trips" || now.At.IsZero() {
			t.Errorf("rules that hold %+v", now)
		}
		all, err := tx.RulesVersions(ctx)
		if err != nil || len(all) != 2 || !reflect.DeepEqual(all[1].Rules, scheduler.DefaultRules()) {
			t.Errorf("versions %+v: %v", all, err)
		}
		if _, err := tx.RulesAt(ctx, 3); !errors.Is(err, ErrNotFound) {
			t.Errorf("version 3: %v", err)
		}
		return nil
	})
	var jobs int
	if err := s.pool.QueryRow(ctx, `SELECT count(*) FROM river_job WHERE kind = 'replan_club'`).Scan(&jobs); err != nil || jobs != 1 {
		t.Errorf("%d replans owed: %v", jobs, err)
	}
	t.Run("a whole club is replanned once by them", func(t *testing.T) {
		for want := 2; want >= 0; want -= 2 {
			n, more, err := s.ReplanClub(ctx, club, today)
			if err != nil || n != want || more {
				t.Errorf("planned %d apiaries, want %d: %v", n, want, err)
			}
		}
		savedIsPlanned(t, s, club)
	})
}

func TestRulesRoundTrip(t *testing.T) {
	t.Parallel()
	r := scheduler.DefaultRules()
	document, err := encodeRules(&r)
	if err != nil {
		t.Fatal(err)
	}
	got, err := decodeRules(document)
	if err != nil || !reflect.DeepEqual(got, r) {
		t.Errorf("%s\nread back as %+v: %v", document, got, err)
	}
	for _, broken := range []string{`[]`, `{"odds_limit": "7"}`, `{"no_such_rule": "1"}`} {
		if _, err := decodeRules([]byte(broken)); err == nil {
			t.Errorf("read %s", broken)
		}
	}
}

// TestRulesRace: of several who make rules of one version, one is first, and
// nobody does away with what another saved without having seen it.
func TestRulesRace(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	limit := func(odds float64, base int) RulesEdit {
		r := scheduler.DefaultRules()
		r.OddsLimit = odds
		return RulesEdit{Rules: r, Base: base}
	}
	apply := func(e RulesEdit) (done RulesApplied, err error) {
		err = s.InClub(ctx, club, func(tx *Tx) (err error) {
			done, err = tx.ApplyRules(ctx, e, today)
			return err
		})
		return done, err
	}

	const savers = 8
	var wg sync.WaitGroup
	errs := make([]error, savers)
	for i := range savers {
		wg.Go(func() { _, errs[i] = apply(limit(0.3+float64(i)/100, 1)) })
	}
	wg.Wait()
	saved := 0
	for i, err := range errs {
		switch {
		case err == nil:
			saved++
		case !errors.Is(err, ErrRulesChanged):
			t.Errorf("saver %d: %v", i, err)
		}
	}
	var all []RulesVersion
	inClub(t, s, club, func(tx *Tx) (err error) {
		all, err = tx.RulesVersions(ctx)
		return err
	})
	if saved != 1 || len(all) != 2 {
		t.Fatalf("%d of %d saved, and there are %d versions", saved, savers, len(all))
	}
	held := all[0].Rules.OddsLimit

	for _, tc := range []struct {
		name string
		edit RulesEdit
		want RulesApplied
		err  error
	}{
		{"made before", limit(0.5, 1), RulesApplied{Version: 2, Replaced: 2}, ErrRulesChanged},
		{"of a version that never was", limit(0.5, 7), RulesApplied{Version: 2, Replaced: 2}, ErrRulesChanged},
		{"made before, and the same", limit(held, 1), RulesApplied{Version: 2, Replaced: 2}, nil},
		{"made of what holds", limit(0.5, 2), RulesApplied{Version: 3, Replaced: 2}, nil},
		{"over whichever holds", limit(0.6, 0), RulesApplied{Version: 4, Replaced: 3}, nil},
	} {
		t.Run(tc.name, func(t *testing.T) {
			done, err := apply(tc.edit)
			if done != tc.want || !errors.Is(err, tc.err) {
				t.Errorf("%+v, %v; want %+v, %v", done, err, tc.want, tc.err)
			}
		})
	}
	t.Run("saved while somebody is at it", func(t *testing.T) {
		err := s.InClub(ctx, club, func(tx *Tx) error {
			seen, err := tx.Rules(ctx)
			if err != nil {
				return err
			}
			if _, err := apply(limit(0.7, seen.Version)); err != nil {
				return err
			}
			_, err = tx.ApplyRules(ctx, limit(0.8, seen.Version), today)
			return err
		})
		if !errors.Is(err, ErrRulesChanged) {
			t.Errorf("got %v", err)
		}
	})
}
