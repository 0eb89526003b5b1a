package store

import (
	"context"
	"errors"
	"reflect"
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
			v, err := tx.ApplyRules(ctx, changed, author, "fewer trips", today)
			if v != 2 {
				t.Errorf("version %d", v)
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
