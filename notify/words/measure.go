package words

import (
	"math"
	"strconv"
	"strings"

	"pryday/scheduler"
)

// Chance says a probability as people say it: "a 1 in 5 chance".
func (s *Speaker) Chance(p float64) string {
	switch {
	case p < 0.02:
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
	return s.Say("chance.in", int(math.Round(1/p)))
}

// Gap writes a gap of mm millimetres in a member's units: whole and half
// millimetres, or inches in the nearest sixteenth.
func (s *Speaker) Gap(mm float64, units scheduler.Units) string {
	if units == scheduler.Inches {
		return inches(mm)
	}
	n := strconv.FormatFloat(math.Round(mm*2)/2, 'f', -1, 64)
	if s.tag != Languages[0] {
		n = strings.Replace(n, ".", ",", 1)
	}
	return n + " mm"
}

// inches writes mm in the nearest sixteenth of an inch of 25.4 mm: "5/16 in".
func inches(mm float64) string {
	sixteenths := int(math.Round(mm / 25.4 * 16))
	whole, rest := sixteenths/16, sixteenths%16
	if rest == 0 {
		return strconv.Itoa(whole) + " in"
	}
	den := 16
	for rest%2 == 0 {
		rest, den = rest/2, den/2
	}
	fraction := strconv.Itoa(rest) + "/" + strconv.Itoa(den) + " in"
	if whole > 0 {
		return strconv.Itoa(whole) + " " + fraction
	}
	return fraction
}
