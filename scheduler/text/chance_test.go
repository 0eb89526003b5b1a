package text

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestInSoMany(t *testing.T) {
	for p, want := range map[float64]string{
		0.02: "1 in 50", 0.05: "1 in 20", 0.2: "1 in 5", 0.33: "1 in 3", 0.45: "1 in 2", 0.5: "1 in 2", 0.6: "3 in 5", 0.72: "7 in 10", 0.8: "4 in 5", 0.95: "9 in 10", 0.97: "19 in 20", 1: "19 in 20",
	} {
		if got := In("en", Millimetres).InSoMany(p); got != want {
			t.Errorf("%g is %q, want %q", p, got, want)
		}
	}
}

func TestParseChance(t *testing.T) {
	for typed, want := range map[string]float64{
		"1 in 5": 0.2, "1 out of 5": 0.2, "1 von 5": 0.2, "1/5": 0.2, " 2 IN  10 ": 0.2, "20%": 0.2, "20 %": 0.2, "20 Prozent": 0.2, "12,5 %": 0.125,
		"0.2": 0.2, "0,2": 0.2, "0": 0, "1": 1, "100 %": 1,
	} {
		if got, ok := ParseChance(typed); !ok || math.Abs(got-want) > 1e-12 {
			t.Errorf("%q is %g, %t; want %g", typed, got, ok, want)
		}
	}
	// "1 to 5" are odds of 1 in 6 to some and 1 in 5 to others.
	for _, typed := range []string{"", "often", "1 to 5", "1:5", "1 zu 5", "5", "1 in 0", "0 in 0", "6 in 5", "120 %", "-0.1", "NaN", "Inf", "0.2.1", "%", "1 in", "0x1p-2e"} {
		if got, ok := ParseChance(typed); ok {
			t.Errorf("%q is taken for %g", typed, got)
		}
	}
}

func TestShortChanceIsReadAgain(t *testing.T) {
	for p, want := range map[float64]string{0.2: "1 in 5", 0.1: "1 in 10", 1. / 3: "1 in 3", 0.33: "33 %", 0.175: "17.5 %", 0.9: "90 %"} {
		if got := In("en", Millimetres).ShortChance(p); got != want {
			t.Errorf("%g is %q, want %q", p, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		p := float64(rapid.IntRange(1, 999_999).Draw(t, "millionths")) / 1e6
		for _, language := range tags() {
			says := In(language, Millimetres).ShortChance(p)
			if got, ok := ParseChance(says); !ok || math.Abs(got-p) > 1e-8 {
				t.Fatalf("%s: %g is written %q and read as %g, %t", language, p, says, got, ok)
			}
		}
	})
}

func FuzzParseChance(f *testing.F) {
	for _, s := range []string{"1 in 5", "20 %", "0,2", "1/0"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if p, ok := ParseChance(s); ok && !(p >= 0 && p <= 1) {
			t.Fatalf("%q is %g", s, p)
		}
	})
}
