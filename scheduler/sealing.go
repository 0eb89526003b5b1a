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
	kind := yearKind(year)
	into := float64(int32(d-newYear(year)) - s.starts[kind][i])
	return s.sealingUntilYear(year) + s.cum[kind][i] + into*s.rules[s.stages[i]].Pace
}

// sealingUntilYear returns the sealing days from the first start of epochYear
// to that of year. The sequences of years of one kind differ only in how long
// their last stage is, which ends where the next year's first starts. So a
// sequence counts at its last stage's pace until its end, which adds up to the
// days between the two years, plus what its other stages seal beside that,
// which is whole and the same for all years of a kind.
func (s *Season) sealingUntilYear(year int) float64 {
	leap := leapsBefore(year) - leapsBefore(epochYear)
	before := leapsBefore(year+1) - leapsBefore(epochYear+1)
	after := leapsBefore(year-1) - leapsBefore(epochYear-1)
	plain := year - epochYear - leap - before - after
	days := newYear(year) - newYear(epochYear) +
		Date(s.starts[yearKind(year)][0]-s.starts[yearKind(epochYear)][0])
	return float64(plain)*s.whole[plainYear] + float64(before)*s.whole[beforeLeap] +
		float64(leap)*s.whole[leapYear] + float64(after)*s.whole[afterLeap] +
		float64(days)*s.rules[s.stages[s.n-1]].Pace
}

// sumPaces fills what sealingUntil reads.
func (s *Season) sumPaces() {
	last := s.n - 1
	for kind, starts := range s.starts {
		for i := 1; i < s.n; i++ {
			days := float64(starts[i] - starts[i-1])
			s.cum[kind][i] = s.cum[kind][i-1] + days*s.rules[s.stages[i-1]].Pace
		}
		s.whole[kind] = s.cum[kind][last] - s.rules[s.stages[last]].Pace*float64(starts[last]-starts[0])
	}
}

// Seal is what is known of the seal of one box.
type Seal struct {
	BoxID    int64
	Position int // in the stack, 1 the lowest
	// From is the last opening that broke the seal or the day the box was set
	// up: the day from which waits are counted.
	From Date
	// Since is the day at which Left sealing days were left in the seal: From
	// or, for a box that has moved since or may have been opened without a record, the
	// day of that.
	Since      Date
	Left       float64
	LastOpened Date       // last opening that broke the seal; zero when never
	LastTried  Date       // last opening, also one left shut; zero when never
	LastHard   Difficulty // at LastTried; NotTried when never
	ShutOn     Date       // LastTried, if that left the box shut; zero when it opened
	Openings   int        // that count

	listedOn Date // the last day of a done visit that listed it and has no record of it
	maybeOn  Date // the last day of which it is settled whether it may have been opened without a record
	maybe    ages // where it may have been opened since without a record; Left is then their mean
}

// age returns the sealing days of the seal on d, of a box that stands on a hive
// at a place with season s.
func (b *Seal) age(s *Season, d Date) float64 {
	return b.Left + s.SealingDays(b.Since, d)
}

// opened records an opening of a seal of an age.
func (b *Seal) opened(o *Opening, age float64) {
	b.LastTried, b.LastHard = o.On, o.Difficulty()
	b.Openings++
	if o.LeftShut {
		b.ShutOn = o.On
		return
	}
	b.From, b.Since, b.LastOpened, b.ShutOn = o.On, o.On, o.On, 0
	b.Left, b.maybe = age*o.remains(), ages{}
}

// cameOff records that a seal of an age was broken on a day of which no more is
// known. What was found before stays the last that was found; only a box that was
// left shut is so no more.
func (b *Seal) cameOff(on Date, age float64) {
	if b.ShutOn != 0 {
		b.ShutOn, b.LastHard = 0, NotTried
	}
	b.From, b.Since = on, on
	b.Left, b.maybe = age*remainsUnknown, ages{}
}
