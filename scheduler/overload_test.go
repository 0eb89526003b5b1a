package scheduler

import (
	"testing"

	"pryday/scheduler/text"
)

func TestOverloads(t *testing.T) {
	own := 1.0
	c := &Club{Rules: DefaultRules(), Apiaries: []Apiary{{ID: 1}, {ID: 2, TravelHours: &own}}}
	today := date("2027-04-01")
	lacks := func(apiary int64, on string) Lacking { return Lacking{apiary, date(on), Work{Openings: 4}} }
	got := Overloads(c, []Lacking{
		lacks(1, "2027-04-21"), lacks(2, "2027-04-30"), lacks(1, "2027-04-20"), lacks(1, "2027-04-11"), lacks(2, "2027-04-10"), lacks(2, "2027-04-01"),
		lacks(1, "2027-03-31"), lacks(1, "2027-05-14"), lacks(3, "2027-04-22"),
	}, today)
	for i, want := range []struct{ en, de string }{
		{"4 hours too many in early April: 2 visits need somebody", "4 Stunden zu viel Anfang April: 2 Besuche brauchen jemanden"},
		{"6 hours too many in mid-April: 2 visits need somebody", "6 Stunden zu viel Mitte April: 2 Besuche brauchen jemanden"},
		{"5 hours too many in late April: 2 visits need somebody", "5 Stunden zu viel Ende April: 2 Besuche brauchen jemanden"},
	} {
		if i >= len(got) {
			t.Fatalf("%d thirds of months: %v", len(got), got)
		}
		if said := text.In("", "").Tell(got[i].Text()); said != want.en {
			t.Errorf("says %q, want %q", said, want.en)
		}
		if said := text.In("de", "").Tell(got[i].Text()); said != want.de {
			t.Errorf("says %q, want %q", said, want.de)
		}
	}
	if len(got) != 3 {
		t.Errorf("%d thirds of months: %v", len(got), got)
	}
}

func TestLacksPeople(t *testing.T) {
	today := date("2027-04-21")
	for name, c := range map[string]struct {
		change func(*Visit)
		want   bool
	}{
		"nobody has time":      {func(*Visit) {}, true},
		"today":                {func(v *Visit) { v.On = today }, true},
		"yesterday":            {func(v *Visit) { v.On = today - 1 }, false},
		"somebody goes":        {func(v *Visit) { v.Who = []int64{1} }, false},
		"it did not happen":    {func(v *Visit) { v.Status = Missed }, false},
		"people were not full": {func(v *Visit) { v.NoTime = false }, false},
	} {
		v := Visit{ApiaryID: 1, On: today + 1, Status: Tentative, NoTime: true}
		c.change(&v)
		if got := v.LacksPeople(today); got != c.want {
			t.Errorf("%s: %t", name, got)
		}
	}
}
