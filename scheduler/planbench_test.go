package scheduler

import "testing"

// BenchmarkPlanApiary plans one apiary of 24 boxes over a year from its whole
// history, and reports the time of one box.
func BenchmarkPlanApiary(b *testing.B) {
	for _, bc := range []struct {
		name     string
		weekdays WeekdaySet
		travel   float64
	}{
		{"any day", 0, 2}, {"weekends", 1<<0 | 1<<6, 2}, {"own garden", 0, 0},
	} {
		b.Run(bc.name, func(b *testing.B) {
			r := newDice(3)
			c := r.club(24, testToday)
			c.Apiaries[0].Latitude = 44
			c.Apiaries[0].Weekdays, c.Apiaries[0].TravelHours = bc.weekdays, &bc.travel
			remember(c, PlanClub(c, testToday))
			var p Planner
			b.ReportAllocs()
			visits := 0
			for b.Loop() {
				visits = len(p.PlanApiary(c, 5, testToday).Visits)
			}
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/24, "us/box")
			b.ReportMetric(float64(visits), "visits")
		})
	}
}

// BenchmarkReplay is the part of planning that reads the history.
func BenchmarkReplay(b *testing.B) {
	c := newDice(3).club(24, testToday)
	b.ReportAllocs()
	for b.Loop() {
		ReplayApiary(c, 5, testToday)
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/24, "us/box")
}
