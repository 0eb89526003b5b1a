package scheduler

import "math"

// Reliability is a record of what was said of openings held against what was
// found, of hard ones or of stuck ones.
type Reliability struct {
	Openings, Came int
	Tenths         [10]Share // by the odds that were said
	Gap            float64   // the mean distance over openings of said and found in their tenth
	Brier          float64   // mean square of the difference of said and found
	Always         float64   // the same if the club's mean had been said of each
}

// Share is how often something came, and how often it was said to.
type Share struct {
	Openings, Came int
	Said           float64 // mean of the odds
	Low, High      float64 // within which the true share lies 95 times in 100
}

// Found returns the share of the openings in which it came; 0 for none.
func (s Share) Found() float64 { return float64(s.Came) / math.Max(1, float64(s.Openings)) }

// Says reports whether what was said lies within what was found.
func (s Share) Says() bool { return s.Low <= s.Said && s.Said <= s.High }

// Reliable holds the odds that were said of openings as hard as at, Hard or
// Stuck, against what was found. The score is Brier's (1950, "Verification of
// forecasts expressed in terms of probability", Monthly Weather Review 78:1-3).
func Reliable(record []Outcome, at Difficulty) Reliability {
	var r Reliability
	for i := range record {
		odds, came := record[i].said(at)
		t := min(int(10*odds), 9)
		r.Tenths[t].add(odds, came)
		r.Brier += square(odds - came)
	}
	for t := range r.Tenths {
		s := &r.Tenths[t]
		r.Openings, r.Came = r.Openings+s.Openings, r.Came+s.Came
		r.Gap += math.Abs(s.Said - float64(s.Came))
		s.settle()
	}
	if r.Openings == 0 {
		return r
	}
	n, mean := float64(r.Openings), float64(r.Came)/float64(r.Openings)
	r.Gap, r.Brier, r.Always = r.Gap/n, r.Brier/n, mean*(1-mean)
	return r
}

func (o *Outcome) said(at Difficulty) (odds, came float64) {
	odds = o.Hard
	if at >= Stuck {
		odds = o.Stuck
	}
	if o.Found >= at {
		came = 1
	}
	return odds, came
}

// add counts one opening; Said is a sum until settle.
func (s *Share) add(odds, came float64) {
	s.Openings++
	s.Came += int(came)
	s.Said += odds
}

func (s *Share) settle() {
	if s.Openings == 0 {
		return
	}
	s.Said /= float64(s.Openings)
	s.Low, s.High = wilson(s.Came, s.Openings)
}

// wilson returns the interval of 95 in 100 for a share of which came of n were
// seen (Wilson 1927, "Probable inference, the law of succession, and statistical
// inference", Journal of the American Statistical Association 22:209-212). Boxes of
// one hive are alike, so what is true lies outside of it a little more often.
func wilson(came, n int) (low, high float64) {
	const z = 1.959964
	m := float64(n)
	p := float64(came) / m
	middle, half := p+z*z/(2*m), z*math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	return math.Max(0, (middle-half)/(1+z*z/m)), math.Min(1, (middle+half)/(1+z*z/m))
}

// Known is a record of boxes of which the same number of openings was known.
type Known struct {
	Openings int // known before; the last group holds those with as many or more
	Share
	Brier, Always float64 // as in Reliability, Always by the mean of the whole record
	Trusted       bool    // its odds fit, and say more than the club's mean
}

// knownGroups is how many groups Knowing makes.
const knownGroups = 6

// fewest is how many openings a group needs before anything is said of it.
const fewest = 30

// Knowing holds the odds of hard openings against what was found, by how many
// openings of the box were known before: 0, 1, 2, 3, 4, and 5 or more.
func Knowing(record []Outcome) [knownGroups]Known {
	var out [knownGroups]Known
	var gain, squares [knownGroups]float64
	mean := 0.0
	for i := range record {
		_, came := record[i].said(Hard)
		mean += came / float64(len(record))
	}
	for i := range record {
		odds, came := record[i].said(Hard)
		g := min(record[i].Openings, knownGroups-1)
		k := &out[g]
		k.add(odds, came)
		said, always := square(odds-came), square(mean-came)
		k.Brier, k.Always = k.Brier+said, k.Always+always
		gain[g], squares[g] = gain[g]+always-said, squares[g]+square(always-said)
	}
	for g := range out {
		k := &out[g]
		k.Openings = g
		k.settleKnown(gain[g], squares[g])
	}
	return out
}

func (k *Known) settleKnown(gain, squares float64) {
	if k.Share.Openings == 0 {
		return
	}
	k.settle()
	n := float64(k.Share.Openings)
	k.Brier, k.Always = k.Brier/n, k.Always/n
	gain /= n
	doubt := math.Sqrt(math.Max(0, squares/n-gain*gain) / n)
	k.Trusted = k.Share.Openings >= fewest && k.Says() && gain > doubt
}

// TrustedFrom returns after how many openings on record the odds of a box can be
// trusted: the first group whose odds fit and say more than the club's mean. It is
// -1 where the record does not show any.
func TrustedFrom(known [knownGroups]Known) int {
	for g := range known {
		if known[g].Trusted {
			return known[g].Openings
		}
	}
	return -1
}

func square(x float64) float64 { return x * x }
