package scheduler

import (
	"testing"

	"pryday/scheduler/text"
)

func TestOverloads(t *testing.T) {
	own := 1.0
	c := &Club{Rules: DefaultRules(), Apiaries: []Apiary{{ID: 1}, {ID: 2, TravelHours: &own}}}
	today := date("2027-04-01")
	lacks := func(apiary int64, on string) Visit {
		return Visit{ApiaryID: apiary, On: date(on), Status: Tentative, NoTime: true}
	}
	taken := lacks(1, "2027-04-22")
	taken.Who = []int64{1}
	over := lacks(1, "2027-04-22")
	over.Status = Missed
	visits := []Visit{
		lacks(1, "2027-04-21"), lacks(2, "2027-04-30"), lacks(1, "2027-04-20"), lacks(1, "2027-04-11"), lacks(2, "2027-04-10"), lacks(2, "2027-04-01"),
		taken, over, lacks(1, "2027-03-31"), lacks(1, "2027-05-14"), lacks(3, "2027-04-22"),
	}
	got := Overloads(c, visits, func(*Visit) int { return 4 }, today)
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
