package scheduler

import (
	"cmp"
	"slices"
)

// SeasonDay is the day of an event at one apiary.
type SeasonDay struct {
	Event SeasonEvent
	On    Date
}

// before orders days by event, as they come in the year, and then by day.
func (d SeasonDay) before(o SeasonDay) int {
	return cmp.Or(cmp.Compare(slices.Index(SeasonEvents, d.Event), slices.Index(SeasonEvents, o.Event)), cmp.Compare(d.On, o.On))
}

// See returns seen with days added, in order and each once. It shares nothing
// with seen.
func See(seen []SeasonDay, days ...SeasonDay) []SeasonDay {
	out := slices.Concat(seen, days)
	slices.SortFunc(out, SeasonDay.before)
	return slices.Compact(out)
}

// Unsee returns seen without days. It shares nothing with seen.
func Unsee(seen []SeasonDay, days ...SeasonDay) []SeasonDay {
	return slices.DeleteFunc(slices.Clone(seen), func(d SeasonDay) bool { return slices.Contains(days, d) })
}
