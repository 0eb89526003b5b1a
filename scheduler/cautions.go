package scheduler

import (
	"cmp"
	"slices"
)

// Caution is one thing that can hurt people or break the law.
type Caution struct {
	Key     string // "caution.stings"
	Say     Text
	Matters bool // for this visit more than for any other
	Rank    int  // higher first; no two cautions share one
}

// Advice is what a visit's mail, page or sheet says of dangers: at most two
// cautions on top, and the full list below, in order of rank.
type Advice struct {
	Top []Caution
	All []Caution
}

// remoteTravelHours is the way to and back from which an apiary counts as far
// from help; common practice, no source.
const remoteTravelHours = 1.5

// Cautions returns the cautions of a visit. Those that matter for it come
// first, the gravest on top; which matter is decided from its stage, its
// boxes, what was found on them last, and how many people go.
func Cautions(c *Club, v *Visit, stage Stage) Advice {
	f := factsOf(c, v, stage)
	add := func(all []Caution, rank int, key string, matters bool, args ...any) []Caution {
		return append(all, Caution{Key: "caution." + key, Say: text("caution."+key, args...), Matters: matters, Rank: rank})
	}
	var all []Caution
	all = add(all, 100, "order", f.standstill)
	all = add(all, 95, "brood", f.suspect)
	all = add(all, 90, "left-shut", f.shut)
	if f.heaviest.BoxID != 0 {
		all = add(all, 85, "lifting", f.heaviest.Index > twoAbove, f.heaviest.Text)
	} else {
		all = add(all, 85, "lifting.general", false)
	}
	all = add(all, 80, "alone", len(v.Who) == 1 && (f.far || f.heaviest.Index > twoAbove || f.shut))
	all = add(all, 75, "fire", f.opens && stage == LateSummer)
	all = add(all, 70, "robbing", f.opens && stage == LateSummer)
	all = add(all, 65, "stings", f.opens)
	all = add(all, 60, "brittle", f.opens && (stage == BuildUp || stage == Autumn))
	all = add(all, 50, "treatment", stage == LateSummer || stage == Autumn)
	all = add(all, 40, "heat", f.opens && stage == LateSummer)
	all = add(all, 30, "tools", false)
	all = add(all, 20, "law", false)
	all = add(all, 10, "who-decides", false)
	slices.SortStableFunc(all, func(a, b Caution) int {
		if a.Matters != b.Matters {
			if a.Matters {
				return -1
			}
			return 1
		}
		return cmp.Compare(b.Rank, a.Rank)
	})
	out := Advice{All: all}
	for _, k := range all {
		if k.Matters && len(out.Top) < 2 {
			out.Top = append(out.Top, k)
		}
	}
	return out
}

// facts are what decides which cautions matter.
type facts struct {
	opens, suspect, shut, far, standstill bool
	heaviest                              BoxLift
}

func factsOf(c *Club, v *Visit, stage Stage) facts {
	var f facts
	a := apiaryOf(c, v)
	if a == nil {
		return f
	}
	travel := c.Rules.Hours.Travel
	if a.TravelHours != nil {
		travel = *a.TravelHours
	}
	f.far = travel >= remoteTravelHours
	for _, p := range a.Standstill {
		f.standstill = f.standstill || p.Contains(v.On)
	}
	for _, s := range visitStacks(c, v) {
		for _, b := range s.open {
			f.opens = true
			if o, ok := lastOpening(b, v.On); ok {
				f.shut = f.shut || o.LeftShut
			}
		}
		f.suspect = f.suspect || suspected(s.hive, v.On) == 1
		for _, l := range StackLifts(c, s.hive, stage, s.lifted()) {
			if l.Index > f.heaviest.Index {
				f.heaviest = l
			}
		}
	}
	return f
}

// cautionEnglish are the cautions, in our own words. They defer to whoever
// has the say: local law, the inspector, a vet, a physician.
var cautionEnglish = map[string]string{
	"caution.order": "This apiary is under an order: nothing is opened or moved until the inspector lifts it.",
	"caution.brood": "Brood looked wrong here last time. Open it last, with clean tools; if it still does, close up, move nothing " +
		"and tell the bee inspector.",
	"caution.left-shut": "A box was left shut last time. Never force it: broken wood and angry bees help nobody. Leave it shut again " +
		"and record that, or come back on a warm day with a second person.",
	"caution.lifting":         "Heavy: %s.",
	"caution.lifting.general": "A full box is heavier than it looks: close to the body, no twisting, two people or frames out first.",
	"caution.alone": "You go alone: tell someone where and until when, carry a phone that works there, and leave what needs two " +
		"for a day with two.",
	"caution.fire": "Dry season: a smoker is an open fire. Check for a fire ban, light it on bare ground, keep water beside it, " +
		"put it out and carry it home cold.",
	"caution.robbing": "Robbing season: open briefly, one hive at a time, cover what stands open, spill no honey.",
	"caution.stings": "Stings: veil and gloves on before the lid. Trouble breathing, swelling away from the sting, dizziness or an " +
		"itching rash: call emergency services at once; use an adrenaline auto-injector if one was prescribed. " +
		"Whoever has reacted badly before asks a physician before going.",
	"caution.brittle":   "Cold propolis is brittle and tools slip: eyes away from the tool, hand never in front of it.",
	"caution.treatment": "Treatments: only what is registered where you are, as its label says, with its gloves and waiting times. Ask your inspector or vet.",
	"caution.heat":      "A suit in summer: drink before you are thirsty, go early in the day, stop when you feel unwell.",
	"caution.tools":     "Hive tools and frame nails cut: keep a first-aid kit in the car and tetanus protection up to date; ask a physician.",
	"caution.law":       "Registration, moving hives, notifiable diseases and treatment records follow local law; it stands above this list.",
	"caution.who-decides": "This list is common practice, not advice on your case: the bee inspector, a vet or a physician decides " +
		"where it matters.",
}
