package scheduler

import (
	"slices"
	"testing"
)

// TestHardLimitsByDay: each box of a visit has its own last day, here eighty days from its
// last opening; boxes of one day stand in the order of the hands.
func TestHardLimitsByDay(t *testing.T) {
	today := date("2027-06-10")
	c := stand(date("2026-05-01"), []Opening{opened("2027-06-01", Loose)}, []Opening{opened("2027-05-20", Loose)}, []Opening{opened("2027-06-01", Loose)})
	c.Rules.OddsLimit, c.Rules.MaxDays = 0.9, 80
	v := Visit{ID: 1, ApiaryID: c.Apiaries[0].ID, On: today + 3, Status: Confirmed}
	var ids []int64
	for _, h := range c.Apiaries[0].Hives {
		ids = append(ids, h.Boxes[0].ID)
	}
	v.Boxes = []VisitBox{{BoxID: ids[2]}, {BoxID: ids[1]}, {BoxID: ids[0]}}
	want := []BoxLimit{{ids[1], date("2027-05-20") + 80}, {ids[2], date("2027-06-01") + 80}, {ids[0], date("2027-06-01") + 80}}
	if got := HardLimits(c, &v, today); !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}
