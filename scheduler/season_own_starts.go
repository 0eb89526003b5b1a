package scheduler

import "math"

// absent marks the start of a stage that does not occur.
var absent = math.NaN()

// ownStarts returns the club's own starts as they fall at p, in days after 1
// January of year and in order: a date that would come before the one it
// follows is the next year's. Stages without a date of the club's are absent.
// near, where not absent, says about when to expect the first of them.
func ownStarts(p Place, r *Rules, year int, near [NumStages]float64) [NumStages]float64 {
	out := [NumStages]float64{absent, absent, absent, absent, absent}
	prev := absent // at the home
	for i := range out {
		m := r.Stages[i].Starts
		if m.IsZero() {
			continue
		}
		moved := moveFromHome(Stage(i), p, r.Home)
		y := year
		day := func() float64 { return m.dayOf(y) + float64(newYear(y)-newYear(year)) }
		switch {
		case !math.IsNaN(prev) && day() < prev:
			for day() < prev {
				y++
			}
		case math.IsNaN(prev) && i > 0 && !math.IsNaN(near[i]):
			y += int(math.Round((near[i] - day() - moved) / 365.25))
		}
		prev = day()
		out[i] = prev + moved
	}
	return out
}

// moveFromHome returns by how many days the start of a stage at p comes after
// the one at the club's home.
func moveFromHome(stage Stage, p Place, home *Home) float64 {
	if home == nil {
		return 0
	}
	degrees := math.Abs(p.Latitude) - math.Abs(home.Latitude)
	moved := poleward[stage] * (degrees*daysPerDegree + (p.ElevationM-home.ElevationM)*daysPerMetre)
	if (p.Latitude < 0) != (home.Latitude < 0) {
		moved += halfYear
	}
	return moved
}

// mergeStarts lays the club's own starts over the table's. Of the table's,
// those that do not fit between their neighbours yield.
func mergeStarts(table, own [NumStages]float64) [NumStages]float64 {
	out := table
	for i := range out {
		if !math.IsNaN(own[i]) {
			out[i] = own[i]
			continue
		}
		if math.IsNaN(table[i]) {
			continue
		}
		least, most := math.Inf(-1), math.Inf(1)
		for k := 1; k < NumStages; k++ {
			j := (i - k + NumStages) % NumStages
			if !math.IsNaN(own[j]) {
				least = own[j] + float64(k*minStageDays)
				if j > i {
					least -= 365
				}
				break
			}
		}
		for k := 1; k < NumStages; k++ {
			j := (i + k) % NumStages
			if !math.IsNaN(own[j]) {
				most = own[j] - float64(k*minStageDays)
				if j < i {
					most += 365
				}
				break
			}
		}
		out[i] = math.Max(least, math.Min(most, table[i]))
	}
	return out
}
