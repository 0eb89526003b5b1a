package text

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

func TestParseLength(t *testing.T) {
	for _, tc := range []struct {
		in   string
		unit Units
		want float64 // millimetres
	}{
		{"5/16", Inches, 7.9375}, // exact, since an inch is 25.4 mm
		{"3/8 in", Millimetres, 9.525},
		{"5/16", Millimetres, 7.9375}, // nobody measures fractions of a millimetre
		{"1 3/8", Inches, 34.925},
		{"1-3/8", Inches, 34.925},
		{`1 3/8"`, Millimetres, 34.925},
		{"1⅜", Inches, 34.925},
		{"⅜ inch", Millimetres, 9.525},
		{"5⁄16", Inches, 7.9375}, // with the fraction slash
		{"0.3125 inches", Millimetres, 7.9375},
		{".5", Inches, 12.7},
		{"8.5", Millimetres, 8.5},
		{"8,5", Millimetres, 8.5},
		{"8.5 MM", Inches, 8.5},
		{"8 1/2 mm", Inches, 8.5},
		{"  0 ", Inches, 0},
		{"100", Millimetres, 100},
		{"8.5", "", 8.5},
	} {
		got, err := ParseLength(tc.in, tc.unit)
		if err != nil || math.Abs(got-tc.want) > 1e-12 {
			t.Errorf("ParseLength(%q, %q) = %v, %v; want %v", tc.in, tc.unit, got, err, tc.want)
		}
	}
}

func TestParseLengthRefuses(t *testing.T) {
	for _, tc := range []struct{ in, say string }{
		{"", "no number"},
		{"mm", "no number"},
		{"-3", "one number"},
		{"1/0", "lower one not 0"},
		{"1 5/3", "fraction below 1"},
		{"1 2", "second"},
		{"1 2 3/8", "one number"},
		{"a/b", "two whole numbers"},
		{"3/-8", "write it as"},
		{"NaN", "plain digits"},
		{"Inf", "plain digits"},
		{"1e1", "plain digits"},
		{"1.2.3", "plain digits"},
		{"101 mm", "0 to 100 mm"},
		{"8", "add mm"}, // read as inches
	} {
		_, err := ParseLength(tc.in, Inches)
		if err == nil || !strings.Contains(err.Error(), tc.say) {
			t.Errorf("ParseLength(%q) gives %v, which does not say %q", tc.in, err, tc.say)
		}
	}
}

func TestFormatLength(t *testing.T) {
	for _, tc := range []struct {
		mm   float64
		unit Units
		want string
	}{
		{7.9375, Inches, "5/16 in"},
		{9.525, Inches, "3/8 in"},
		{34.925, Inches, "1 3/8 in"},
		{25.4, Inches, "1 in"},
		{25.3, Inches, "1 in"}, // nearest 1/32
		{0, Inches, "0 in"},
		{0.8, Inches, "1/32 in"},
		{7.9375, Millimetres, "7.9 mm"},
		{8, Millimetres, "8 mm"},
		{8.46, "", "8.5 mm"},
	} {
		if got := FormatLength(tc.mm, tc.unit); got != tc.want {
			t.Errorf("FormatLength(%v, %q) = %q, want %q", tc.mm, tc.unit, got, tc.want)
		}
	}
}

// TestLengthsRoundTrip: what is written is read back, up to half of what the
// ruler shows.
func TestLengthsRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mm := rapid.Float64Range(0, 99).Draw(t, "mm")
		for unit, half := range map[Units]float64{Millimetres: 0.05, Inches: MMPerInch / 64} {
			got, err := ParseLength(FormatLength(mm, unit), unit)
			if err != nil || math.Abs(got-mm) > half+1e-9 {
				t.Fatalf("%v mm is written %q and read as %v, %v", mm, FormatLength(mm, unit), got, err)
			}
		}
	})
}

func FuzzParseLength(f *testing.F) {
	for _, s := range []string{"5/16", "1 3/8 in", "8,5 mm", "⅜", "", "1/0", `9"`, "1-3/8", "\x00", "99999999999999999999"} {
		f.Add(s, true)
	}
	f.Fuzz(func(t *testing.T, s string, inches bool) {
		unit := Millimetres
		if inches {
			unit = Inches
		}
		mm, err := ParseLength(s, unit)
		if err == nil && !(mm >= 0 && mm <= MaxGapMM) {
			t.Errorf("ParseLength(%q) = %v, outside 0 to %d", s, mm, MaxGapMM)
		}
		if err != nil && mm != 0 {
			t.Errorf("ParseLength(%q) gives %v beside an error", s, mm)
		}
	})
}
