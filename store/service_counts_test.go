package store

import (
	"context"
	"testing"
	"time"

	"pryday/scheduler"
)

// A club is behind without a plan for the present day at its first apiary, and
// by rules that were changed since. A collector learns how many are, and not
// which.
func TestServiceCountsTellOldPlans(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	var zone *time.Location
	inClub(t, s, club, func(tx *Tx) error {
		records, err := tx.Apiaries(ctx)
		zone = records.Zone()
		return err
	})
	day := scheduler.NewDate(2027, 6, 1)
	noon := day.At(12*60, zone)
	for _, tt := range []struct {
		name   string
		sql    string
		behind int
		age    time.Duration
	}{
		{"planned for today", `UPDATE apiary SET planned_on = $1, planned_rules = (SELECT max(version) FROM rules)`, 0, 12 * time.Hour},
		{"planned ahead", `UPDATE apiary SET planned_on = $1::date + 1, planned_rules = (SELECT max(version) FROM rules)`, 0, 0},
		{"one of yesterday", `UPDATE apiary SET planned_on = $1::date - (id = (SELECT max(id) FROM apiary))::int, planned_rules = (SELECT max(version) FROM rules)`, 1, 36 * time.Hour},
		{"by other rules", `UPDATE apiary SET planned_on = $1, planned_rules = (SELECT max(version) FROM rules) + 1`, 1, 12 * time.Hour},
		{"never", `UPDATE apiary SET planned_on = NULL, planned_rules = CASE WHEN $1::date IS NULL THEN 1 END`, 1, 0},
	} {
		inClub(t, s, club, func(tx *Tx) error { _, err := tx.tx.Exec(ctx, tt.sql, day); return err })
		got, err := s.ServiceCounts(ctx, time.Now(), noon)
		if err != nil {
			t.Fatal(err)
		}
		if got.Clubs != 1 || got.ClubsBehind != tt.behind || got.OldestPlan != tt.age {
			t.Errorf("%s: %d of %d clubs behind, the oldest plan %s old", tt.name, got.ClubsBehind, got.Clubs, got.OldestPlan)
		}
	}
	if got, err := s.ServiceCounts(ctx, time.Now(), noon); err != nil || got.Database == 0 || got.Postgres == "" || got.Schema == 0 {
		t.Errorf("%+v: %v", got, err)
	}
}

// How old what is owed is, and how long a job could have run, at an instant.
func TestServiceCountsTellAges(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	now := time.Now()
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.tx.Exec(ctx, `
			INSERT INTO message (club_id, key, kind, address, on_day, message_id, state, owed_at, attempts, last_attempt_at)
			SELECT $1, 'k' || n, 'day', 'a@example.org', '2027-06-01', 'm' || n, 'owed', $2::timestamptz - age, tried, CASE WHEN tried > 0 THEN now() END
			  FROM (VALUES (1, interval '59 minutes', 0), (2, interval '61 minutes', 1), (3, interval '25 hours', 0), (4, interval '-5 minutes', 2)) v (n, age, tried)`,
			club, now)
		return err
	})
	got, err := s.ServiceCounts(ctx, now, now)
	if err != nil {
		t.Fatal(err)
	}
	for part, want := range map[OwedPart]int{{false, OwedThisHour}: 1, {true, OwedThisDay}: 1, {false, OwedOlder}: 1, {true, OwedThisHour}: 1, {true, OwedOlder}: 0} {
		if got.Owed[part] != want {
			t.Errorf("%+v: %d, want %d", part, got.Owed[part], want)
		}
	}
	if got.OldestOwed.Round(time.Second) != 25*time.Hour || got.Messages[Owed] != 4 || got.Recorded != 4 {
		t.Errorf("the oldest is %s old, %d of %d are owed", got.OldestOwed, got.Messages[Owed], got.Recorded)
	}
}
