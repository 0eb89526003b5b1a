package scheduler

import (
	"fmt"
	"hash/fnv"
	"reflect"
	"slices"
	"testing"
)

// TestRateSourcesAreAllThatIsReplayed changes every field of the records, one after the
// other: what the rates come from changes the sum, and what they do not must be named.
func TestRateSourcesAreAllThatIsReplayed(t *testing.T) {
	day := testToday - 100
	records := func() *Club {
		return &Club{
			Rules: DefaultRules(),
			Apiaries: []Apiary{{ID: 1, Latitude: 44, Hives: []Hive{{
				ID: 1, Requeened: []Date{day},
				Boxes:  []Box{{ID: 1, SetUpOn: day, GuessedOn: day, Repaired: []Date{day}, Places: []BoxPlace{{From: day, Where: OnHive, HiveID: 1, Position: 1}}}},
				Events: []ColonyEvent{{On: day, What: Moved, FromApiary: 1}},
			}}}},
			Visits: []Visit{{ID: 1, ApiaryID: 1, On: day, Status: Done, Boxes: []VisitBox{{BoxID: 1}}}},
		}
	}
	was := RateSources(records(), nil, nil, testToday)[1]
	if was == 0 || RateSources(records(), nil, nil, day-1)[1] != 0 {
		t.Fatal("what is dated later does not tell from what is past")
	}
	for what, part := range map[string]struct {
		of    func(*Club) any
		plays []string // a part in the rates
	}{
		"Apiary":      {func(c *Club) any { return &c.Apiaries[0] }, []string{"ID", "Latitude", "ElevationM", "SeasonShiftDays", "Region"}},
		"Hive":        {func(c *Club) any { return &c.Apiaries[0].Hives[0] }, []string{"ID"}},
		"Box":         {func(c *Club) any { return &c.Apiaries[0].Hives[0].Boxes[0] }, []string{"ID", "SetUpOn", "GuessedOn"}},
		"BoxPlace":    {func(c *Club) any { return &c.Apiaries[0].Hives[0].Boxes[0].Places[0] }, []string{"From", "Where", "HiveID", "Position"}},
		"ColonyEvent": {func(c *Club) any { return &c.Apiaries[0].Hives[0].Events[0] }, []string{"On", "What", "OtherID", "FromApiary", "Queen"}},
		"Visit":       {func(c *Club) any { return &c.Visits[0] }, []string{"ID", "On", "Status"}},
		"VisitBox":    {func(c *Club) any { return &c.Visits[0].Boxes[0] }, []string{"BoxID"}},
	} {
		n := reflect.TypeOf(part.of(records())).Elem()
		for i := range n.NumField() {
			c := records()
			if !nudge(reflect.ValueOf(part.of(c)).Elem().Field(i)) {
				continue // lists and structs: those that play a part are looked into above or below
			}
			name := n.Field(i).Name
			if now := RateSources(c, nil, nil, testToday)[1]; (now != was) != slices.Contains(part.plays, name) {
				t.Errorf("%s.%s changes the sum: %v; add it to sources and say so here if Replay looks at it", what, name, now != was)
			}
		}
	}
	for what, change := range map[string]func(*Club){
		"new queen":     func(c *Club) { c.Apiaries[0].Hives[0].Requeened[0]++ },
		"repair":        func(c *Club) { c.Apiaries[0].Hives[0].Boxes[0].Repaired[0]++ },
		"not opened":    func(c *Club) { c.Visits[0].NotOpened = []int64{1} },
		"box is gone":   func(c *Club) { c.Apiaries[0].Hives[0].Boxes = nil },
		"box in store":  func(c *Club) { c.Spare = []Box{{ID: 2, SetUpOn: day, Places: c.Apiaries[0].Hives[0].Boxes[0].Places}} },
		"visit is over": func(c *Club) { c.Visits[0].On = testToday - rememberedDays - 1 },
	} {
		c := records()
		change(c)
		if RateSources(c, nil, nil, testToday)[1] == was {
			t.Errorf("%s: the sum stays", what)
		}
	}
}

// nudge changes a number or a word, and reports whether it was one.
func nudge(f reflect.Value) bool {
	switch f.Kind() {
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		f.SetInt(f.Int() + 1)
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		f.SetUint(f.Uint() + 1)
	case reflect.Float32, reflect.Float64:
		f.SetFloat(f.Float() + 1)
	case reflect.String:
		f.SetString(f.String() + "x")
	case reflect.Bool:
		f.SetBool(!f.Bool())
	default:
		return false
	}
	return true
}

// TestRatesVersion fails when Replay makes other rates of the same records: then count
// ratesVersion on, so that no service goes on with those it saved, and write here what
// the failure shows.
func TestRatesVersion(t *testing.T) {
	const of, sum = 2, "53c1b81c4c8f1d67"
	h := fnv.New64a()
	for seed := range uint64(40) {
		r := newDice(seed)
		k := &keeping{club: r.region(3, 5), saved: map[int64]SavedRates{}}
		for range 12 {
			r.happen(k, testToday)
		}
		for _, rate := range Replay(k.club, testToday+30) {
			fmt.Fprintf(h, "%d %s %s %s %s %d %d %.6g %.6g %.6g\n", rate.BoxID, rate.From, rate.Since, rate.LastTried, rate.listedOn, rate.LastHard, rate.Openings, rate.Left, rate.Mean, rate.Variance)
		}
	}
	if got := fmt.Sprintf("%x", h.Sum64()); ratesVersion != of || got != sum {
		t.Errorf("rates version %d come to %s; version %d came to %s", ratesVersion, got, of, sum)
	}
}
