package scheduler

import (
	"strings"
	"testing"
)

// TestEveryWordHasEnglish: no word of a closed list is without its English.
func TestEveryWordHasEnglish(t *testing.T) {
	var keys []string
	for d := NotTried; d <= Stuck; d++ {
		keys = append(keys, d.WordKey(), FramesWords(d).Key)
		if d >= Loose {
			keys = append(keys, JointWords(d).Key)
		}
	}
	for _, c := range Conditions {
		keys = append(keys, c.WordKey())
		part, cure := Remedy(c)
		keys = append(keys, cure.Key)
		if part != "" {
			keys = append(keys, part.WordKey())
		}
	}
	for _, p := range GapPlaces {
		keys = append(keys, p.WordKey())
	}
	for s := BuildUp; s <= Winter; s++ {
		keys = append(keys, s.WordKey())
	}
	for _, v := range []Verdict{Sealed, NearlySealed, InBeeSpace, NearlyComb, Combed, TightByDesign, WideByDesign, MouseWide, NotMeasured} {
		keys = append(keys, v.WordKey())
	}
	for _, p := range []Peg{ThinWontGo, ThinGoes, ThickGoes} {
		keys = append(keys, p.WordKey())
	}
	for _, s := range []Scraped{"", ScrapedAll, ScrapedPart, ScrapedNone} {
		keys = append(keys, s.WordKey())
	}
	for _, k := range keys {
		if English(k) == "" {
			t.Errorf("no English for %q", k)
		}
	}
}

// TestSpeaker: a text is said in the reader's language, units and dates; a
// line that a language has not falls back on English.
func TestSpeaker(t *testing.T) {
	german := Speaker{
		Format: func(key string) string {
			return map[string]string{"do.gaps": "Messen: %s. Bienenabstand %s bis %s.", "gap.above-frames": "über den Rähmchen"}[key]
		},
		Date: func(d Date) string { return d.Format("02.01.2006") },
	}
	gaps := text("do.gaps", []Text{{Key: AboveFrames.WordKey()}, {Key: Entrance.WordKey()}}, Length(7.9375), Length(9.525))
	for _, tc := range []struct {
		name string
		say  Speaker
		text Text
		want string
	}{
		{"in English", Speaker{}, gaps, "Measure with pegs or a ruler: above the frames, entrance. Bee space is 7.9 mm to 9.5 mm."},
		{"in inches", Speaker{Units: Inches}, gaps, "Measure with pegs or a ruler: above the frames, entrance. Bee space is 5/16 in to 3/8 in."},
		{"in another language, one word missing", german, gaps, "Messen: über den Rähmchen, entrance. Bienenabstand 7.9 mm bis 9.5 mm."},
		{"its own dates", german, text("last.shut", NewDate(2027, 6, 1)), "01.06.2027: left shut"},
		{"degrees", Speaker{Units: Inches}, text("do.weather", Celsius(10), Celsius(15)), "Lift lids only above 50 °F; take frames out only above 59 °F, dry and without much wind."},
		{"names are left as they are", Speaker{}, text("last.note", "100 % glue, %d"), "note: 100 % glue, %d"},
		{"nothing", Speaker{}, Text{}, ""},
		{"no line at all shows", Speaker{}, Text{Key: "no.such"}, "no.such"},
	} {
		if got := tc.say.Say(tc.text); got != tc.want {
			t.Errorf("%s: %q, want %q", tc.name, got, tc.want)
		}
	}
	if got := (Speaker{Units: Inches}).Say(text("lift.alone", "R1", Kilograms(20), Kilograms(23))); !strings.Contains(got, "44 lb (20 kg)") {
		t.Errorf("weights in pounds: %q", got)
	}
}
