package store

import (
	"context"
	"testing"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// A club with a dozen boxes must not pay for one with many in the same
// database: whatever is read in it touches about as many rows as it has.
func TestReadsStayInTheClub(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	large, err := s.CreateClub(ctx, "Large")
	if err != nil {
		t.Fatal(err)
	}
	inClub(t, s, large, func(tx *Tx) error {
		_, err := tx.Import(ctx, largeClub("Large", 40, 2))
		return err
	})
	if _, _, err := s.ReplanClub(ctx, large, today); err != nil {
		t.Fatal(err)
	}
	club := importSample(t, s)
	c := readClub(t, s, club)
	hive, box := c.Apiaries[0].Hives[0], c.Apiaries[0].Hives[0].Boxes[0]
	reads := []struct {
		name string
		do   func(*Tx) error
	}{
		{"move a visit", func(tx *Tx) error {
			v, err := tx.Visit(ctx, c.Visits[0].ID)
			if err == nil {
				_, err = tx.MoveVisit(ctx, v.ID, v.Sequence, v.On+1, today)
			}
			return err
		}},
		{"club", func(tx *Tx) error { _, err := tx.Club(ctx); return err }},
		{"outline", func(tx *Tx) error { _, err := tx.Outline(ctx); return err }},
		{"apiaries", func(tx *Tx) error { _, err := tx.Apiaries(ctx); return err }},
		{"apiary counts", func(tx *Tx) error { _, err := tx.ApiaryCounts(ctx); return err }},
		{"records around", func(tx *Tx) error { _, err := tx.RecordsAround(ctx, c.Apiaries[0].ID); return err }},
		{"hive names", func(tx *Tx) error { _, err := tx.HiveNames(ctx, 0, 100); return err }},
		{"spare boxes", func(tx *Tx) error { _, err := tx.SpareBoxes(ctx); return err }},
		{"saved plan", func(tx *Tx) error { _, err := tx.SavedPlan(ctx, today); return err }},
		{"visits", func(tx *Tx) error { _, err := tx.Visits(ctx, VisitFilter{}); return err }},
		{"member's visits", func(tx *Tx) error { _, err := tx.Visits(ctx, VisitFilter{MemberID: c.Members[0].ID}); return err }},
		{"visit by uid", func(tx *Tx) error { _, err := tx.VisitByUID(ctx, c.Visits[0].UID); return err }},
		{"openings", func(tx *Tx) error { _, err := tx.Openings(ctx, box.ID); return err }},
		{"decided", func(tx *Tx) error { _, err := tx.Before(ctx, sometime); return err }},
		{"club's calendar", func(tx *Tx) error {
			_, _, err := tx.FeedVisits(ctx, &Link{Kind: ClubLink, MemberID: c.Members[0].ID}, FeedWindow{Today: today, From: today - 30, TentativeUntil: today + 56})
			return err
		}},
		{"member's calendar", func(tx *Tx) error {
			_, _, err := tx.FeedVisits(ctx, &Link{Kind: MemberLink, MemberID: c.Members[0].ID}, FeedWindow{Today: today, From: today - 30, TentativeUntil: today + 56})
			return err
		}},
		{"replan", func(tx *Tx) error { _, err := tx.Replan(ctx, c.Apiaries[0].ID, today); return err }},
		{"replan all", func(tx *Tx) error { _, err := tx.ReplanAll(ctx, today+1); return err }},
		{"import", func(tx *Tx) error { _, err := tx.Import(ctx, sampleClub()); return err }},
		{"record", func(tx *Tx) error {
			_, err := tx.RecordOpening(ctx, box.ID, scheduler.Opening{On: today, Joint: scheduler.Firm}, today)
			return err
		}},
		{"move a box", func(tx *Tx) error {
			_, err := tx.MoveBox(ctx, box.ID, scheduler.BoxPlace{From: today, Where: scheduler.OnHive, HiveID: hive.ID}, today)
			return err
		}},
		{"old cancellations", func(tx *Tx) error { return tx.dropOldCancellations(ctx, today+400) }},
	}
	// What a connection did before and has not yet reported counts as well, so
	// the difference is taken.
	count := func(tx *Tx) map[string]int64 {
		rows, err := tx.tx.Query(ctx, `
			SELECT relname::text, coalesce(seq_tup_read, 0) + coalesce(idx_tup_fetch, 0) FROM pg_stat_xact_user_tables
			 WHERE relname IN ('hive', 'box', 'box_place', 'opening', 'gap', 'visit', 'visit_box', 'visit_member', 'due', 'box_state')`)
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]int64{}
		var table string
		var n int64
		if _, err = pgx.ForEachRow(rows, []any{&table, &n}, func() error { out[table] = n; return nil }); err != nil {
			t.Fatal(err)
		}
		return out
	}
	for _, read := range reads {
		t.Run(read.name, func(t *testing.T) {
			inClub(t, s, club, func(tx *Tx) error {
				before := count(tx)
				if err := read.do(tx); err != nil {
					return err
				}
				for table, n := range count(tx) {
					if n -= before[table]; n > 100 {
						t.Errorf("%d rows of %s were read, in a club of 13 boxes", n, table)
					}
				}
				return nil
			})
		})
	}
}
