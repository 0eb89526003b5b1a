package scheduler

// BoxRate is what the records say about one box: how old its seal is and how
// fast it seals.
type BoxRate struct {
	Seal
	HiveID         int64   // the hive it stands on; 0 when on none, or on one without bees of which no new colony is expected
	Mean, Variance float64 // of ln k, on RatedOn
	RatedOn        Date
}

// Age returns the age of the box's seal on d in sealing days, at a place with
// season s, on average where it may have been opened without a record. A box on no
// hive does not seal.
func (b *BoxRate) Age(s *Season, d Date) float64 {
	if b.HiveID == 0 {
		return b.Left
	}
	return b.age(s, d)
}

// VarianceOn returns the variance of ln k on d: without an opening it grows,
// since boxes change.
func (b *BoxRate) VarianceOn(d Date) float64 { return b.Variance + drift(b.RatedOn, d) }

// Odds returns the odds that opening the box on d has difficulty at or above
// at.
func (b *BoxRate) Odds(s *Season, d Date, at Difficulty) float64 {
	return b.odds(b.Age(s, d)-b.Left, b.Mean, b.VarianceOn(d), at)
}

// HardAndStuck returns Odds of both difficulties.
func (b *BoxRate) HardAndStuck(s *Season, d Date) (hard, stuck float64) {
	return b.hardAndStuck(b.Age(s, d)-b.Left, b.Mean, b.VarianceOn(d))
}

// Rates are the rates of boxes in record order: every box of every hive of
// every apiary as they stand in the club, then the spare ones.
type Rates []BoxRate

// Of returns the rate of a box. It looks at one after the other.
func (r Rates) Of(boxID int64) (BoxRate, bool) {
	for i := range r {
		if r[i].BoxID == boxID {
			return r[i], true
		}
	}
	return BoxRate{}, false
}

// marginal is what is known of the u of one box by itself on a day.
type marginal struct {
	mean, variance float64
	on             Date
}

// until returns m after time has passed until d.
func (m marginal) until(d Date) marginal {
	m.variance += drift(m.on, d)
	m.on = max(m.on, d)
	return m
}
