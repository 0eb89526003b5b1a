package scheduler

import (
	"runtime"
	"sync"
	"sync/atomic"
	"testing"
)

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

// BenchmarkMillionBoxes plans a million boxes in apiaries of 24, on as many
// cores as the machine gives: one Planner for each. Sixty-four clubs that
// differ stand for all, since the records of a million boxes would measure
// memory instead.
func BenchmarkMillionBoxes(b *testing.B) {
	const boxes, each = 1_000_000, 24
	var clubs [64]*Club
	for i := range clubs {
		clubs[i] = newDice(uint64(i+1)).club(each, testToday)
		clubs[i].Apiaries[0].Latitude = 30 + float64(i)/2
		remember(clubs[i], PlanClub(clubs[i], testToday))
	}
	for b.Loop() {
		var next atomic.Int64
		var cores sync.WaitGroup
		for range runtime.GOMAXPROCS(0) {
			cores.Go(func() {
				var p Planner
				for i := next.Add(1); i <= boxes/each; i = next.Add(1) {
					p.PlanApiary(clubs[int(i)%len(clubs)], 5, testToday)
				}
			})
		}
		cores.Wait()
	}
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N), "s/million")
}
