package simulation

import (
	"testing"

	"pryday/scheduler"
)

// BenchmarkRun keeps one club of the command's size for all its years.
func BenchmarkRun(b *testing.B) {
	for _, policy := range []Policy{Calendar(4), Planner(0.2), Planner(0.2).Told()} {
		b.Run(policy.Name, func(b *testing.B) {
			population := NewPopulation(1, DefaultSize(), DefaultAssumptions())
			var planner scheduler.Planner
			b.ReportAllocs()
			for b.Loop() {
				population.Run(policy, &planner)
			}
		})
	}
}
