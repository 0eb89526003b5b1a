package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// What happens to a colony stands in every record that it touches, is the same when it
// comes twice, goes out with an export and in again, and is gone once it is undone.
func TestColonyEvents(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	first := readClub(t, s, club)
	larch, rowan := &first.Apiaries[0].Hives[0], &first.Apiaries[0].Hives[1]
	quarry := &first.Apiaries[1]
	on := today - 10
	boxes := func(h *scheduler.Hive) (ids []int64) {
		for _, b := range h.Boxes {
			ids = append(ids, b.ID)
		}
		return ids
	}
	order := append([]int64{larch.Boxes[2].ID}, boxes(rowan)...)
	for _, step := range []scheduler.ColonyStep{
		{What: scheduler.Swarmed, AloneUntil: on + 28},
		{What: scheduler.Requeened},
		{What: scheduler.Split, Boxes: boxes(larch)[1:], Name: "Elm", ApiaryID: quarry.ID, Queen: scheduler.QueenGoes, AloneUntil: on + 20},
		{What: scheduler.United, OtherID: rowan.ID, Boxes: order[:1], Order: order, Queen: scheduler.QueenStays},
		{What: scheduler.United, OtherID: quarry.Hives[0].ID, Order: boxes(&quarry.Hives[0]), Queen: scheduler.QueenGoes, AloneUntil: on + 7},
		{What: scheduler.Moved, ApiaryID: quarry.ID},
		{What: scheduler.Sold, Rest: scheduler.BoxesAlong, Whom: "a neighbour"},
		{What: scheduler.Died, Rest: scheduler.BoxesStore, Note: "wax moth"},
		{What: scheduler.Died, Rest: scheduler.BoxesStay},
	} {
		t.Run(string(step.What)+" "+string(step.Rest), func(t *testing.T) {
			step.ID, step.HiveID, step.On, step.By = uuid.NewString(), larch.ID, on, first.Members[0].ID
			if step.What == scheduler.Moved { // quarry has a hive of that name
				step.HiveID = renamed(t, s, club, larch.ID, "Larch")
				defer renamed(t, s, club, larch.ID, larch.Name)
			}
			before := recordsOf(t, s, club)
			want := readClub(t, s, club)
			told := step
			if told.What == scheduler.Split {
				told.OtherID = math.MaxInt64 // any that is free
			}
			if _, err := want.Happen(&told, today); err != nil {
				t.Fatal(err)
			}
			for _, again := range []bool{false, true} {
				inClub(t, s, club, func(tx *Tx) error {
					_, err := tx.Happen(ctx, step, today)
					if tx.feedWhole == again { // a calendar says it even where no visit changes
						t.Errorf("noted already: %t; calendars are told: %t", again, tx.feedWhole)
					}
					return err
				})
			}
			now := readClub(t, s, club)
			_, h := now.HiveByID(larch.ID)
			if len(h.Events) != 1 || h.Events[0].What != step.What || h.Events[0].By != step.By || h.Events[0].Whom != step.Whom {
				t.Fatalf("noted %+v", h.Events)
			}
			if got, want := aloneOf(now), aloneOf(want); got != want {
				t.Errorf("left alone are %s, want %s", got, want)
			}
			inClub(t, s, club, func(tx *Tx) error {
				got, err := tx.Import(ctx, now)
				if got.Changed() {
					t.Errorf("import of the own export changed %+v", got)
				}
				return err
			})
			copied, err := s.CreateClub(ctx, "Copy")
			if err != nil {
				t.Fatal(err)
			}
			inClub(t, s, copied, func(tx *Tx) error {
				_, err := tx.Import(ctx, now)
				return err
			})
			if got, want := ages(readClub(t, s, copied)), ages(now); got != want {
				t.Errorf("brought in elsewhere, boxes are %s, want %s", got, want)
			}
			if got, want := wentOf(readClub(t, s, copied)), wentOf(now); got != want || got == "" {
				t.Errorf("brought in elsewhere, %q went along, want %q", got, want)
			}
			inClub(t, s, club, func(tx *Tx) error {
				_, _, err := tx.UndoEvent(ctx, larch.ID, step.ID, today)
				return err
			})
			if after := recordsOf(t, s, club); after != before {
				t.Errorf("undone\n%s\nwas\n%s", after, before)
			}
			err = s.InClub(ctx, club, func(tx *Tx) error {
				_, _, err := tx.UndoEvent(ctx, larch.ID, step.ID, today)
				return err
			})
			if refused := new(scheduler.ColonyRefusal); !errors.As(err, &refused) {
				t.Errorf("undone twice: %v", err)
			}
		})
	}
}

// A hive keeps what happened to it before, in its order.
func TestOneEventFollowsAnother(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	hive := readClub(t, s, club).Apiaries[0].Hives[0].ID
	want := []scheduler.Fate{scheduler.Swarmed, scheduler.Requeened, scheduler.Swarmed}
	for i, what := range want {
		inClub(t, s, club, func(tx *Tx) error {
			_, err := tx.Happen(ctx, scheduler.ColonyStep{ID: uuid.NewString(), HiveID: hive, What: what, On: today - 10 + scheduler.Date(i)}, today)
			return err
		})
	}
	_, h := readClub(t, s, club).HiveByID(hive)
	var got []scheduler.Fate
	for i := range h.Events {
		got = append(got, h.Events[i].What)
	}
	if !slices.Equal(got, want) {
		t.Errorf("what happened is %v, want %v", got, want)
	}
}

// renamed gives a hive another name.
func renamed(t *testing.T, s *Store, club, hive int64, name string) int64 {
	t.Helper()
	inClub(t, s, club, func(tx *Tx) error {
		c, err := tx.Club(context.Background())
		if err != nil {
			return err
		}
		_, h := c.HiveByID(hive)
		h.Name = name
		_, err = tx.UpdateHive(context.Background(), *h, today)
		return err
	})
	return hive
}

// recordsOf are all records of a club but its visits, which planning may have moved, as
// text.
func recordsOf(t *testing.T, s *Store, club int64) string {
	t.Helper()
	c := readClub(t, s, club)
	c.Visits = nil
	out, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// aloneOf says of each hive of a club when it is left alone.
func aloneOf(c *scheduler.Club) string {
	var out []string
	for i := range c.Apiaries {
		for _, h := range c.Apiaries[i].Hives {
			out = append(out, fmt.Sprintf("%s %+v", h.Name, h.LeaveAlone))
		}
	}
	slices.Sort(out)
	return strings.Join(out, "; ")
}

// wentOf says of each event of a club which boxes it concerned, by their marks.
func wentOf(c *scheduler.Club) string {
	var out []string
	boxes := boxIndex(c)
	for i := range c.Apiaries {
		for _, h := range c.Apiaries[i].Hives {
			for _, e := range h.Events {
				marks := []string{}
				for _, went := range e.Boxes {
					if box := boxes[went.BoxID]; box != nil {
						marks = append(marks, box.Name)
					} else {
						marks = append(marks, "none of this club")
					}
				}
				out = append(out, fmt.Sprint(h.Name, " ", e.What, " ", marks))
			}
		}
	}
	slices.Sort(out)
	return strings.Join(out, "; ")
}

// ages are the sealing days of a club's boxes by their marks.
func ages(c *scheduler.Club) string {
	var out []string
	names := scheduler.NewNames(c)
	for _, b := range scheduler.PlanClub(c, today).Boxes {
		hive, box := names.Box(b.BoxID)
		age, _ := json.Marshal(b.SealingDays)
		out = append(out, hive+" "+box+" "+string(age))
	}
	slices.Sort(out)
	text, _ := json.Marshal(out)
	return string(text)
}

// Where a hive stood before it moved counts, also when only the apiary is read that it
// stands at now.
func TestMovedHiveRemembersItsSeason(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	first := readClub(t, s, club)
	hive, quarry := first.Apiaries[0].Hives[0].ID, first.Apiaries[1].ID
	renamed(t, s, club, hive, "Larch")
	inClub(t, s, club, func(tx *Tx) error {
		if _, err := tx.Happen(ctx, scheduler.ColonyStep{
			ID: uuid.NewString(), HiveID: hive, What: scheduler.Moved, On: today - 5, ApiaryID: quarry,
		}, today); err != nil {
			return err
		}
		c, err := tx.ApiaryForPlanning(ctx, quarry, today)
		if err != nil {
			return err
		}
		if len(c.Apiaries) != 1 || len(c.Former) != 1 || c.Former[0].Name != "Orchard" {
			t.Errorf("read %d apiaries, and %v where hives stood", len(c.Apiaries), c.Former)
		}
		return nil
	})
}

// Bees that joined a hive at another apiary while all of their boxes went into the store
// are read wherever one of the two hives is, though no box links them.
func TestUnitedWithoutABoxIsReadAtBoth(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	first := readClub(t, s, club)
	larch, quarry := &first.Apiaries[0].Hives[0], &first.Apiaries[1]
	other, id := &quarry.Hives[0], uuid.NewString()
	step := scheduler.ColonyStep{ID: id, HiveID: larch.ID, What: scheduler.United, On: today - 10, OtherID: other.ID, Queen: scheduler.QueenGoes}
	for i := range other.Boxes {
		step.Order = append(step.Order, other.Boxes[i].ID)
	}
	var then *Replanned
	inClub(t, s, club, func(tx *Tx) (err error) {
		then, err = tx.Happen(ctx, step, today)
		return err
	})
	for _, hive := range []int64{larch.ID, other.ID} {
		inClub(t, s, club, func(tx *Tx) error {
			around, err := tx.RecordsAroundHive(ctx, hive)
			if err != nil {
				return err
			}
			if _, h := around.Club.HiveByID(larch.ID); h == nil || h.Event(id) == nil {
				t.Errorf("around hive %d it does not stand that they were united", hive)
			}
			if _, h := around.Club.HiveByID(other.ID); h == nil {
				t.Errorf("around hive %d the other one is not read", hive)
			}
			return around.Club.MayUndo(larch.ID, id)
		})
	}
	inClub(t, s, club, func(tx *Tx) error {
		again, err := tx.Replan(ctx, quarry.ID, today)
		if err == nil && !again.Empty() {
			t.Errorf("planned alone, it is another plan: %+v", again)
		}
		for _, b := range again.Plan.Boxes {
			at := slices.IndexFunc(then.Plan.Boxes, func(x scheduler.BoxState) bool { return x.BoxID == b.BoxID })
			if at < 0 || then.Plan.Boxes[at] != b {
				t.Errorf("planned alone, box %d is %+v", b.BoxID, b)
			}
		}
		return err
	})
}
