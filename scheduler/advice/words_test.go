package advice

import (
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// TestEveryWordIsInTheCatalogue: no word of a closed list is without words.
func TestEveryWordIsInTheCatalogue(t *testing.T) {
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
		if !text.Has(k) {
			t.Errorf("no words for %q", k)
		}
	}
}

// TestTextsAreSaid: a text is said in the reader's language, units and dates.
func TestTextsAreSaid(t *testing.T) {
	gaps := text.New("checklist.do.gaps", []text.Text{text.New(scheduler.AboveFrames.WordKey()), text.New(scheduler.Entrance.WordKey())},
		text.Length(7.9375), text.Length(9.525))
	inches, german := text.In("en", text.Inches), text.In("de", "")
	for _, tc := range []struct {
		name string
		say  *text.Speaker
		text text.Text
		want string
	}{
		{"in English", english, gaps, "Measure with pegs or a ruler: above the frames, entrance. Bee space is 7.9 mm to 9.5 mm."},
		{"in inches", inches, gaps, "Measure with pegs or a ruler: above the frames, entrance. Bee space is 5/16 in to 3/8 in."},
		{"in German", german, gaps, "Mit Stiften oder Lineal messen: über den Rähmchen, Flugloch. Der Bienenabstand ist 7,9 mm bis 9,5 mm."},
		{"a day", german, text.New("checklist.last.shut", scheduler.NewDate(2027, 6, 1)), "1. Juni 2027: zugelassen"},
		{"degrees", inches, text.New("checklist.do.weather", text.Celsius(10), text.Celsius(15)), "Lift lids only above 50 °F; take frames out only above 59 °F, dry and without much wind."},
		{"a weight", inches, text.New("lift.alone", "R1", text.Kilograms(20), text.Kilograms(23)), "R1: up to about 44 lb (20 kg); one person can lift it, close to the body (recommended limit 51 lb (23 kg))"},
		{"names are left as they are", english, text.New("checklist.last.note", "100 % glue, %d"), "note: 100 % glue, %d"},
	} {
		if got := tc.say.Tell(tc.text); got != tc.want {
			t.Errorf("%s: %q, want %q", tc.name, got, tc.want)
		}
	}
}
