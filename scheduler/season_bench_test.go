package scheduler

import "testing"

func BenchmarkNewSeason(b *testing.B) {
	rules := DefaultRules()
	own := DefaultRules()
	own.Home = &Home{Latitude: 47}
	own.Stages[Flow].Starts = MonthDay{5, 20}
	for name, r := range map[string]*Rules{"from the table": &rules, "from own dates": &own} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				NewSeason(Place{Latitude: 47.3, ElevationM: 410}, r)
			}
		})
	}
}

func BenchmarkSeasonLookups(b *testing.B) {
	rules := DefaultRules()
	s := NewSeason(Place{Latitude: 47.3}, &rules)
	d := NewDate(2027, 1, 1)
	b.Run("Stage", func(b *testing.B) {
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			s.Stage(d + Date(i&1023))
		}
	})
	b.Run("MayOpen", func(b *testing.B) {
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			s.MayOpen(d + Date(i&1023))
		}
	})
	b.Run("SealingDays", func(b *testing.B) {
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			s.SealingDays(d, d+Date(i&1023))
		}
	})
}
