package text

import "math"

// WorthSaying is the probability from which a chance is worth a word.
const WorthSaying = 0.02

// Chance says a probability as people say it: "a 1 in 5 chance".
func (s *Speaker) Chance(p float64) string {
	switch {
	case p < WorthSaying:
		return s.Say("chance.few")
	case p > 0.95:
		return s.Say("chance.sure")
	case p > 0.45:
		tenths := max(int(math.Round(p*10)), 5)
		a, b := tenths, 10
		for _, d := range []int{5, 2} {
			if a%d == 0 && b%d == 0 {
				a, b = a/d, b/d
			}
		}
		return s.Say("chance.of", a, b)
	}
	in := math.Round(1 / p)
	if in > 20 {
		in = math.Round(in/5) * 5 // nobody says "1 in 49"
	}
	return s.Say("chance.in", int(in))
}
