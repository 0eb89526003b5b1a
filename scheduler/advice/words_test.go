package advice

import (
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// TestEveryWordHasEnglish: no word of a closed list is without its English.
func TestEveryWordHasEnglish(t *testing.T) {
	var keys []string
	for d := scheduler.NotTried; d <= scheduler.Stuck; d++ {
		keys = append(keys, d.WordKey(), scheduler.FramesWords(d).Key)
		if d >= scheduler.Loose {
			keys = append(keys, scheduler.JointWords(d).Key)
		}
	}
	for _, c := range scheduler.Conditions {
		keys = append(keys, c.WordKey())
		part, cure := Remedy(c)
		keys = append(keys, cure.Key)
		if part != "" {
			keys = append(keys, part.WordKey())
		}
	}
	for _, p := range scheduler.GapPlaces {
		keys = append(keys, p.WordKey())
	}
	for s := scheduler.BuildUp; s <= scheduler.Winter; s++ {
		keys = append(keys, s.WordKey())
	}
	for _, v := range []Verdict{Sealed, NearlySealed, InBeeSpace, NearlyComb, Combed, TightByDesign, WideByDesign, MouseWide, NotMeasured} {
		keys = append(keys, v.WordKey())
	}
	for _, p := range []scheduler.Peg{scheduler.ThinWontGo, scheduler.ThinGoes, scheduler.ThickGoes} {
		keys = append(keys, p.WordKey())
	}
	for _, s := range []scheduler.Scraped{"", scheduler.ScrapedAll, scheduler.ScrapedPart, scheduler.ScrapedNone} {
		keys = append(keys, s.WordKey())
	}
	for _, k := range keys {
		if text.English(k) == "" {
			t.Errorf("no English for %q", k)
		}
	}
}

// TestSpeaker: a text is said in the reader's language, units and dates; a
// line that a language has not falls back on English.
func TestSpeaker(t *testing.T) {
	german := text.Speaker{
		Format: func(key string) string {
			return map[string]string{"do.gaps": "Messen: %s. Bienenabstand %s bis %s.", "gap.above-frames": "über den Rähmchen"}[key]
		},
		Day: func(d text.Day) string { return d.Format("02.01.2006") },
	}
	gaps := text.New("do.gaps", []text.Text{{Key: scheduler.AboveFrames.WordKey()}, {Key: scheduler.Entrance.WordKey()}}, text.Length(7.9375), text.Length(9.525))
	for _, tc := range []struct {
		name string
		say  text.Speaker
		text text.Text
		want string
	}{
		{"in English", text.Speaker{}, gaps, "Measure with pegs or a ruler: above the frames, entrance. Bee space is 7.9 mm to 9.5 mm."},
		{"in inches", text.Speaker{Units: text.Inches}, gaps, "Measure with pegs or a ruler: above the frames, entrance. Bee space is 5/16 in to 3/8 in."},
		{"in another language, one word missing", german, gaps, "Messen: über den Rähmchen, entrance. Bienenabstand 7.9 mm bis 9.5 mm."},
		{"its own dates", german, text.New("last.shut", scheduler.NewDate(2027, 6, 1)), "01.06.2027: left shut"},
		{"degrees", text.Speaker{Units: text.Inches}, text.New("do.weather", text.Celsius(10), text.Celsius(15)), "Lift lids only above 50 °F; take frames out only above 59 °F, dry and without much wind."},
		{"names are left as they are", text.Speaker{}, text.New("last.note", "100 % glue, %d"), "note: 100 % glue, %d"},
		{"nothing", text.Speaker{}, text.Text{}, ""},
		{"no line at all shows", text.Speaker{}, text.Text{Key: "no.such"}, "no.such"},
	} {
		if got := tc.say.Say(tc.text); got != tc.want {
			t.Errorf("%s: %q, want %q", tc.name, got, tc.want)
		}
	}
	if got := (text.Speaker{Units: text.Inches}).Say(text.New("lift.alone", "R1", text.Kilograms(20), text.Kilograms(23))); !strings.Contains(got, "44 lb (20 kg)") {
		t.Errorf("weights in pounds: %q", got)
	}
}
