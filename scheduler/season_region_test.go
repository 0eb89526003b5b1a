package scheduler

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestRegionAt(t *testing.T) {
	tests := []struct {
		name                string
		latitude, longitude float64
		want                Region
	}{
		{"Guelph", 43.55, -80.2, Continental},
		{"Berlin", 52.5, 13.4, Continental},
		{"Warsaw", 52.2, 21, Continental},
		{"Bergen", 60.4, 5.3, Continental},
		{"London", 51.5, -0.1, WesternEurope},
		{"Galway", 53.3, -9.1, WesternEurope},
		{"Brussels", 50.85, 4.35, WesternEurope},
		{"Cologne", 50.9, 7, WesternEurope},
		{"Bordeaux", 44.8, -0.6, WesternEurope},
		{"Lugo", 43, -7.6, WesternEurope},
		{"Porto", 41.15, -8.6, SouthernEurope},
		{"Montpellier", 43.6, 3.9, SouthernEurope},
		{"Turin", 45.07, 7.7, SouthernEurope},
		{"Catania", 37.5, 15.1, SouthernEurope},
		{"Graz", 47.07, 15.4, SouthernEurope},
		{"Budapest", 47.5, 19, SouthernEurope},
		{"Nicosia", 35.2, 33.4, SouthernEurope},
		{"Perth", -31.95, 115.9, SouthernMaritime},
		{"Hobart", -42.9, 147.3, SouthernMaritime},
		{"Invercargill", -46.4, 168.4, SouthernMaritime},
		{"Santiago", -33.45, -70.7, SouthernMaritime},
		{"Stellenbosch", -33.9, 18.9, SouthernMaritime},
		{"Brisbane", -27.5, 153, Continental},
		{"Buenos Aires", -34.6, -58.4, Continental},
		{"Mendoza, beyond the Andes", -32.9, -68.8, Continental},
		{"Bloemfontein", -29.1, 26.2, Continental},
		{"a border belongs to the north and the east of it", 42, -11, WesternEurope},
		{"and not to the south", 59, 0, Continental},
		{"no number", math.NaN(), 0, Continental},
		{"no number either", 51, math.NaN(), Continental},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := RegionAt(test.latitude, test.longitude); got != test.want {
				t.Errorf("%g, %g lies in %s, want %s", test.latitude, test.longitude, got, test.want)
			}
			a := &Apiary{Latitude: test.latitude, Longitude: test.longitude}
			if got := a.Place().Region; got != test.want {
				t.Errorf("an apiary there has the dates of %s", got)
			}
			a.Region = SouthernEurope
			if got := a.Place().Region; got != SouthernEurope {
				t.Errorf("with a region chosen it has the dates of %s", got)
			}
		})
	}
}

func TestStartsByRegion(t *testing.T) {
	tests := []struct {
		name  string
		place Place
		year  int
		want  string
	}{
		{"a band's centre", Place{Latitude: 51.5, Region: WesternEurope}, 2027, "2027-03-26 2027-05-14 2027-07-30 2027-09-15 2027-10-28"},
		// half of 8 and 18 Mar, 24 Apr and 4 May, 20 and 25 Jul, 25 and 20 Sep, 10 and 3 Nov: half rounds up
		{"between two", Place{Latitude: 45.75, Region: WesternEurope}, 2027, "2027-03-13 2027-04-29 2027-07-23 2027-09-23 2027-11-07"},
		{"below the first", Place{Latitude: 34.1, Region: SouthernEurope}, 2028, "2028-02-10 2028-03-25 2028-06-28 2028-10-20 2028-11-30"},
		{"on a mountain", Place{Latitude: 41, ElevationM: 500, Region: SouthernEurope}, 2027, "2027-03-15 2027-05-01 2027-07-12 2027-09-24 2027-11-03"},
		{"the south's own dates run on into the next year", Place{Latitude: -38, Region: SouthernMaritime}, 2026, "2026-08-24 2026-10-10 2027-01-18 2027-04-02 2027-05-20"},
		{"a leap day on the way moves none of them", Place{Latitude: -38, Region: SouthernMaritime}, 2027, "2027-08-24 2027-10-10 2028-01-18 2028-04-02 2028-05-20"},
		{"a leap day before does not either", Place{Latitude: -38, Region: SouthernMaritime}, 2028, "2028-08-24 2028-10-10 2029-01-18 2029-04-02 2029-05-20"},
		// 24 Aug less 182.5 days is 22 Feb, 10 Oct is 10 Apr: half rounds up
		{"the south's dates in the north", Place{Latitude: 38, Region: SouthernMaritime}, 2026, "2026-02-23 2026-04-11 2026-07-20 2026-10-02 2026-11-19"},
		// 14 May plus 182.5 days
		{"the north's dates in the south", Place{Latitude: -51.5, Region: WesternEurope}, 2026, "2026-09-25 2026-11-13 2027-01-29 2027-03-17 2027-04-29"},
		{"no region is the continental one", at(40.5, 0, 0), 2027, "2027-03-28 2027-05-15 2027-07-25 2027-09-28 2027-11-05"},
	}
	rules := DefaultRules()
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := written(NewSeason(test.place, &rules).Starts(test.year)); got != test.want {
				t.Errorf("starts %s, want %s", got, test.want)
			}
		})
	}
}

// A table is one only if its bands come in order, spring later and winter
// earlier towards the pole, and every stage in it is long enough.
func TestTablesAreInOrder(t *testing.T) {
	for _, region := range Regions {
		table := tableOf(region)
		if (region == Continental) != (table == &continental) {
			t.Errorf("%s has the table of another", region)
		}
		for i, band := range table.bands {
			days := make([]float64, NumStages)
			for k := range days {
				days[k] = table.day(band.starts[k], commonYear)
				if k > 0 && days[k] < days[k-1]+minStageDays {
					t.Errorf("%s at %g: %v is too short", region, band.centre, Stage(k-1))
				}
				// The continental table mixes coasts and interiors: 45 is later than 50.
				if i > 0 && region != Continental {
					before := table.day(table.bands[i-1].starts[k], commonYear)
					if later := days[k] - before; later < 0 && k <= int(LateSummer) || later > 0 && k > int(LateSummer) {
						t.Errorf("%s: %v comes the wrong way from %g to %g", region, Stage(k), table.bands[i-1].centre, band.centre)
					}
				}
			}
			if i > 0 && band.centre <= table.bands[i-1].centre {
				t.Errorf("%s: %g comes after %g", region, band.centre, table.bands[i-1].centre)
			}
		}
	}
}

// Whatever the table, the same place a year on has the same days.
func TestRegionsStandEveryYear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlace(t)
		p.Region, p.ShiftDays = rapid.SampledFrom(Regions).Draw(t, "region"), 0
		p.Latitude = math.Copysign(24+math.Abs(p.Latitude)/3, p.Latitude)
		p.ElevationM /= 4
		rules := DefaultRules()
		s := NewSeason(p, &rules)
		year := 1801 + spread(t, "year", 398)
		for k, start := range s.Starts(year) {
			next := s.Starts(year + 1)[k]
			if days := next - start; days != 365 && days != 366 {
				t.Fatalf("%v comes %d days later a year on", Stage(k), days)
			}
		}
	})
}
