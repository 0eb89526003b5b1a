package scheduler

import (
	"math"
	"testing"
)

// TestWords: what grades stand for, by who wrote which ones before. The spans follow
// from the meaning of the words; that people have three of them is common practice, no source.
func TestWords(t *testing.T) {
	ln, inf := math.Log, math.Inf(1)
	grades := func(n int, gs ...Difficulty) *words {
		w := &words{openings: n}
		for _, g := range gs {
			w.used[g] = true
		}
		return w
	}
	for _, tt := range []struct {
		name      string
		words     *words
		hard      Difficulty
		low, high float64
	}{
		{"of nobody", nil, Firm, ln(110), ln(220)},
		{"all five", grades(90, Loose, Light, Firm, Hard, Stuck), Loose, -inf, ln(40)},
		{"too few to tell", grades(7, Loose, Firm), Firm, ln(110), ln(220)},
		{"easy", grades(8, Loose, Firm), Loose, -inf, ln(110)},
		{"so-so, written firm", grades(8, Loose, Firm, Stuck), Firm, ln(110), ln(400)},
		{"so-so, written hard", grades(8, Loose, Hard), Hard, ln(110), ln(400)},
		{"four words: firm", grades(8, Loose, Firm, Hard), Firm, ln(110), ln(220)},
		{"four words: hard", grades(8, Loose, Firm, Hard), Hard, ln(220), ln(400)},
		{"stuck is stuck", grades(8, Loose, Firm), Stuck, ln(400), inf},
		{"light is a word", grades(8, Loose, Light, Firm), Firm, ln(110), ln(220)},
	} {
		t.Run(tt.name, func(t *testing.T) {
			same := func(a, b float64) bool { return a == b || math.Abs(a-b) < 1e-12 }
			if got := tt.words.span(tt.hard); !same(got.low, tt.low) || !same(got.high, tt.high) {
				t.Errorf("%v, want %g to %g", got, tt.low, tt.high)
			}
		})
	}
}

// TestWordsAreEachPersonsOwn: what one member writes of an apiary says nothing of the
// words of another, nor of the same one's elsewhere.
func TestWordsAreEachPersonsOwn(t *testing.T) {
	setUp := NewDate(2024, 4, 1)
	box := func(id, by int64, gs ...Difficulty) Box {
		b := Box{ID: id, SetUpOn: setUp}
		for i, g := range gs {
			b.Openings = append(b.Openings, Opening{On: setUp + Date(60*(i+1)), Joint: g, By: by, Scraped: ScrapedAll})
		}
		return b
	}
	club := func(others int64, light Difficulty) float64 {
		c := twoHives(
			[]Box{box(1, 7, Loose, Firm, Loose, Firm, Loose, Firm, Loose, Firm, Loose, Firm)},
			[]Box{box(2, others, light)})
		rate, _ := Replay(c, NewDate(2026, 6, 1)).Of(1)
		return rate.Mean
	}
	if with, without := club(8, Light), club(8, Loose); with != without {
		t.Errorf("another's word changes the rate from %g to %g", without, with)
	}
	if with, without := club(7, Light), club(7, Loose); with == without {
		t.Errorf("a word more of the same member changes nothing: %g", with)
	}
}
