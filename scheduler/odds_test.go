package scheduler

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestOdds(t *testing.T) {
	const prior = hiveVariance + boxVariance
	tests := []struct {
		name                string
		age, mean, variance float64
		at                  Difficulty
		want                float64
	}{
		{"just opened", 0, 3, prior, Hard, 0},
		{"just opened, anything", 0, 3, prior, Loose, 0},
		{"at the threshold even", 220, 0, prior, Hard, 0.5},
		{"at the threshold even, stuck", 400, 0, prior, Stuck, 0.5},
		{"a fast box at half its age", 110, math.Ln2, prior, Hard, 0.5},
		// (ln 110 - ln 220) / sqrt(0.45 + 0.2025) = -0.858098; normal table: 0.1954
		{"half the threshold", 110, 0, prior, Hard, 0.19542},
		// known rate: (ln 300 - ln 220) / 0.45 = 0.689228; normal table: 0.7547
		{"known rate", 300, 0, 0, Hard, 0.75466},
		{"light or more", 80, 0, prior, Light, 0.80456},
		{"anything", 80, 0, prior, Loose, 1},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := Odds(test.age, test.mean, test.variance, test.at); math.Abs(got-test.want) > 2e-5 {
				t.Errorf("odds %.6f, want %.5f", got, test.want)
			}
		})
	}
}

func TestOddsAgreeWithIntegration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		age := math.Exp(rapid.Float64Range(-4, 8).Draw(t, "ln age"))
		mean := rapid.Float64Range(-3, 3).Draw(t, "mean")
		variance := rapid.Float64Range(0.01, 2).Draw(t, "variance")
		at := Difficulty(rapid.IntRange(1, 4).Draw(t, "at"))
		c := []float64{40, 110, 220, 400}[at-1]
		// over ln k: its density times the probability that e carries it over c
		sd := math.Sqrt(variance)
		want := integrate(mean-9*sd, mean+9*sd, 2000, func(x float64) float64 {
			z := (x - mean) / sd
			over := 0.5 * math.Erfc((math.Log(c)-math.Log(age)-x)/(0.45*math.Sqrt2))
			return math.Exp(-z*z/2) / (sd * math.Sqrt(2*math.Pi)) * over
		})
		if got := Odds(age, mean, variance, at); math.Abs(got-want) > 1e-6 {
			t.Fatalf("odds %.9f, by integration %.9f", got, want)
		}
	})
}

// The sanity lines: common practice, no source.
func TestOddsOfABoxWithoutHistory(t *testing.T) {
	rules := DefaultRules()
	const prior = hiveVariance + boxVariance
	for _, lat := range []float64{26, 33, 40, 44.1, 48, 52, 57, 64, -34, -38, -43} {
		s := NewSeason(Place{Latitude: lat}, &rules)
		t.Run(fmt.Sprint(lat), func(t *testing.T) {
			for d := NewDate(2027, 1, 1); d < NewDate(2028, 1, 1); d++ {
				// three months in season, cleaned at each opening
				if s.MayOpen(d) {
					if odds := Odds(s.SealingDays(d-91, d), 0, prior, Hard); odds >= 0.5 {
						t.Errorf("opened on %v and three months later: %.2f hard or worse", d-91, odds)
					}
				}
				if odds := Odds(s.SealingDays(d-731, d), 0, prior, Hard); odds <= 0.5 {
					t.Errorf("left for two years until %v: %.2f hard or worse", d, odds)
				}
			}
		})
	}
}

// What is left of the seal from opening to opening must not add up to a box
// that locks: opened every three months in season for ten years and scraped at
// least in part, it stays firm or easier more often than not. Never scraped it
// does not: at some latitudes it is hard or worse up to 0.56 of the time.
func TestWhatIsLeftDoesNotAddUp(t *testing.T) {
	rules := DefaultRules()
	for _, scraped := range []Scraped{ScrapedAll, ScrapedPart} {
		for _, lat := range []float64{26, 33, 40, 44.1, 48, 52, 57, 64} {
			s := NewSeason(Place{Latitude: lat}, &rules)
			box := Seal{Since: NewDate(2020, 4, 1)}
			var hard, openings float64
			for d := box.Since; d < NewDate(2030, 4, 1); d++ {
				if d < box.Since+91 || !s.MayOpen(d) {
					continue
				}
				age := box.age(s, d)
				hard += Odds(age, 0, hiveVariance+boxVariance, Hard)
				openings++
				box.opened(&Opening{On: d, Scraped: scraped}, age)
			}
			if hard/openings >= 0.5 {
				t.Errorf("scraped %s at %g degrees: hard or worse %.2f of the time", scraped, lat, hard/openings)
			}
		}
	}
}
