package store

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// doneVisits imports a club of an apiary with done visits of all its boxes in
// the last days, and returns it.
func doneVisits(t *testing.T, s *Store, name string) int64 {
	t.Helper()
	ctx := context.Background()
	club, err := s.CreateClub(ctx, name)
	if err != nil {
		t.Fatal(err)
	}
	c := largeClub(name, 1, 0)
	c.Members = append(c.Members, scheduler.Member{ID: 2, Name: "Brida Karsten", Email: name[len(name)-1:] + "brida@example.org", Role: scheduler.Keeper})
	for i, v := range []scheduler.Visit{
		{On: today - 1, Taken: []int64{1}, Who: []int64{1, 2}}, {On: today - 3, Who: []int64{2}}, {On: today - 7, Who: []int64{1}}, {On: today - 9, Refused: []int64{2}},
	} {
		v.ID, v.UID, v.ApiaryID, v.Status = int64(i+1), fmt.Sprint(name, i), 1, scheduler.Done
		for _, h := range c.Apiaries[0].Hives {
			for j, b := range slices.Backward(h.Boxes) {
				if j != i {
					v.Boxes = append(v.Boxes, scheduler.VisitBox{BoxID: b.ID, Reason: scheduler.BecauseOdds})
				}
			}
		}
		c.Visits = append(c.Visits, v)
	}
	inClub(t, s, club, func(tx *Tx) error { _, err := tx.Import(ctx, c); return err })
	return club
}

// TestUnwrittenAsTheSchedulerSays holds the SQL to scheduler.UnwrittenOf on
// random openings, corrected and taken back.
func TestUnwrittenAsTheSchedulerSays(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	some, none := 0, 0
	for seed := range uint64(8) {
		club := doneVisits(t, s, fmt.Sprint("Club ", seed))
		inClub(t, s, club, func(tx *Tx) error {
			boxes, err := tx.ids(ctx, `SELECT id FROM box ORDER BY id`)
			if err != nil {
				return err
			}
			r := rand.New(rand.NewPCG(seed, 5))
			members, err := tx.ids(ctx, `SELECT id FROM member ORDER BY id`)
			if err != nil {
				return err
			}
			drawn := drawChains(r, boxes)
			for i := range drawn {
				o := &drawn[i].Opening
				o.On -= scheduler.Date(r.IntN(5))
				o.By = append(members, 0)[r.IntN(len(members)+1)]
				if r.IntN(4) == 0 {
					o.NameOpener([]scheduler.Opener{{Member: members[0]}, {Name: "Old Tam"}, {}}[r.IntN(3)])
				}
				if o.LeftShut = r.IntN(3) == 0; o.LeftShut {
					o.Joint = scheduler.Stuck
				}
			}
			var b pgx.Batch
			tx.queueOpeningInserts(&b, drawn[:len(drawn)/int(1+seed)])
			b.Queue(`INSERT INTO visit_not_opened (club_id, visit_id, box_id) SELECT club_id, visit_id, box_id FROM visit_box WHERE box_id % 7 = 0`)
			return tx.tx.SendBatch(ctx, &b).Close()
		})
		inClub(t, s, club, func(tx *Tx) error {
			c, err := tx.Club(ctx)
			if err != nil {
				return err
			}
			want := c.Unwritten(today)
			for _, u := range want {
				some += len(u.Boxes)
			}
			none += len(c.Visits) - len(want)
			var b pgx.Batch
			got := map[int64]scheduler.Unwritten{}
			since := today - scheduler.Date(c.Rules.AnswerDays)
			queueUnwritten(&b, since, func(v scheduler.Visit, u scheduler.Unwritten) { got[v.ID] = u })
			var asked []AskedVisit
			queueAsked(&b, c.Members[0].ID, since, &asked)
			if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
				return err
			}
			if !reflect.DeepEqual(got, want) {
				t.Errorf("seed %d: %+v, want %+v", seed, got, want)
			}
			for _, a := range asked {
				if !slices.Contains(want[a.Visit.ID].There, c.Members[0].ID) || len(a.About.Boxes) == 0 {
					t.Errorf("seed %d: asked about visit %d", seed, a.Visit.ID)
				}
			}
			return nil
		})
	}
	if some < 100 || none < 8 {
		t.Errorf("%d boxes are asked about, and %d visits not: the draw is too tame", some, none)
	}
}

// TestSayNotOpened: what somebody says is kept, counts once, and has the boxes
// planned for at once.
func TestSayNotOpened(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := doneVisits(t, s, "Club 1")
	var v VisitRecord
	var other int64
	inClub(t, s, club, func(tx *Tx) error {
		visits, err := tx.Visits(ctx, VisitFilter{From: today - 1, Until: today - 1})
		v = visits[0]
		if _, err := tx.RecordOpening(ctx, v.Boxes[0].BoxID, scheduler.Opening{On: v.On, Joint: scheduler.Light, Frames: scheduler.NotTried, By: v.Who[0]}, today); err != nil {
			return err
		}
		boxes, err2 := tx.ids(ctx, `SELECT id FROM box WHERE id <> ALL(ARRAY(SELECT box_id FROM visit_box WHERE visit_id = $1)) LIMIT 1`, v.ID)
		other = boxes[0]
		return errors.Join(err, err2)
	})
	box := v.Boxes[2].BoxID
	for range 2 {
		inClub(t, s, club, func(tx *Tx) error {
			r, err := tx.SayNotOpened(ctx, v.ID, []int64{box}, today)
			if err != nil {
				return err
			}
			if r.Plan == nil || slices.Contains(r.Plan.Unwritten[v.ID].Boxes, box) || len(r.Plan.Unwritten[v.ID].Boxes) == 0 {
				t.Errorf("still asked about: %+v", r.Plan)
			}
			return nil
		})
	}
	if got := readClub(t, s, club).Visits; !slices.ContainsFunc(got, func(g scheduler.Visit) bool { return g.ID == v.ID && slices.Equal(g.NotOpened, []int64{box}) }) {
		t.Errorf("kept %+v", got)
	}
	for name, row := range map[string]struct {
		visit, box int64
		want       error
	}{"no such visit": {-1, box, ErrNotFound}, "a box that it had not": {v.ID, other, ErrNotFound}} {
		if err := s.InClub(ctx, club, func(tx *Tx) error { _, err := tx.SayNotOpened(ctx, row.visit, []int64{row.box}, today); return err }); !errors.Is(err, row.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
