package scheduler

import (
	"slices"
	"testing"
)

func TestRainedOff(t *testing.T) {
	today, sat := date("2027-05-12"), date("2027-05-15")
	day := func(d Date) []Period { return []Period{{From: d, Until: d}} }
	tests := []struct {
		name string
		club func(*Club, *Visit)
		want []string
	}{
		{"any day", nil, []string{"2027-05-16", "2027-05-17", "2027-05-18"}},
		{"weekends", func(c *Club, _ *Visit) { c.Apiaries[0].Weekdays = 1<<0 | 1<<6 }, []string{"2027-05-16", "2027-05-22", "2027-05-23"}},
		{"already past", func(_ *Club, v *Visit) { v.On = today - 10 }, []string{"2027-05-12", "2027-05-13", "2027-05-14"}},
		{"the landowner's day", func(c *Club, _ *Visit) { c.Apiaries[0].NoGo = day(sat + 1) }, []string{"2027-05-17", "2027-05-18", "2027-05-19"}},
		{"one who goes is away", func(c *Club, v *Visit) {
			v.Who = []int64{1, 2}
			c.Members[0].NoGo = day(sat + 1)
		}, []string{"2027-05-16", "2027-05-17", "2027-05-18"}},
		{"all who go are away", func(c *Club, v *Visit) {
			v.Who = []int64{1}
			c.Members[0].NoGo = day(sat + 1)
		}, []string{"2027-05-17", "2027-05-18", "2027-05-19"}},
		{"its hive is left alone", func(c *Club, _ *Visit) {
			c.Apiaries[0].Hives[0].LeaveAlone = []Period{{From: sat, Until: sat + 3}}
		}, []string{"2027-05-19", "2027-05-20", "2027-05-21"}},
		{"another hive is left alone", func(c *Club, _ *Visit) {
			c.Apiaries[0].Hives[1].LeaveAlone = []Period{{From: sat, Until: sat + 3}}
		}, []string{"2027-05-16", "2027-05-17", "2027-05-18"}},
		{"no usual day for two weeks", func(c *Club, _ *Visit) {
			c.Apiaries[0].Weekdays = 1 << 6
			c.Apiaries[0].NoGo = day(sat + 7)
		}, []string{"2027-05-16", "2027-05-17", "2027-05-18"}},
		{"never again", func(c *Club, _ *Visit) { c.Apiaries[0].Standstill = []Period{{From: today}} }, nil},
		{"nothing to open: any day in winter", func(_ *Club, v *Visit) {
			v.Boxes, v.On = nil, date("2027-12-27")
		}, []string{"2027-12-28", "2027-12-29", "2027-12-30"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			old := []Opening{opened("2026-09-01", Loose)}
			c := stand(date("2026-05-01"), old, old)
			v := &Visit{ApiaryID: 5, On: sat, Status: Confirmed, Boxes: []VisitBox{{BoxID: 1}}}
			if tt.club != nil {
				tt.club(c, v)
			}
			var got []string
			for _, d := range RainedOff(c, v, today, 3) {
				got = append(got, d.String())
			}
			if !slices.Equal(got, tt.want) {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
}
