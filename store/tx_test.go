package store

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	"pgregory.net/rapid"

	"pryday/scheduler"
)

func TestInClubRollsBack(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	names := func() (out []string) {
		inClub(t, s, club, func(tx *Tx) error {
			members, err := tx.Members(ctx)
			for _, m := range members {
				out = append(out, m.Name)
			}
			return err
		})
		return out
	}
	before := fmt.Sprint(names())
	add := func(tx *Tx) error {
		_, err := tx.AddMember(ctx, scheduler.Member{Name: "Nobody", Email: "nobody@example.org", Role: scheduler.Keeper})
		return err
	}
	t.Run("on an error", func(t *testing.T) {
		failed := errors.New("no")
		if err := s.InClub(ctx, club, func(tx *Tx) error { return errors.Join(add(tx), failed) }); !errors.Is(err, failed) {
			t.Errorf("got %v", err)
		}
	})
	t.Run("on a panic", func(t *testing.T) {
		defer func() {
			if recover() == nil {
				t.Error("the panic went no further")
			}
			if got := fmt.Sprint(names()); got != before {
				t.Errorf("members %s, want %s", got, before)
			}
		}()
		_ = s.InClub(ctx, club, func(tx *Tx) error {
			if err := add(tx); err != nil {
				t.Error(err)
			}
			panic("as if a page had failed")
		})
	})
	t.Run("and begins anew when asked to", func(t *testing.T) {
		runs := 0
		err := s.InClub(ctx, club, func(tx *Tx) error {
			runs++
			if err := add(tx); err != nil {
				return err
			}
			if runs < 3 {
				return errAgain
			}
			return nil
		})
		if err != nil || runs != 3 || len(names()) != 3 {
			t.Errorf("%d runs, members %v: %v", runs, names(), err)
		}
		runs = 0
		err = s.InClub(ctx, club, func(tx *Tx) error { runs++; return errAgain })
		if !errors.Is(err, errAgain) || runs != attempts {
			t.Errorf("%d runs: %v", runs, err)
		}
	})
	t.Run("and after a deadlock", func(t *testing.T) {
		runs := 0
		err := s.InClub(ctx, club, func(tx *Tx) error {
			if runs++; runs == 1 {
				return fmt.Errorf("as if: %w", &pgconn.PgError{Code: deadlockDetected})
			}
			return nil
		})
		if err != nil || runs != 2 {
			t.Errorf("%d runs: %v", runs, err)
		}
	})
	t.Run("a snapshot stays what it was", func(t *testing.T) {
		err := s.InSnapshot(ctx, club, func(tx *Tx) error {
			first, err := tx.FeedVersion(ctx)
			if err != nil {
				return err
			}
			inClub(t, s, club, func(tx *Tx) error { return tx.RenameClub(ctx, "Renamed") })
			again, err := tx.FeedVersion(ctx)
			if again != first {
				t.Errorf("version %d and then %d", first, again)
			}
			return err
		})
		if err != nil {
			t.Error(err)
		}
		if err := s.InSnapshot(ctx, club, func(tx *Tx) error { return tx.RenameClub(ctx, "Again") }); code(err) != "25006" { // read-only
			t.Errorf("wrote in a snapshot: %v", err)
		}
	})
}

// Apiaries that share boxes are planned together when what is learned at one
// counts at the other, and two who record at both do not wait for ever.
func TestApiariesThatShareBoxes(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	one, two := c.Apiaries[0].Hives[0], c.Apiaries[1].Hives[0]
	inClub(t, s, club, func(tx *Tx) error {
		for i, box := range []int64{one.Boxes[2].ID, two.Boxes[2].ID} {
			to := []int64{two.ID, one.ID}[i]
			if _, err := tx.MoveBox(ctx, box, scheduler.BoxPlace{From: today - 5, Where: scheduler.OnHive, HiveID: to}, today); err != nil {
				return err
			}
		}
		return nil
	})
	t.Run("an opening before the move counts at both", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) error {
			r, err := tx.RecordOpening(ctx, one.Boxes[0].ID, scheduler.Opening{On: today - 9, Joint: scheduler.Stuck, Frames: scheduler.NotTried}, today)
			if err == nil && len(r.Replanned.Plan.Boxes) != 12 {
				t.Errorf("planned %d boxes, want those of both apiaries", len(r.Replanned.Plan.Boxes))
			}
			return err
		})
		savedIsPlanned(t, s, club)
	})
	t.Run("one after it counts at its own", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) error {
			r, err := tx.RecordOpening(ctx, one.Boxes[0].ID, scheduler.Opening{On: today, Joint: scheduler.Light, Frames: scheduler.NotTried}, today)
			if err == nil && len(r.Replanned.Plan.Boxes) != 6 {
				t.Errorf("planned %d boxes, want those of one apiary", len(r.Replanned.Plan.Boxes))
			}
			return err
		})
		savedIsPlanned(t, s, club)
	})
	t.Run("its records alone give the same plan", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) error {
			part, err := tx.RecordsAround(ctx, c.Apiaries[1].ID)
			if err != nil {
				return err
			}
			whole, err := tx.Club(ctx)
			if err != nil {
				return err
			}
			got, want := scheduler.PlanApiary(part.Club, c.Apiaries[1].ID, today), scheduler.PlanApiary(whole, c.Apiaries[1].ID, today)
			if fmt.Sprintf("%+v", got) != fmt.Sprintf("%+v", want) {
				t.Errorf("planned %+v\nwant %+v", got, want)
			}
			return nil
		})
	})
	t.Run("both at once", func(t *testing.T) {
		var wg sync.WaitGroup
		errs := make([]error, 8)
		for i := range errs {
			wg.Go(func() {
				box := []int64{one.Boxes[1].ID, two.Boxes[1].ID}[i%2]
				errs[i] = s.InClub(ctx, club, func(tx *Tx) error {
					_, err := tx.RecordOpening(ctx, box, scheduler.Opening{On: today - 20, Joint: scheduler.Firm, Frames: scheduler.NotTried}, today)
					return err
				})
			})
		}
		wg.Wait()
		if err := errors.Join(errs...); err != nil {
			t.Error(err)
		}
		savedIsPlanned(t, s, club)
	})
}

func TestDatesGoThereAndBack(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	conn, err := s.pool.Acquire(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Release()
	rapid.Check(t, func(t *rapid.T) {
		d := scheduler.Date(rapid.Int32Range(int32(scheduler.MinDate), int32(scheduler.MaxDate)).Draw(t, "date"))
		if rapid.Bool().Draw(t, "none") {
			d = 0
		}
		var back scheduler.Date
		var text *string
		var list []scheduler.Date
		err := conn.QueryRow(ctx, `SELECT $1::date, $1::date::text, ARRAY[$1::date, NULL]`, d).Scan(&back, &text, &list)
		if err != nil || back != d || len(list) != 2 || list[0] != d || list[1] != 0 {
			t.Fatalf("%s came back as %s and %v: %v", d, back, list, err)
		}
		if (text == nil) != d.IsZero() || text != nil && *text != d.String() {
			t.Fatalf("%s is %v to Postgres", d, text)
		}
	})
	var instant time.Time
	if err := conn.QueryRow(ctx, `SELECT date '2027-05-31'`).Scan(&instant); err != nil || instant.Day() != 31 {
		t.Errorf("a plain time reads %s: %v", instant, err)
	}
	var d scheduler.Date
	if err := conn.QueryRow(ctx, `SELECT date 'infinity'`).Scan(&d); err == nil {
		t.Errorf("an infinite date reads %s", d)
	}
}
