package text

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// WorthSaying is the probability from which a chance is worth a word.
const WorthSaying = 0.02

// Chance says a probability as people say it: "a 1 in 5 chance".
func (s *Speaker) Chance(p float64) string {
	switch {
	case p < WorthSaying:
		return s.Say("chance.few")
	case p > 0.95:
		return s.Say("chance.sure")
	}
	times, in := inSoMany(p)
	if times == 1 && in > 2 {
		return s.Say("chance.in", in)
	}
	return s.Say("chance.of", times, in)
}

// InSoMany says a probability without a word for it: "1 in 5".
func (s *Speaker) InSoMany(p float64) string {
	times, in := inSoMany(p)
	return s.Say("explain.in", times, in)
}

// inSoMany rounds a probability to what people say: 1 in so many or, from about a half
// on, so many in 10 or fewer; above that 19 in 20.
func inSoMany(p float64) (times, in int) {
	if p > 0.95 { // nobody says "10 in 10" either
		return 19, 20
	}
	if p > 0.45 {
		times, in = min(max(int(math.Round(p*10)), 5), 9), 10
		for _, d := range []int{5, 2} {
			if times%d == 0 && in%d == 0 {
				times, in = times/d, in/d
			}
		}
		return times, in
	}
	odds := math.Round(1 / p)
	if odds > 20 {
		odds = math.Round(odds/5) * 5 // nobody says "1 in 49"
	}
	return 1, int(odds)
}

// ShortChance writes a probability so that ParseChance reads the same: "1 in 5"
// or, where that is not exact, "33 %".
func (s *Speaker) ShortChance(p float64) string {
	if in := math.Round(1 / p); p > 0 && in < 1000 && math.Abs(1/in-p) < 1e-9 {
		return s.Say("explain.in", 1, int(in))
	}
	percent := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(100*p, 'f', 6, 64), "0"), ".")
	return s.decimals(percent) + " %"
}

// chances are the ways in which people write one, in every language: "1 in 5",
// "1 von 5", "20 %", "0.2" and "0,2".
var chances = struct{ ratio, percent *regexp.Regexp }{
	regexp.MustCompile(`^(\d{1,6}) *(?:in|out of|von|/) *(\d{1,6})$`),
	regexp.MustCompile(`^(\d{1,3}(?:[.,]\d{1,9})?) *(?:%|percent|per cent|prozent)$`),
}

// ParseChance reads a probability, and whether it is one, from 0 to 1.
func ParseChance(typed string) (float64, bool) {
	typed = strings.ToLower(strings.Join(strings.Fields(typed), " "))
	number, over := typed, "1"
	if m := chances.ratio.FindStringSubmatch(typed); m != nil {
		number, over = m[1], m[2]
	} else if m := chances.percent.FindStringSubmatch(typed); m != nil {
		number, over = m[1], "100"
	}
	a, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
	b, _ := strconv.ParseFloat(over, 64)
	p := a / b
	return p, err == nil && p >= 0 && p <= 1
}
