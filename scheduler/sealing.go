package scheduler

// SealingDays returns the sum of the pace of each day from a up to, not
// including, b; 0 when b is not after a. It takes constant time.
func (s *Season) SealingDays(a, b Date) float64 {
	if b <= a {
		return 0
	}
	return s.sealingUntil(b) - s.sealingUntil(a)
}

// epochYear is where sealingUntil starts to count, near the records so that
// rounding stays far below a thousandth of a day.
const epochYear = 2001

// sealingUntil returns the sealing days from the first start of epochYear to d.
func (s *Season) sealingUntil(d Date) float64 {
	year, i := s.find(d)
	v := variant(year)
	into := float64(int32(d-newYear(year)) - s.starts[v][i])
	return s.sealingUntilYear(year) + s.cum[v][i] + into*s.rules[s.stages[i]].Pace
}

// sealingUntilYear returns the sealing days from the first start of epochYear
// to that of year. Every year's sequence is the same but for the length of
// its last stage, which ends where the next year's starts; those lengths add
// up to the days between the two 1 Januaries and what the starts differ by.
func (s *Season) sealingUntilYear(year int) float64 {
	leaps := float64(leapsBefore(year) - leapsBefore(epochYear))
	commons := float64(year-epochYear) - leaps
	last := s.rules[s.stages[s.n-1]].Pace
	days := float64(newYear(year)-newYear(epochYear)) +
		float64(s.starts[variant(year)][0]-s.starts[variant(epochYear)][0])
	return commons*s.whole[0] + leaps*s.whole[1] + days*last
}

// sumPaces fills what sealingUntil reads.
func (s *Season) sumPaces() {
	for v := range s.starts {
		for i := 1; i < s.n; i++ {
			days := float64(s.starts[v][i] - s.starts[v][i-1])
			s.cum[v][i] = s.cum[v][i-1] + days*s.rules[s.stages[i-1]].Pace
		}
		end := s.n - 1
		last := s.rules[s.stages[end]].Pace
		s.whole[v] = s.cum[v][end] - last*float64(s.starts[v][end]-s.starts[v][0])
	}
}

// left returns the part of a seal's age that stays after an opening: a broken
// joint is weaker than an old seal, a scraped one is gone.
func (o *Opening) left() float64 {
	switch {
	case o.LeftShut:
		return 1
	case o.Scraped == ScrapedAll:
		return 0
	case o.Scraped == ScrapedPart:
		return 0.3
	default:
		return 0.6
	}
}
