package simulation

import (
	"math"
	"slices"
	"testing"

	"pryday/scheduler"
)

// TestGamma: mean and variance of a gamma number are its shape.
func TestGamma(t *testing.T) {
	const n = 20000
	for _, shape := range []float64{0.1, 0.5, 1, 4} {
		sum, squares := 0.0, 0.0
		for i := range n {
			v := dice(1).gamma(shape, ofSealing, i)
			if v < 0 {
				t.Fatalf("gamma(%g) is %g", shape, v)
			}
			sum, squares = sum+v, squares+v*v
		}
		mean := sum / n
		variance := squares/n - mean*mean
		if math.Abs(mean-shape) > 5*math.Sqrt(shape/n) || math.Abs(variance/shape-1) > 0.15 {
			t.Errorf("shape %g: mean %.3f, variance %.3f", shape, mean, variance)
		}
	}
}

// one returns an apiary of one way of gluing, and a keep of it whose colonies
// are all average and whose boxes are all alike.
func one(seed int, leaps float64) *keep {
	a := DefaultImperfect().WithoutTroubles()
	a.GammaShare, a.ColonyCV, a.BoxSD, a.BoxYearSD, a.LowestBox = leaps, [2]float64{0.001, 0.001}, [2]float64{}, 0, 0
	y := NewImperfectClub(seed, Size{Apiaries: 1, Hives: 10, Boxes: 4, Years: 5, History: 1}, a).yards[0]
	return y.newKeep(y.begin(true).book)
}

// TestWaysOfGluing: by leaps, a year's seal varies as a gamma process does; by
// chance, the strength at which a box sticks has a Weibull distribution.
func TestWaysOfGluing(t *testing.T) {
	from := scheduler.NewDate(epoch+1, 3, 1)
	var leaps, squares, n float64
	var chance []float64
	for seed := range 30 {
		k := one(seed, 1)
		g, y := k.gluing, k.yard
		if g.shape != 0 || k.club.gammaShape < 6 || k.club.gammaShape > 14 {
			t.Fatalf("shapes %g and %g", g.shape, k.club.gammaShape)
		}
		mean := k.club.alone * y.weather.sum(from, from+364)
		shape := k.club.gammaShape * y.weather.sum(from, from+364)
		for at := range k.places {
			z := (g.grown(at, at, from, from+364)/mean - 1) * math.Sqrt(shape)
			leaps, squares, n = leaps+z, squares+z*z, n+1
		}
		k = one(seed, 0)
		if k.gluing.shape < 2 || k.gluing.shape > 3.5 || k.club.gammaShape != 0 || k.gluing.leaps != nil {
			t.Fatalf("shapes %g and %g", k.gluing.shape, k.club.gammaShape)
		}
		for at := range k.places {
			grown := k.gluing.grown(at, at, from, from+364) / (k.club.alone * k.weather.sum(from, from+364))
			chance = append(chance, math.Pow(grown, -k.gluing.shape)) // exponential with median 1
		}
	}
	if math.Abs(leaps/n) > 5/math.Sqrt(n) || math.Abs(squares/n-1) > 0.25 {
		t.Errorf("by leaps: mean %.3f and variance %.3f after %g years, want 0 and 1", leaps/n, squares/n, n)
	}
	for _, q := range []float64{0.1, 0.5, 0.9} {
		below := 0
		for _, v := range chance {
			if v < -math.Log(1-q)/math.Ln2 {
				below++
			}
		}
		size := float64(len(chance))
		if math.Abs(float64(below)-q*size) > 5*math.Sqrt(q*(1-q)*size) {
			t.Errorf("by chance: %d of %g below the quantile %g", below, size, q)
		}
	}
}

// TestSealsGrowDayByDay: parts add up, a change of colony in between counts from
// its day, and hives without bees glue nothing.
func TestSealsGrowDayByDay(t *testing.T) {
	a := DefaultImperfect()
	a.Dies, a.GammaShare = 0.5, 1
	for seed := range 3 {
		y := NewImperfectClub(seed, Size{Apiaries: 1, Hives: 6, Boxes: 2, Years: 4, History: 1}, a).yards[0]
		k := y.begin(true)
		for at, p := range y.places {
			for r := 1; r < len(y.lives[p.hive]); r++ {
				begins := y.lives[p.hive][r].from
				from, to := max(begins-40, y.club.began), begins+50
				if to > y.club.until {
					continue
				}
				want := 0.0
				for d := from; d < to; d++ {
					glues := 0.0
					for _, r := range y.lives[p.hive] {
						if r.from <= d {
							glues = r.glues
						}
					}
					week := int(d-y.club.began) / 7
					want += y.club.alone * glues * y.weather.sum(d, d+1) * y.gluing.leaps[at][week] * y.gluing.own[at][y.gluing.year(d)] * p.lift
				}
				if got := y.gluing.grown(at, at, from, to); math.Abs(got-want) > 1e-9*(1+want) {
					t.Errorf("seed %d, place %d: %g, day by day %g", seed, at, got, want)
				}
				if y.lives[p.hive][r].glues == 0 && y.gluing.grown(at, at, begins, begins+20) != 0 {
					t.Error("a hive without bees glues")
				}
			}
			k.seals[at] = seal{since: y.club.from, left: 0.25}
			if got, want := k.strength(at, y.club.from+30), 0.25+y.gluing.grown(at, at, y.club.from, y.club.from+30); got != want {
				t.Errorf("strength %g, want %g", got, want)
			}
		}
	}
}

// TestWhoLivesThere: colonies die in their winter and come back in their
// spring, on both sides of the equator, and differ as the assumption says.
func TestWhoLivesThere(t *testing.T) {
	a := DefaultImperfect()
	p := &ImperfectClub{a: a, size: Size{Years: 30}, colonyCV: 0.5, began: scheduler.NewDate(epoch, 1, 1)}
	sum, squares, n := 0.0, 0.0, 0.0
	for seed := range 200 {
		p.dice = dice(seed)
		for _, latitude := range []float64{45, -45} {
			lives := p.lives(seed, latitude)
			if !slices.IsSortedFunc(lives, func(x, y reign) int { return int(x.from - y.from) }) {
				t.Fatal("reigns are out of order")
			}
			sum, squares, n = sum+lives[0].glues, squares+lives[0].glues*lives[0].glues, n+1
			for i, r := range lives {
				_, into := localDay(latitude, r.from)
				switch {
				case i == 0:
				case r.glues == 0 && (into < 15 || into > 75):
					t.Errorf("at %g a colony died on %s", latitude, r.from)
				case r.glues == 0 && (i+1 >= len(lives) || lives[i+1].glues == 0 || lives[i+1].from-r.from > 160):
					t.Errorf("at %g bees did not come back after %s", latitude, r.from)
				case r.glues > 0 && (into < 105 || into > 195):
					t.Errorf("at %g a queen or a colony came on %s", latitude, r.from)
				}
			}
		}
	}
	mean := sum / n
	if cv := math.Sqrt(squares/n-mean*mean) / mean; math.Abs(mean-1) > 0.15 || math.Abs(cv-0.5) > 0.1 {
		t.Errorf("colonies glue %.2f on average with a coefficient of variation of %.2f", mean, cv)
	}
	lives := []reign{{glues: 1}, {from: 50, glues: 0, noted: true}, {from: 60, glues: 2, noted: true}, {from: 90, glues: 1}, {from: 99, glues: 1, noted: true}}
	if got := requeened(lives, false, 98); !slices.Equal(got, []scheduler.Date{60}) {
		t.Errorf("noted by day 98: %v", got)
	}
	if got := requeened(lives, true, 99); !slices.Equal(got, []scheduler.Date{60, 90, 99}) {
		t.Errorf("all by day 99: %v", got)
	}
}
