package store

import (
	"context"
	"fmt"
	"testing"
	"time"

	"pryday/scheduler"
)

// What a calendar showed is read back as it was noted, and cleared when the
// visit is long over or the address has ended.
func TestShownEntries(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	for i, ago := range []int{ShownKept + 1, ShownKept, -3} {
		owner(t, s, fmt.Sprintf(`INSERT INTO visit (club_id, id, uid, apiary_id, on_day, status) VALUES (%d, %d, 'u%[2]d', %d, '%s', 'done')`,
			club, 9000+i, c.Apiaries[0].ID, today-scheduler.Date(ago)))
	}
	at := time.Date(2027, 5, 3, 9, 0, 0, 0, time.UTC)
	var links []int64
	visits := []VisitRecord{{Visit: scheduler.Visit{ID: 9000}}, {Visit: scheduler.Visit{ID: 9001}}, {Visit: scheduler.Visit{ID: 9002}}}
	in := func(fn func(*Tx) error) {
		t.Helper()
		if err := s.InClub(ctx, club, fn); err != nil {
			t.Fatal(err)
		}
	}
	in(func(tx *Tx) error {
		for range 3 {
			l, _, err := tx.CreateLink(ctx, ClubLink, c.Members[0].ID, 0, LinkOptions{})
			if err != nil {
				return err
			}
			links = append(links, l.ID)
			entries := []ShownEntry{{9000, [16]byte{1}, 1, at}, {9001, [16]byte{2}, 2, at}, {9002, [16]byte{3}, 3, at}}
			if err := tx.Show(ctx, l.ID, 7, entries); err != nil {
				return err
			}
		}
		return tx.Show(ctx, links[0], 8, []ShownEntry{{9002, [16]byte{4}, 5, at.Add(time.Hour)}})
	})
	in(func(tx *Tx) error {
		version, shown, err := tx.LockShown(ctx, links[0], visits)
		if e := shown[9002]; version != 8 || len(shown) != 3 || e.Digest != [16]byte{4} || e.Sequence != 5 || !e.ChangedAt.Equal(at.Add(time.Hour)) || shown[9001].Digest != [16]byte{2} {
			t.Errorf("version %d, %+v", version, shown)
		}
		if _, some, err := tx.LockShown(ctx, links[0], visits[2:]); err != nil || len(some) != 1 || some[9002].Sequence != 5 {
			t.Errorf("of one visit: %+v, %v", some, err)
		}
		if err == nil {
			err = tx.RevokeLink(ctx, links[1])
		}
		if err == nil {
			_, _, err = tx.RotateLink(ctx, links[2])
		}
		return err
	})
	if got, err := s.Clear(ctx, civil(0)); err != nil || got.Shown != 7 {
		t.Errorf("cleared %+v: %v", got, err)
	}
	in(func(tx *Tx) error {
		_, shown, err := tx.LockShown(ctx, links[0], visits)
		if len(shown) != 2 || shown[9000].Sequence != 0 {
			t.Errorf("kept %+v", shown)
		}
		return err
	})
}
