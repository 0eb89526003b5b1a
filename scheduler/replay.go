package scheduler

import "math"

// BoxRate is what the records say about one box: how old its seal is and how
// fast it seals.
type BoxRate struct {
	BoxID  int64
	HiveID int64 // the hive it stands on; 0 when on none
	// From is the last opening that broke the seal or the day it was set up:
	// the day from which waits are counted.
	From Date
	// Since is the day at which Left sealing days were left in the seal. It is
	// From or, for a box that has moved since, the day it came to this place.
	Since Date
	Left  float64
	// Mean and Variance of ln k on RatedOn.
	Mean, Variance float64
	RatedOn        Date
	LastOpened     Date       // last opening that broke the seal; zero when never
	LastTried      Date       // last opening, also one left shut; zero when never
	LastHard       Difficulty // at LastTried; NotTried when never
	Openings       int        // that count
}

// Age returns the age of the box's seal on d in sealing days, at a place with
// season s. A box on no hive does not seal.
func (b *BoxRate) Age(s *Season, d Date) float64 {
	if b.HiveID == 0 || s == nil {
		return b.Left
	}
	return b.Left + s.SealingDays(b.Since, d)
}

// VarianceOn returns the variance of ln k on d: with no opening it grows with
// time, since boxes and colonies change.
func (b *BoxRate) VarianceOn(d Date) float64 {
	return b.Variance + driftPerYear*math.Max(0, float64(d-b.RatedOn))/365.25
}

// Odds returns the odds that opening the box on d has difficulty at or above
// at.
func (b *BoxRate) Odds(s *Season, d Date, at Difficulty) float64 {
	return Odds(b.Age(s, d), b.Mean, b.VarianceOn(d), at)
}

// Rates are the rates of a club's boxes in record order: every box of every
// hive of every apiary as they stand in the club, then the spare ones.
type Rates []BoxRate

// Of returns the rate of a box.
func (r Rates) Of(boxID int64) (BoxRate, bool) {
	for i := range r {
		if r[i].BoxID == boxID {
			return r[i], true
		}
	}
	return BoxRate{}, false
}

// Replay works out the rates of a club's boxes from their whole history, up
// to and including until.
func Replay(c *Club, until Date) Rates {
	var out Rates
	for a := range c.Apiaries {
		s := NewSeason(c.Apiaries[a].Place(), &c.Rules)
		for h := range c.Apiaries[a].Hives {
			hive := &c.Apiaries[a].Hives[h]
			for b := range hive.Boxes {
				out = append(out, firstRate(&hive.Boxes[b], hive.ID, s, until))
			}
		}
	}
	for b := range c.Spare {
		out = append(out, firstRate(&c.Spare[b], 0, nil, until))
	}
	return out
}

func firstRate(b *Box, hive int64, s *Season, until Date) BoxRate {
	r := BoxRate{BoxID: b.ID, HiveID: hive, From: b.SetUpOn, Since: b.SetUpOn, LastHard: NotTried,
		Variance: hiveVariance + boxVariance, RatedOn: until}
	for _, o := range Effective(b.Openings) {
		if o.On > until {
			break
		}
		r.Left = r.Age(s, o.On) * o.left()
		r.Since, r.LastTried, r.LastHard = o.On, o.On, o.Difficulty()
		if !o.LeftShut {
			r.From, r.LastOpened = o.On, o.On
		}
		r.Openings++
	}
	return r
}
