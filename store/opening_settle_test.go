package store

import (
	"context"
	"errors"
	"slices"
	"sync"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// TestSettle: what an opening comes to, by what became of the one that it
// names since whoever recorded it looked.
func TestSettle(t *testing.T) {
	const box, other = 1, 2
	id := func(n byte) string { return uuid.NewSHA1(uuid.NameSpaceOID, []byte{n}).String() }
	opening := func(n byte, joint scheduler.Difficulty, supersedes string) scheduler.Opening {
		return scheduler.Opening{ID: id(n), Supersedes: supersedes, On: today, Joint: joint, Frames: scheduler.NotTried}
	}
	void := func(n byte, supersedes string) scheduler.Opening {
		o := opening(n, scheduler.Loose, supersedes)
		o.Void = true
		return o
	}
	named := func(n byte, supersedes, name string) scheduler.Opening {
		o := opening(n, scheduler.Firm, supersedes)
		o.Opener = &scheduler.Opener{Name: name}
		return o
	}
	first, corrected := opening(1, scheduler.Firm, ""), opening(2, scheduler.Hard, id(1))
	for name, row := range map[string]struct {
		stands  []scheduler.Opening
		comes   scheduler.Opening
		yields  bool
		box     int64
		records string // the id of what its row corrects; "new" for nothing, empty when none is made
		yielded bool
		err     error
	}{
		"the first":                       {nil, first, true, box, "new", false, nil},
		"the same again":                  {[]scheduler.Opening{first}, first, true, box, "", false, nil},
		"the same again, corrected since": {[]scheduler.Opening{first, corrected}, first, true, box, "", false, nil},
		"the same form, other answers":    {[]scheduler.Opening{first}, opening(1, scheduler.Loose, ""), true, box, id(1), false, nil},
		"the same form, corrected since":  {[]scheduler.Opening{first, corrected}, opening(1, scheduler.Loose, ""), true, box, id(2), false, nil},
		"the same form, taken back since": {[]scheduler.Opening{first, void(3, id(1))}, opening(1, scheduler.Loose, ""), true, box, id(3), false, nil},
		"the same form, another opener":   {[]scheduler.Opening{first}, named(1, "", "Old Tam"), true, box, id(1), false, nil},
		"who opened it corrected":         {[]scheduler.Opening{first}, named(4, id(1), "Old Tam"), true, box, id(1), false, nil},
		"and corrected alike":             {[]scheduler.Opening{first, named(2, id(1), "Old Tam")}, named(4, id(1), "Old Tam"), true, box, "", false, nil},
		"and corrected to another":        {[]scheduler.Opening{first, named(2, id(1), "Old Tam")}, named(4, id(1), "Wim"), true, box, "", false, ErrSuperseded},
		"a second of the day":             {[]scheduler.Opening{first}, opening(4, scheduler.Hard, ""), false, box, "new", false, nil},
		"a second that yields":            {[]scheduler.Opening{first}, opening(4, scheduler.Hard, ""), true, box, "", true, nil},
		"one taken back is none":          {[]scheduler.Opening{first, void(3, id(1))}, opening(4, scheduler.Hard, ""), true, box, "new", false, nil},
		"a correction":                    {[]scheduler.Opening{first}, corrected, true, box, id(1), false, nil},
		"a correction of a correction":    {[]scheduler.Opening{first, corrected}, opening(4, scheduler.Light, id(2)), true, box, id(2), false, nil},
		"a correction, corrected since":   {[]scheduler.Opening{first, corrected}, opening(4, scheduler.Light, id(1)), true, box, "", false, ErrSuperseded},
		"a correction, corrected alike":   {[]scheduler.Opening{first, corrected}, opening(4, scheduler.Hard, id(1)), true, box, "", false, nil},
		"a correction, taken back since":  {[]scheduler.Opening{first, void(3, id(1))}, opening(4, scheduler.Light, id(1)), true, box, "", false, ErrTakenBack},
		"taken back":                      {[]scheduler.Opening{first}, void(4, id(1)), true, box, id(1), false, nil},
		"taken back twice":                {[]scheduler.Opening{first, void(3, id(1))}, void(4, id(1)), true, box, "", false, nil},
		"taken back, corrected since":     {[]scheduler.Opening{first, corrected}, void(4, id(1)), true, box, "", false, ErrSuperseded},
		"a correction of nothing":         {[]scheduler.Opening{first}, opening(4, scheduler.Light, id(9)), true, box, "", false, ErrNotFound},
		"a correction of another's":       {[]scheduler.Opening{first}, opening(4, scheduler.Light, id(1)), true, other, "", false, ErrNotFound},
		"an id of another box":            {[]scheduler.Opening{first}, first, true, other, "", false, ErrExists},
	} {
		t.Run(name, func(t *testing.T) {
			k := newKnownOpenings()
			for i := range row.stands {
				k.add(box, &row.stands[i])
			}
			var r Recorded
			fresh, err := k.settleAll([]BoxOpening{{BoxID: row.box, Opening: row.comes, Yields: row.yields}}, &r)
			if !errors.Is(err, row.err) || err != nil && row.err == nil {
				t.Fatalf("got %v, want %v", err, row.err)
			}
			got := ""
			for _, o := range fresh {
				if got = o.Opening.Supersedes; got == "" {
					got = "new"
				}
				if o.Opening.ID != row.comes.ID && k.opening[row.comes.ID] == nil {
					t.Errorf("recorded under %s", o.Opening.ID)
				}
			}
			if got != row.records || slices.Contains(r.Yielded, row.box) != row.yielded || len(r.New) != len(fresh) {
				t.Errorf("recorded %q and told %+v, want %q", got, r, row.records)
			}
		})
	}
}

// TestAtTheSameTime: several phones send openings of one box at once; one of
// them counts, and each of the others is told what it met.
func TestAtTheSameTime(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	stands, spare := c.Apiaries[0].Hives[0].Boxes[0], c.Spare[0]
	form := func(id string, joint scheduler.Difficulty, supersedes string, on scheduler.Date) scheduler.Opening {
		return scheduler.Opening{ID: id, On: on, Joint: joint, Frames: scheduler.NotTried, Supersedes: supersedes}
	}
	// send sends from each phone at once and returns what was recorded, and how
	// often it yielded, or was told of a correction.
	send := func(box int64, phones int, phone func(int) scheduler.Opening) (made []string, yielded, superseded int) {
		var all sync.WaitGroup
		var mu sync.Mutex
		begin := make(chan struct{})
		for i := range phones {
			o := phone(i)
			all.Go(func() {
				<-begin
				var r *Recorded
				err := s.InClub(ctx, club, func(tx *Tx) (err error) {
					r, err = tx.RecordOpenings(ctx, []BoxOpening{{BoxID: box, Opening: o, Yields: true}}, today)
					return err
				})
				mu.Lock()
				defer mu.Unlock()
				switch {
				case errors.Is(err, ErrSuperseded):
					superseded++
				case err != nil:
					t.Error(err)
				default:
					made, yielded = append(made, r.New...), yielded+len(r.Yielded)
				}
			})
		}
		close(begin)
		all.Wait()
		return made, yielded, superseded
	}
	for _, box := range []struct {
		name string
		id   int64
	}{{"on a hive", stands.ID}, {"in store", spare.ID}} {
		made, yielded, _ := send(box.id, 5, func(i int) scheduler.Opening { return form(uuid.NewString(), scheduler.Difficulty(i), "", today-1) })
		if len(made) != 1 || yielded != 4 {
			t.Errorf("%s, five forms of one day: recorded %v, %d yielded", box.name, made, yielded)
		}
		same := uuid.NewString()
		made, yielded, _ = send(box.id, 5, func(int) scheduler.Opening { return form(same, scheduler.Hard, "", today) })
		if len(made) != 1 || made[0] != same || yielded != 0 {
			t.Errorf("%s, one form from five phones: recorded %v, %d yielded", box.name, made, yielded)
		}
		made, _, superseded := send(box.id, 5, func(i int) scheduler.Opening { return form(uuid.NewString(), scheduler.Difficulty(i), same, today) })
		if len(made) != 1 || superseded != 4 {
			t.Errorf("%s, five corrections of one opening: recorded %v, %d told of another", box.name, made, superseded)
		}
		made, _, superseded = send(box.id, 5, func(int) scheduler.Opening { return form(uuid.NewString(), scheduler.Firm, made[0], today) })
		if len(made) != 1 || superseded != 0 {
			t.Errorf("%s, five corrections that say the same: recorded %v, %d told of another", box.name, made, superseded)
		}
	}
	savedIsPlanned(t, s, club)
}
