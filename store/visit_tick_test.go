package store

import (
	"slices"
	"testing"

	"pryday/scheduler"
)

// TestTick: a tick is kept once, with whoever gave it first, can be taken back,
// and is of its own place alone.
func TestTick(t *testing.T) {
	t.Parallel()
	s := open(t)
	club := importSample(t, s)
	c := readClub(t, s, club)
	uid, hive := c.Visits[0].UID, c.Apiaries[0].Hives[0].ID
	lid := scheduler.Tick{Step: scheduler.StepLid, HiveID: hive, By: c.Members[0].ID, On: today}
	whole := scheduler.Tick{Step: scheduler.StepOutside, On: today}
	box := scheduler.Tick{Step: scheduler.StepJoint, BoxID: c.Apiaries[0].Hives[0].Boxes[1].ID, By: c.Members[1].ID, On: today}
	later := lid
	later.By, later.On = c.Members[1].ID, today+1
	for _, step := range []struct {
		name         string
		done, undone []scheduler.Tick
		want         []scheduler.Tick
	}{
		{"the first", []scheduler.Tick{lid}, nil, []scheduler.Tick{lid}},
		{"again, by another", []scheduler.Tick{later}, nil, []scheduler.Tick{lid}},
		{"elsewhere", []scheduler.Tick{box, whole}, nil, []scheduler.Tick{whole, lid, box}},
		{"taken back", nil, []scheduler.Tick{later}, []scheduler.Tick{whole, box}},
		{"taken back twice", nil, []scheduler.Tick{later}, []scheduler.Tick{whole, box}},
		{"and given anew", []scheduler.Tick{later}, []scheduler.Tick{whole}, []scheduler.Tick{later, box}},
	} {
		inClub(t, s, club, func(tx *Tx) error {
			tx.Tick(uid, step.done, step.undone)
			return nil
		})
		got := readClub(t, s, club).Visits
		at := slices.IndexFunc(got, func(v scheduler.Visit) bool { return v.UID == uid })
		if !slices.Equal(got[at].Ticks, step.want) {
			t.Errorf("%s: %+v, want %+v", step.name, got[at].Ticks, step.want)
		}
	}
	other := importSample(t, s)
	inClub(t, s, other, func(tx *Tx) error { // does not see it
		tx.Tick(uid, []scheduler.Tick{whole}, []scheduler.Tick{later, box})
		return nil
	})
	if got := readClub(t, s, club).Visits; !slices.ContainsFunc(got, func(v scheduler.Visit) bool { return v.UID == uid && len(v.Ticks) == 2 }) {
		t.Errorf("another club changed the ticks: %+v", got)
	}
}
