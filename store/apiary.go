package store

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// AddApiary adds an apiary without hives. ErrExists when the club has one of
// that name.
func (tx *Tx) AddApiary(ctx context.Context, a scheduler.Apiary) (int64, error) {
	tx.feedChanged()
	return tx.addApiary(ctx, a)
}

func (tx *Tx) addApiary(ctx context.Context, a scheduler.Apiary) (int64, error) {
	var id int64
	err := tx.tx.QueryRow(ctx, `
		INSERT INTO apiary (club_id, name, latitude, longitude, elevation_m, timezone, travel_hours,
		                    season_shift_days, weekdays, access_notes, trip, region, first_pollen, supers_on, supers_off)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)
		ON CONFLICT (club_id, name) DO NOTHING RETURNING id`, append([]any{tx.club}, apiaryColumns(&a)...)...).Scan(&id)
	if err == pgx.ErrNoRows {
		err = ErrExists
	}
	if err != nil {
		return 0, tx.wrap(err, "add the apiary %q", a.Name)
	}
	a.ID = id
	return id, tx.setApiaryLists(ctx, &a)
}

func apiaryColumns(a *scheduler.Apiary) []any {
	return []any{
		a.Name, a.Latitude, a.Longitude, a.ElevationM, a.Timezone, a.TravelHours,
		a.SeasonShiftDays, int16(a.Weekdays), a.AccessNotes, a.Trip,
		a.Region, seenOf(a, scheduler.FirstPollen), seenOf(a, scheduler.SupersOn), seenOf(a, scheduler.SupersOff),
	}
}

// seenOf returns the days of an event observed at a.
func seenOf(a *scheduler.Apiary, event scheduler.SeasonEvent) []scheduler.Date {
	days := []scheduler.Date{}
	for _, day := range a.Seen {
		if day.Event == event {
			days = append(days, day.On)
		}
	}
	return days
}

// UpdateApiary saves everything of an apiary but its hives, and replans it.
func (tx *Tx) UpdateApiary(ctx context.Context, a scheduler.Apiary, today scheduler.Date) (*Replanned, error) {
	lk, err := tx.lockApiaries(ctx, a.ID)
	if err != nil {
		return nil, err
	}
	had, err := tx.keepersOf(ctx, a.ID)
	if err != nil {
		return nil, err
	}
	if err := tx.updateApiary(ctx, a); err != nil {
		return nil, err
	}
	tx.feedChanged()
	l, err := tx.loadForPlanning(ctx, lk, today)
	if err != nil {
		return nil, err
	}
	c := l.assemble()
	if !sameMembers(had, a.Keepers) {
		c.KeepersChanged(a.ID, today)
	}
	return tx.planAssembled(ctx, l, c, lk, today, everSince)
}

// sameMembers reports whether two lists name the same members, in whatever order.
func sameMembers(a, b []int64) bool {
	return slices.Equal(slices.Sorted(slices.Values(a)), slices.Sorted(slices.Values(b)))
}

func (tx *Tx) keepersOf(ctx context.Context, apiary int64) ([]int64, error) {
	ids, err := tx.ids(ctx, `SELECT member_id FROM apiary_keeper WHERE apiary_id = $1 ORDER BY position`, apiary)
	return ids, tx.wrap(err, "read the keepers of apiary %d", apiary)
}

func (tx *Tx) updateApiary(ctx context.Context, a scheduler.Apiary) error {
	err := tx.one(ctx, fmt.Sprintf("save apiary %d", a.ID), `
		UPDATE apiary SET name = $2, latitude = $3, longitude = $4, elevation_m = $5, timezone = $6,
		       travel_hours = $7, season_shift_days = $8, weekdays = $9, access_notes = $10, trip = $11,
		       region = $12, first_pollen = $13, supers_on = $14, supers_off = $15
		 WHERE id = $1`, append([]any{a.ID}, apiaryColumns(&a)...)...)
	if code(err) == uniqueViolation {
		return tx.wrap(ErrExists, "save the apiary %q", a.Name)
	}
	if err != nil {
		return err
	}
	return tx.setApiaryLists(ctx, &a)
}

func (tx *Tx) setApiaryLists(ctx context.Context, a *scheduler.Apiary) error {
	if err := tx.setKeepers(ctx, a.ID, a.Keepers); err != nil {
		return err
	}
	if err := tx.setPeriods(ctx, "apiary_id", a.ID, "no-go", a.NoGo); err != nil {
		return err
	}
	return tx.setPeriods(ctx, "apiary_id", a.ID, "standstill", a.Standstill)
}

func (tx *Tx) setKeepers(ctx context.Context, apiary int64, keepers []int64) error {
	have, err := tx.keepersOf(ctx, apiary)
	if err != nil || slices.Equal(have, keepers) {
		return err
	}
	var b pgx.Batch
	b.Queue(`DELETE FROM apiary_keeper WHERE apiary_id = $1`, apiary)
	b.Queue(`
		INSERT INTO apiary_keeper (club_id, apiary_id, member_id, position)
		SELECT $1::bigint, $2::bigint, u.id, u.n FROM unnest($3::bigint[]) WITH ORDINALITY AS u(id, n)`, tx.club, apiary, keepers)
	err = tx.tx.SendBatch(ctx, &b).Close()
	if code(err) == foreignKeyViolation {
		err = ErrNotFound
	}
	return tx.wrap(err, "save the keepers of apiary %d", apiary)
}

// RemoveApiary deletes an apiary that has no hive; ErrNotEmpty otherwise. Its
// calendar addresses are withdrawn.
func (tx *Tx) RemoveApiary(ctx context.Context, id int64) error {
	if _, err := tx.lockApiaries(ctx, id); err != nil {
		return err
	}
	var hives bool
	err := tx.tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM hive WHERE apiary_id = $1)`, id).Scan(&hives)
	if err == nil && hives {
		err = ErrNotEmpty
	}
	if err != nil {
		return tx.wrap(err, "remove apiary %d", id)
	}
	if err := tx.leaveLinks(ctx, "apiary_id", id); err != nil {
		return err
	}
	tx.feedChanged()
	return tx.one(ctx, fmt.Sprintf("remove apiary %d", id), `DELETE FROM apiary WHERE id = $1`, id)
}

// equalJSON compares records by what they say: nil and empty lists are equal
// in no other way that stays right when a field is added.
func equalJSON(a, b any) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && string(x) == string(y)
}
