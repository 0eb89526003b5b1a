package store

import (
	"context"
	"encoding/json"
	"errors"
	"reflect"
	"strings"
	"testing"

	"pryday/scheduler"
)

func TestImportExportImport(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	first := readClub(t, s, club)
	if len(first.Visits) == 0 {
		t.Fatal("planning the sample made no visit")
	}
	ticked := first.Visits[0]
	inClub(t, s, club, func(tx *Tx) error {
		tx.Tick(ticked.UID, []scheduler.Tick{
			{Step: scheduler.StepOutside, On: today},
			{Step: scheduler.StepLid, HiveID: first.Apiaries[0].Hives[1].ID, By: first.Members[1].ID, On: today},
			{Step: scheduler.StepJoint, BoxID: first.Apiaries[0].Hives[1].Boxes[2].ID, By: first.Members[0].ID, On: today},
		}, nil)
		return nil
	})
	first = readClub(t, s, club)

	t.Run("the same records change nothing", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) error {
			got, err := tx.Import(ctx, sampleClub())
			if got.Changed() {
				t.Errorf("second import changed %+v", got)
			}
			return err
		})
	})
	t.Run("an export of it changes nothing", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) error {
			got, err := tx.Import(ctx, first)
			if got.Changed() {
				t.Errorf("import of the own export changed %+v", got)
			}
			return err
		})
	})
	t.Run("another club made from the export plans the same", func(t *testing.T) {
		other, err := s.CreateClub(ctx, "Copy")
		if err != nil {
			t.Fatal(err)
		}
		inClub(t, s, other, func(tx *Tx) error {
			_, err := tx.Import(ctx, first)
			return err
		})
		inClub(t, s, other, func(tx *Tx) error {
			r, err := tx.ReplanAll(ctx, today)
			if err == nil && !r.Empty() {
				t.Errorf("planning the copy added %d, changed %d, cancelled %d", len(r.Added), len(r.Changed), len(r.Cancelled))
			}
			return err
		})
		inClub(t, s, other, func(tx *Tx) error {
			if got, err := tx.Import(ctx, first); err != nil || got.Changed() {
				t.Errorf("the copy's second import changed %+v: %v", got, err)
			}
			return nil
		})
		if got, want := withoutIDs(t, readClub(t, s, other)), withoutIDs(t, first); got != want {
			t.Errorf("the copy differs at\n%s", firstDifference(got, want))
		}
	})
}

// withoutIDs writes a club with the ids of its rows replaced by their places
// in the record.
func withoutIDs(t *testing.T, c *scheduler.Club) string {
	t.Helper()
	var out scheduler.Club
	raw, err := json.Marshal(c)
	if err == nil {
		err = json.Unmarshal(raw, &out)
	}
	if err != nil {
		t.Fatal(err)
	}
	member, apiary, hive, box := map[int64]int64{0: 0}, map[int64]int64{}, map[int64]int64{0: 0}, map[int64]int64{}
	number := func(m map[int64]int64, id *int64) {
		m[*id] = int64(len(m) + 1)
		*id = m[*id]
	}
	all := func(m map[int64]int64, ids []int64) {
		for i := range ids {
			ids[i] = m[ids[i]]
		}
	}
	out.ID = 0
	for i := range out.Members {
		number(member, &out.Members[i].ID)
		out.Members[i].PersonID = 0
	}
	for i := range out.Apiaries {
		number(apiary, &out.Apiaries[i].ID)
		all(member, out.Apiaries[i].Keepers)
		for j := range out.Apiaries[i].Hives {
			number(hive, &out.Apiaries[i].Hives[j].ID)
		}
	}
	for b := range eachBox(&out) {
		number(box, &b.ID)
		for i := range b.Openings {
			b.Openings[i].By = member[b.Openings[i].By]
			if by := b.Openings[i].Opener; by != nil {
				by.Member = member[by.Member]
			}
		}
		for i := range b.Places {
			b.Places[i].HiveID = hive[b.Places[i].HiveID]
		}
	}
	for i := range out.Visits {
		v := &out.Visits[i]
		v.ID, v.ApiaryID = 0, apiary[v.ApiaryID]
		all(member, v.Who)
		all(member, v.Taken)
		all(member, v.Refused)
		all(box, v.NotBoxes)
		for k := range v.Boxes {
			v.Boxes[k].BoxID = box[v.Boxes[k].BoxID]
		}
		for k := range v.Ticks {
			tick := &v.Ticks[k]
			tick.By = member[tick.By]
			if tick.HiveID != 0 {
				tick.HiveID = hive[tick.HiveID]
			}
			if tick.BoxID != 0 {
				tick.BoxID = box[tick.BoxID]
			}
		}
	}
	raw, err = json.MarshalIndent(&out, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

func TestBrokenImportChangesNothing(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name  string
		spoil func(*scheduler.Club)
		want  string
	}{
		{"a keeper who is no member", func(c *scheduler.Club) { c.Apiaries[1].Keepers = []int64{77} }, "member 77"},
		{"an opening by nobody", func(c *scheduler.Club) { c.Apiaries[0].Hives[0].Boxes[0].Openings[0].By = 77 }, "member 77"},
		{"a difficulty out of range", func(c *scheduler.Club) { c.Apiaries[1].Hives[1].Boxes[2].Openings[2].Joint = 9 }, "joint"},
		{"an opening without id", func(c *scheduler.Club) { c.Apiaries[0].Hives[0].Boxes[0].Openings[1].ID = "" }, "no id"},
		{"a correction of nothing", func(c *scheduler.Club) {
			c.Apiaries[0].Hives[0].Boxes[0].Openings[1].Supersedes = "6f1ed002-ab56-4d5c-9f0a-2c5f6d3b1a77"
		}, "6f1ed002"},
		{"a latitude off the globe", func(c *scheduler.Club) { c.Apiaries[1].Latitude = 91 }, "latitude"},
		{"a box on an unknown hive", func(c *scheduler.Club) {
			c.Spare[0].Places = append(c.Spare[0].Places, scheduler.BoxPlace{From: today, Where: scheduler.OnHive, HiveID: 500})
		}, "hive 500"},
		{"a visit at an unknown apiary", func(c *scheduler.Club) {
			c.Visits = []scheduler.Visit{{UID: "u", ApiaryID: 9, On: today, Status: scheduler.Confirmed}}
		}, "apiary"},
	}
	s, ctx := open(t), context.Background()
	club, err := s.CreateClub(ctx, "Empty")
	if err != nil {
		t.Fatal(err)
	}
	before := readClub(t, s, club)
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			c := sampleClub()
			test.spoil(c)
			err := s.InClub(ctx, club, func(tx *Tx) error {
				_, err := tx.Import(ctx, c)
				return err
			})
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("error %v does not name %q", err, test.want)
			}
			if after := readClub(t, s, club); !reflect.DeepEqual(before, after) {
				t.Errorf("the club changed: %+v", after)
			}
		})
	}
}

func TestImportUnderAnotherName(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := sampleClub()
	c.Apiaries[0].Hives[0].Name = "Renamed" // its boxes look new, their openings are not
	err := s.InClub(ctx, club, func(tx *Tx) error {
		_, err := tx.Import(ctx, c)
		return err
	})
	if err == nil || !strings.Contains(err.Error(), `of another box, "O11"`) {
		t.Errorf("got %v", err)
	}
	if n := len(boxIndex(readClub(t, s, club))); n != 13 {
		t.Errorf("%d boxes, want 13", n)
	}
}

func TestImportOfAMovedBox(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := sampleClub()
	// The top box of the first hive of Orchard goes to the bottom of Quarry's.
	from, to := &c.Apiaries[0].Hives[0], &c.Apiaries[1].Hives[0]
	b := from.Boxes[2]
	from.Boxes = from.Boxes[:2]
	b.Places = []scheduler.BoxPlace{
		{From: b.SetUpOn, Where: scheduler.OnHive, HiveID: from.ID, Position: 3},
		{From: today - 1, Where: scheduler.OnHive, HiveID: to.ID, Position: 1},
	}
	to.Boxes = append([]scheduler.Box{b}, to.Boxes...)
	for range 2 {
		inClub(t, s, club, func(tx *Tx) error {
			_, err := tx.Import(ctx, c)
			return err
		})
	}
	got := readClub(t, s, club)
	if n := len(boxIndex(got)); n != 13 {
		t.Errorf("%d boxes after the move, want 13", n)
	}
	bottom := got.Apiaries[1].Hives[0].Boxes[0]
	if bottom.Name != b.Name || len(bottom.Openings) != 3 || len(bottom.Places) != 2 {
		t.Errorf("bottom of the new stack is %q with %d openings and %d places", bottom.Name, len(bottom.Openings), len(bottom.Places))
	}
}

func TestUnknownClub(t *testing.T) {
	t.Parallel()
	s := open(t)
	err := s.InClub(context.Background(), 404, func(tx *Tx) error {
		_, err := tx.Club(context.Background())
		return err
	})
	if !errors.Is(err, ErrNotFound) {
		t.Errorf("reading a club that is not there: %v", err)
	}
}

func firstDifference(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(g), len(w)) {
		if g[i] != w[i] {
			return strings.Join(g[max(0, i-8):i+1], "\n") + "\nwant\n" + w[i]
		}
	}
	return "their lengths"
}
