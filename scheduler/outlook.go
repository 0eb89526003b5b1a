package scheduler

// Outlook is what the age and the odds of a box are worked out from on any day, until
// something is recorded that changes them. It does not depend on the day that it was
// worked out on.
type Outlook struct {
	Since    Date    // at which Left sealing days were in the seal; zero where nothing seals it, as on a hive without bees
	Left     float64 // on average, where the box may have been opened without a record
	Mean     float64 // of ln k, without unit
	Variance float64 // of ln k on RatedOn, from which it grows
	RatedOn  Date

	ages ages // of a seal of which it is not known whether it was broken
}

// outlook returns what is left of b once no opening is to be added.
func (b *BoxRate) outlook() Outlook {
	o := Outlook{Since: b.Since, Left: b.Left, Mean: b.Mean, Variance: b.Variance, RatedOn: b.RatedOn, ages: b.maybe}
	if b.HiveID == 0 {
		o.Since = 0
	}
	return o
}

// rate undoes outlook, as far as a day's age and odds need it.
func (o *Outlook) rate() BoxRate {
	b := BoxRate{Mean: o.Mean, Variance: o.Variance, RatedOn: o.RatedOn}
	b.Since, b.Left, b.maybe = o.Since, o.Left, o.ages
	if o.Since != 0 {
		b.HiveID = -1 // whichever
	}
	return b
}

// Ages returns what may be left of a seal that may have been broken without a record:
// sealing days and how likely they are (0 to 1), by turns; nil where nothing is in doubt.
func (o *Outlook) Ages() []float64 {
	var out []float64
	for i := range o.ages.n {
		out = append(out, o.ages.left[i], o.ages.weight[i])
	}
	return out
}

// SetAges takes what Ages returned. Of more than a seal can have it takes the first.
func (o *Outlook) SetAges(all []float64) {
	o.ages = ages{n: min(len(all)/2, mostAges)}
	for i := range o.ages.n {
		o.ages.left[i], o.ages.weight[i] = all[2*i], all[2*i+1]
	}
}

// OnDay works out what of s depends on the day, from its outlook, at a place with a
// season and in a club whose odds are corrected by r.
func (s *BoxState) OnDay(season *Season, r Recalibration, on Date) {
	rate := s.Outlook.rate()
	s.SealingDays, s.RateMean, s.RateVariance = rate.Age(season, on), rate.Mean, rate.VarianceOn(on)
	s.Odds, s.Stuck = r.Odds(rate.HardAndStuck(season, on))
	s.Overdue = s.Due != 0 && s.Due < on && s.Reason != BecauseGuess
}
