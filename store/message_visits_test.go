package store

import (
	"context"
	"slices"
	"testing"

	"pryday/scheduler"
)

// TestOldVisitsThatMatterYet: of visits long over, deciding what is owed is shown
// those that somebody heard of for a day not so long ago and those called off
// until some day, with their boxes, and no other.
func TestOldVisitsThatMatterYet(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	a, member := &c.Apiaries[0], c.Members[0].ID
	old := today - 3*keysKept
	inClub(t, s, club, func(tx *Tx) error {
		exec := func(sql string, args ...any) {
			t.Helper()
			if _, err := tx.tx.Exec(ctx, sql, args...); err != nil {
				t.Fatalf("%s: %v", sql, err)
			}
		}
		exec(`DELETE FROM visit`)
		for _, v := range []struct {
			id     int64
			on     scheduler.Date
			status scheduler.VisitStatus
			off    scheduler.Date
		}{
			{9001, today - 1, scheduler.Done, 0}, // a word since all the others
			{9002, old, scheduler.Missed, 0},
			{9003, old, scheduler.Missed, 0},
			{9004, old, scheduler.Cancelled, today + 30},
			{9005, old, scheduler.Cancelled, 0},
			{9006, old, scheduler.Unanswered, 0},
		} {
			var until scheduler.Date
			if v.status == scheduler.Cancelled {
				until = today
			}
			exec(`INSERT INTO visit (club_id, id, uid, apiary_id, on_day, status, cancelled_until, off_until, first_seen)
				VALUES ($1, $2::bigint, 'v' || $2::bigint, $3, $4, $5, $6, $7, $4)`, club, v.id, a.ID, v.on, string(v.status), until, v.off)
			exec(`INSERT INTO visit_box (club_id, visit_id, n, box_id, reason, odds) VALUES ($1, $2, 1, $3, '', 0)`, club, v.id, a.Hives[0].Boxes[0].ID)
		}
		for id, on := range map[int64]scheduler.Date{9003: today - 2, 9002: old} {
			exec(`INSERT INTO told (club_id, member_id, visit_id, about, kind, on_day, told_on) VALUES ($1, $2, $3, '', 'day', $4, $4)`, club, member, id, on)
		}
		turn, err := tx.TakeTurn(ctx, civil(0))
		if err != nil {
			return err
		}
		if _, err := tx.OwedRecords(ctx, turn, civil(0)); err != nil {
			return err
		}
		var read []int64
		for _, v := range turn.Club.Visits {
			read = append(read, v.ID)
			if v.ID != 9001 && len(v.Boxes) != 1 {
				t.Errorf("visit %d comes with %d boxes", v.ID, len(v.Boxes))
			}
		}
		slices.Sort(read)
		if want := []int64{9001, 9003, 9004, 9006}; !slices.Equal(read, want) {
			t.Errorf("read %v, want %v", read, want)
		}
		return nil
	})
}
