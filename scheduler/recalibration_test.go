package scheduler

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// bent makes a record in which what the model says is too much: the truth lies on
// a known curve of it.
func bent(n int, truth Curve, seed uint64) []Outcome {
	r := rand.New(rand.NewPCG(seed, 3))
	out := make([]Outcome, n)
	for i := range out {
		hard := expit(1.3*r.NormFloat64() - 1)
		stuck := hard * expit(r.NormFloat64()-1)
		o := Outcome{Forecast: Forecast{Hard: hard, Stuck: stuck, ModelHard: hard, ModelStuck: stuck}}
		if r.Float64() < truth.at(hard) {
			o.Found = Hard
			if r.Float64() < stuck/hard {
				o.Found = Stuck
			}
		}
		out[i] = o
	}
	return out
}

// climb finds the top of a function of two variables by trying ever smaller steps
// each way: slow, plain and independent of what it checks.
func climb(f func(a, b float64) float64) (a, b float64) {
	b = 1
	for step := 0.5; step > 1e-8; {
		better := false
		for _, d := range [][2]float64{{step, 0}, {-step, 0}, {0, step}, {0, -step}, {step, step}, {-step, -step}, {step, -step}, {-step, step}} {
			if f(a+d[0], b+d[1]) > f(a, b) {
				a, b, better = a+d[0], b+d[1], true
			}
		}
		if !better {
			step /= 2
		}
	}
	return a, b
}

// TestTheCurveIsTheBestOne holds the fit to the top of the posterior density,
// written out anew from its definition and found by climbing.
func TestTheCurveIsTheBestOne(t *testing.T) {
	for seed, truth := range []Curve{{0, 1}, {-0.7, 0.8}, {0.5, 1.4}, {-2, 0.6}} {
		record := bent(400, truth, uint64(seed))
		density := func(a, b float64) float64 {
			sum := -a*a/(2*interceptDoubt*interceptDoubt) - (b-1)*(b-1)/(2*slopeDoubt*slopeDoubt)
			for i := range record {
				o := &record[i]
				x := math.Max(0.01, math.Min(o.ModelHard, 0.99))
				p := 1 / (1 + math.Exp(-a-b*math.Log(x/(1-x))))
				if o.Found >= Hard {
					sum += math.Log(p)
				} else {
					sum += math.Log(1 - p)
				}
			}
			return sum
		}
		a, b := climb(density)
		got := Recalibrate(record, 1).Hard
		if math.Abs(got.Intercept-a) > 1e-5 || math.Abs(got.Slope-b) > 1e-5 {
			t.Errorf("truth %v: fitted %v, by climbing %.6f and %.6f", truth, got, a, b)
		}
	}
}

// TestALongRecordFindsTheTruth: with enough of it, what is held back by the doubt
// is next to nothing, and the odds that are said come true.
func TestALongRecordFindsTheTruth(t *testing.T) {
	truth := Curve{-0.6, 0.85}
	record := bent(20000, truth, 9)
	got := Recalibrate(record, 1)
	if math.Abs(got.Hard.Intercept-truth.Intercept) > 0.06 || math.Abs(got.Hard.Slope-truth.Slope) > 0.05 {
		t.Errorf("fitted %v, the truth is %v", got.Hard, truth)
	}
	if math.Abs(got.Stuck.Intercept) > 0.12 || math.Abs(got.Stuck.Slope-1) > 0.08 {
		t.Errorf("what was right was bent to %v", got.Stuck)
	}
	fresh := bent(20000, truth, 10)
	before := Reliable(fresh, Hard)
	for i := range fresh {
		fresh[i].Hard, fresh[i].Stuck = got.Odds(fresh[i].ModelHard, fresh[i].ModelStuck)
	}
	after := Reliable(fresh, Hard)
	if after.Gap > 0.01 || before.Gap < 0.06 || after.Brier >= before.Brier {
		t.Errorf("before %v, after %v", before, after)
	}
}

func TestAShortRecordChangesNothing(t *testing.T) {
	truth := Curve{-3, 1}
	long := bent(4000, truth, 1)
	none := make([]Outcome, 4000) // of one outcome alone
	copy(none, long)
	for i := range none {
		none[i].Found = Firm
	}
	first := bent(RecalibrateFrom, Curve{0, 1}, 2)
	if r := Recalibrate(first, 1); r.Openings != RecalibrateFrom {
		t.Fatalf("100 openings: %v; want one that counts, so that it is the hundredth that is missing below", r)
	}
	few := bent(4000, Curve{0, 1}, 2)
	hard := 0
	for i := range few {
		if few[i].Found >= Hard {
			if hard++; hard > 9 {
				few[i].Found = Firm
			}
		}
	}
	for name, record := range map[string][]Outcome{
		"none": nil, "99 openings": first[:RecalibrateFrom-1], "never hard": none, "nine hard": few,
	} {
		if r := Recalibrate(record, 1); r != (Recalibration{}) || r.Corrects() {
			t.Errorf("%s: %v", name, r)
		}
	}
	var r Recalibration
	if h, s := r.Odds(0.3, 0.1); h != 0.3 || s != 0.1 || r.HardOdds(0.4) != 0.4 {
		t.Errorf("the zero recalibration says %v, %v", h, s)
	}
	// A short one is held back: it goes only part of the way that a long one goes.
	short, far := Recalibrate(bent(150, Curve{-1, 1}, 4), 1).Hard, Recalibrate(bent(8000, Curve{-1, 1}, 4), 1).Hard
	if short.Intercept < 0.9*far.Intercept || short.Intercept > -0.2 {
		t.Errorf("150 openings move the odds by %v, 8000 by %v", short, far)
	}
}

func TestRecalibratedOddsKeepTheirOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		curve := func(name string) Curve {
			return Curve{rapid.Float64Range(-3, 3).Draw(t, name+" intercept"), rapid.Float64Range(LeastSlope, MostSlope).Draw(t, name+" slope")}
		}
		r := Recalibration{Openings: 200, Hard: curve("hard"), Stuck: curve("stuck")}
		hard := rapid.Float64Range(0, 1).Draw(t, "hard")
		stuck := hard * rapid.Float64Range(0, 1).Draw(t, "stuck of the hard")
		h, s := r.Odds(hard, stuck)
		if !(0 <= s && s <= h && h <= 1) {
			t.Fatalf("%v: %g and %g", r, h, s)
		}
		if more, _ := r.Odds(math.Min(hard*1.1, 1), 0); more < h {
			t.Fatalf("%v: likelier is less likely", r)
		}
	})
}

// TestCorrectedOddsMoveNoDay: a correction changes what is said, with the limit that
// stands beside it, and no day.
func TestCorrectedOddsMoveNoDay(t *testing.T) {
	lower := 0
	for seed := range uint64(60) {
		c := newDice(seed).club(6, testToday)
		before := PlanClub(c, testToday)
		c.Recalibration = Recalibration{Openings: 300, Hard: Curve{-0.8, 1}, Stuck: Curve{0, 1}}
		after := PlanClub(c, testToday)
		a := &c.Apiaries[0]
		season, rates := NewSeason(a.Place(), &c.Rules), ReplayApiary(c, a.ID, testToday)
		for i, s := range after.Boxes {
			rate, _ := rates.Of(s.BoxID)
			said := func(on Date) float64 { return c.Recalibration.HardOdds(rate.Odds(season, on, Hard)) }
			if s.OddsDay > testToday && (said(s.OddsDay) < c.SaidLimit()-1e-12 || said(s.OddsDay-1) >= c.SaidLimit()) {
				t.Fatalf("seed %d, box %d: on %s %.4f is said, and %.4f the day before", seed, s.BoxID, s.OddsDay, said(s.OddsDay), said(s.OddsDay-1))
			}
			was := before.Boxes[i]
			if math.Abs(s.Odds-said(testToday)) > 1e-12 || s.Odds > was.Odds || s.Due != was.Due || s.OddsDay != was.OddsDay {
				t.Fatalf("seed %d, box %d: odds %g, due %s, before %g and %s", seed, s.BoxID, s.Odds, s.Due, was.Odds, was.Due)
			}
			if s.Odds < was.Odds {
				lower++
			}
		}
		if len(after.Visits) != len(before.Visits) {
			t.Fatalf("seed %d: %d visits, before %d", seed, len(after.Visits), len(before.Visits))
		}
		for i, v := range after.Visits {
			if v.On != before.Visits[i].On {
				t.Fatalf("seed %d: a visit on %s, before on %s", seed, v.On, before.Visits[i].On)
			}
			for _, b := range v.Boxes {
				if b.Stuck > b.Odds {
					t.Fatalf("seed %d: box %d is stuck at %g and hard at %g", seed, b.BoxID, b.Stuck, b.Odds)
				}
			}
		}
	}
	if lower < 30 {
		t.Errorf("only of %d boxes is less said", lower)
	}
	if c := (&Club{Rules: DefaultRules(), Recalibration: Recalibration{Openings: 300, Hard: Curve{0.7, 1}, Stuck: identity}}); math.Abs(c.SaidLimit()-0.3349) > 1e-4 {
		t.Errorf("at 1 in 5 of the model %g is said", c.SaidLimit()) // logit 0.2 = -1.3863, and 1/(1+exp(0.6863)) = 0.3349
	}
}
