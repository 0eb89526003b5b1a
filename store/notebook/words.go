package notebook

import (
	"strconv"
	"strings"
	"sync"
	"unicode"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// fold makes words comparable that differ in case, spaces and signs alone.
func fold(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.IsMark(r) {
			return unicode.ToLower(r)
		}
		return ' '
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

// vocabulary is what words mean, in all languages of the catalogue.
type vocabulary struct {
	headings   map[string]Field
	degrees    map[string]degree
	scraped    map[string]scheduler.Scraped
	conditions map[string]scheduler.Condition
	kinds      map[string]string
	pegs       map[string]scheduler.Peg
	places     map[string]scheduler.GapPlace // as they are written, in small letters
	yes, no    map[string]bool
	bottom     map[string]bool // of a stack: from there boxes are counted
	middle     map[string]bool
	top        map[string]bool
	brood      map[string]bool // boxes of the brood, which stand below
	super      map[string]bool // those for honey, which stand above
	storey     map[string]bool // what boxes are counted as
	totals     map[string]bool // what a row is called that counts the others
	months     []monthName
	weekdays   map[string]bool
}

type monthName struct {
	name string
	nth  int
}

// degree is how hard something was.
type degree struct {
	hard scheduler.Difficulty // NotTried where nobody said
	shut bool                 // it was left shut
}

var known = sync.OnceValue(func() *vocabulary {
	v := &vocabulary{
		headings: map[string]Field{}, degrees: map[string]degree{}, scraped: map[string]scheduler.Scraped{},
		conditions: map[string]scheduler.Condition{}, kinds: map[string]string{}, pegs: map[string]scheduler.Peg{}, places: map[string]scheduler.GapPlace{},
		yes: map[string]bool{}, no: map[string]bool{}, totals: map[string]bool{}, weekdays: map[string]bool{},
		bottom: map[string]bool{}, middle: map[string]bool{}, top: map[string]bool{}, brood: map[string]bool{}, super: map[string]bool{}, storey: map[string]bool{},
	}
	for _, l := range text.Languages() {
		v.add(text.In(l.Tag, text.Millimetres))
	}
	return v
})

func (v *vocabulary) add(say *text.Speaker) {
	list := func(key string) []string { return strings.Split(say.Say(key), ",") }
	for _, f := range Fields() {
		names := []string{say.Tell(f.Text())}
		if key := "sheet.also." + string(f); text.Has(key) {
			names = append(names, list(key)...)
		}
		for _, name := range names {
			if _, taken := v.headings[fold(name)]; !taken {
				v.headings[fold(name)] = f
			}
		}
	}
	for d := scheduler.NotTried; d <= scheduler.Stuck; d++ {
		v.degrees[fold(say.Say(d.WordKey()))] = degree{hard: d}
		if d != scheduler.NotTried {
			for _, word := range list("sheet.also-degree." + strconv.Itoa(int(d))) {
				v.degrees[fold(word)] = degree{hard: d}
			}
			v.degrees[fold(say.Say("joint."+strconv.Itoa(int(d))))] = degree{hard: d}
			v.degrees[fold(say.Say("frames."+strconv.Itoa(int(d))))] = degree{hard: d}
		}
	}
	for _, word := range list("sheet.also-shut") {
		v.degrees[fold(word)] = degree{hard: scheduler.Stuck, shut: true}
	}
	for _, s := range []scheduler.Scraped{scheduler.ScrapedAll, scheduler.ScrapedPart, scheduler.ScrapedNone} {
		v.scraped[fold(say.Say("scraped."+string(s)))], v.scraped[string(s)] = s, s
		for _, word := range list("sheet.also-scraped." + string(s)) {
			v.scraped[fold(word)] = s
		}
	}
	for _, c := range Conditions {
		v.conditions[fold(say.Say("condition."+string(c)))], v.conditions[fold(string(c))] = c, c
	}
	for _, k := range scheduler.BuiltinKinds {
		v.kinds[fold(say.Kind(k.Name))], v.kinds[fold(k.Name)] = k.Name, k.Name
	}
	for _, p := range []scheduler.Peg{scheduler.ThinWontGo, scheduler.ThinGoes, scheduler.ThickGoes} {
		v.pegs[fold(say.Say("peg."+string(p)))], v.pegs[fold(string(p))] = p, p
	}
	for _, at := range gapPlaces {
		v.places[strings.ToLower(say.Say("gap."+string(at)))], v.places[string(at)] = at, at
	}
	for key, into := range map[string]map[string]bool{
		"sheet.yes": v.yes, "sheet.no": v.no, "sheet.also-totals": v.totals,
		"sheet.also-bottom": v.bottom, "sheet.also-middle": v.middle, "sheet.also-top": v.top, "sheet.also-brood": v.brood, "sheet.also-super": v.super, "sheet.also-storey": v.storey,
	} {
		for _, word := range list(key) {
			into[fold(word)] = true
		}
	}
	for i, name := range say.Months() {
		v.months = append(v.months, monthName{fold(name), i + 1})
		v.months = append(v.months, monthName{fold(say.ShortMonths()[i]), i + 1})
	}
	for _, name := range say.Weekdays() {
		v.weekdays[fold(name)], v.weekdays[string([]rune(fold(name))[:2])], v.weekdays[string([]rune(fold(name))[:3])] = true, true, true
	}
}

// Conditions are all that can be wrong with a box.
var Conditions = []scheduler.Condition{
	scheduler.Warped, scheduler.Cracked, scheduler.Rot, scheduler.CornerLoose, scheduler.RestWorn,
	scheduler.LugBroken, scheduler.FrameBroken, scheduler.FrameMissing, scheduler.CombDamaged,
	scheduler.WaxMoth, scheduler.HiveBeetle, scheduler.LidDamaged, scheduler.FloorDamaged,
	scheduler.ExcluderBent, scheduler.MixedMakers, scheduler.BroodSuspect,
}

// degreeOf reads how hard something was: "2", "2,0", "firm", "2 (firm)". Words
// that nobody knows have no meaning until it is asked for.
func degreeOf(s string) (d degree, ok bool) {
	if strings.Trim(s, " -–—?./") == "" {
		return degree{hard: scheduler.NotTried}, true
	}
	if d, ok := known().degrees[fold(s)]; ok {
		return d, true
	}
	number, rest := s, ""
	if at := strings.IndexFunc(s, func(r rune) bool { return !unicode.IsDigit(r) && r != '.' && r != ',' }); at >= 0 {
		number, rest = s[:at], fold(s[at:])
	}
	v, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
	if err != nil || v < 0 || v > 4 || v != float64(int(v)) {
		return d, false
	}
	d.hard = scheduler.Difficulty(v)
	if same, ok := known().degrees[rest]; rest != "" && (!ok || same != d) {
		return d, false
	}
	return d, true
}
