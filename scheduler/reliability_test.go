package scheduler

import (
	"math"
	"testing"
)

func outcome(hard, stuck float64, known int, found Difficulty) Outcome {
	return Outcome{Forecast: Forecast{Hard: hard, Stuck: stuck, Openings: known}, Found: found}
}

// TestReliability works a record of five openings out by hand.
func TestReliability(t *testing.T) {
	record := []Outcome{
		outcome(0.05, 0.01, 0, Loose), outcome(0.08, 0.02, 1, Hard), outcome(0.55, 0.2, 2, Stuck),
		outcome(0.51, 0.1, 2, Light), outcome(1, 0.9, 9, Stuck),
	}
	hard, stuck := Reliable(record, Hard), Reliable(record, Stuck)
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: %.6f, want %.6f", what, got, want)
		}
	}
	// (.05^2 + .92^2 + .45^2 + .51^2 + 0) / 5; mean 3/5
	near("score", hard.Brier, (0.0025+0.8464+0.2025+0.2601)/5)
	near("always", hard.Always, 0.6*0.4)
	near("stuck score", stuck.Brier, (0.0001+0.0004+0.64+0.01+0.01)/5)
	// tenths: .13 said and 1 found of two, 1.06 and 1 of two, 1 and 1 of one
	near("gap", hard.Gap, (0.87+0.06)/5)
	if hard.Openings != 5 || hard.Came != 3 || stuck.Came != 2 || hard.Tenths[9].Openings != 1 || hard.Tenths[5].Openings != 2 {
		t.Errorf("counts: %+v", hard)
	}
	near("said", hard.Tenths[0].Said, 0.065)
	near("found", hard.Tenths[0].Found(), 0.5)
	if none := Reliable(nil, Hard); none != (Reliability{}) {
		t.Errorf("of nothing: %+v", none)
	}
}

// The intervals of Newcombe 1998, "Two-sided confidence intervals for the single
// proportion", Statistics in Medicine 17:857-872, table I, method 3 (from memory).
func TestWilson(t *testing.T) {
	for _, test := range []struct {
		came, n   int
		low, high float64
	}{{81, 263, 0.2553, 0.3662}, {15, 148, 0.0624, 0.1605}, {0, 20, 0, 0.1611}, {1, 29, 0.0061, 0.1718}} {
		low, high := wilson(test.came, test.n)
		if math.Abs(low-test.low) > 5e-5 || math.Abs(high-test.high) > 5e-5 {
			t.Errorf("%d of %d: %.4f to %.4f, want %.4f to %.4f", test.came, test.n, low, high, test.low, test.high)
		}
	}
}

// TestTrustedFrom: odds that say no more than the mean are not trusted, nor such
// as do not fit, nor few.
func TestTrustedFrom(t *testing.T) {
	say := func(known, n int, high, low float64, hits int) (out []Outcome) {
		for i := range n {
			found, odds := Loose, low
			if i%10 < hits {
				found, odds = Hard, high
			}
			out = append(out, outcome(odds, 0, known, found))
		}
		return out
	}
	mean := say(0, 100, 0.2, 0.2, 2)   // what is always said
	good := say(3, 100, 0.7, 0.075, 2) // knows which two of ten, and says .2 on average
	off := say(2, 100, 1, 0.2, 2)      // knows them too, but says too much: .36 on average
	few := say(1, 20, 0.7, 0.075, 2)
	tests := []struct {
		name   string
		record [][]Outcome
		want   int
	}{
		{"nothing", nil, -1},
		{"only the mean", [][]Outcome{mean}, -1},
		{"from three", [][]Outcome{mean, few, off, good}, 3},
		{"few", [][]Outcome{mean, few}, -1},
		{"off", [][]Outcome{mean, off}, -1},
		{"five and more", [][]Outcome{mean, say(5, 20, 0.7, 0.075, 2), say(12, 20, 0.7, 0.075, 2)}, 5},
	}
	for _, test := range tests {
		var record []Outcome
		for _, part := range test.record {
			record = append(record, part...)
		}
		if got := TrustedFrom(Knowing(record)); got != test.want {
			t.Errorf("%s: %d, want %d: %+v", test.name, got, test.want, Knowing(record))
		}
	}
}
