package advice

import (
	"cmp"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// Caution is one thing that can hurt people or break the law.
type Caution struct {
	Key     string // "caution.stings"
	Say     text.Text
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

// particular are the cautions that state what is so on one visit, without a
// general form for where it is not.
var particular = map[string]bool{
	"caution.order": true, "caution.brood": true, "caution.left-shut": true,
}

// Cautions returns the cautions of a visit, as told to one member, or to
// anybody (0). Those that matter for it come first, the gravest on top; which
// matter is decided from its stage, its boxes, what was found on them last,
// and how many people go.
func Cautions(c *scheduler.Club, v *scheduler.Visit, stage scheduler.Stage, reader int64) Advice {
	f := factsOf(c, v, stage)
	add := func(all []Caution, rank int, key string, matters bool, args ...any) []Caution {
		return append(all, Caution{Key: "caution." + key, Say: text.New("caution."+key, args...), Matters: matters, Rank: rank})
	}
	var all []Caution
	all = add(all, 100, "order", f.standstill)
	all = add(all, 95, "brood", f.suspect)
	all = add(all, 90, "left-shut", f.shut)
	if f.heaviest.Index > twoAbove {
		all = add(all, 85, "lifting", true, f.heaviest.Text)
	} else {
		all = add(all, 85, "lifting-general", false)
	}
	alone, lonely := "alone-any", len(v.Who) == 1 && (f.far || f.heaviest.Index > twoAbove || f.shut)
	if lonely && v.Who[0] == reader {
		alone = "alone"
	}
	all = add(all, 80, alone, lonely)
	all = add(all, 75, "fire", f.opens && stage == scheduler.LateSummer)
	all = add(all, 70, "robbing", f.opens && stage == scheduler.LateSummer)
	all = add(all, 65, "stings", f.opens)
	all = add(all, 60, "brittle", f.opens && (stage == scheduler.BuildUp || stage == scheduler.Autumn))
	all = add(all, 50, "treatment", stage == scheduler.LateSummer || stage == scheduler.Autumn)
	all = add(all, 40, "heat", f.opens && stage == scheduler.LateSummer)
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
	all = slices.DeleteFunc(all, func(k Caution) bool { return !k.Matters && particular[k.Key] })
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

func factsOf(c *scheduler.Club, v *scheduler.Visit, stage scheduler.Stage) facts {
	var f facts
	a := c.Apiary(v.ApiaryID)
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
	var heavy *scheduler.Hive
	hives := 0
	for _, s := range visitStacks(c, v) {
		if len(s.open) > 0 {
			hives++
		}
		for _, b := range s.open {
			f.opens = true
			if o, ok := b.LastOpening(v.On); ok {
				f.shut = f.shut || o.LeftShut
			}
		}
		f.suspect = f.suspect || suspected(s.hive, v.On) == 1
		for _, l := range StackLifts(c, s.hive, stage, s.lifted()) {
			if l.Index > f.heaviest.Index {
				f.heaviest, heavy = l, s.hive
			}
		}
	}
	if heavy != nil {
		f.heaviest.Text = f.heaviest.says(called(a, heavy, f.heaviest.BoxID, hives > 1))
	}
	return f
}

// called is how a box of a hive is called: with its hive where several are opened or
// its mark does not tell.
func called(a *scheduler.Apiary, h *scheduler.Hive, box int64, several bool) any {
	i := slices.IndexFunc(h.Boxes, func(b scheduler.Box) bool { return b.ID == box })
	if name := h.Boxes[i].Name; !several && !MarkElsewhere(a, h, name) {
		return name
	}
	return text.New("lift.box-of", h.Boxes[i].Name, text.Hive(h.Name))
}

// MarkElsewhere reports whether another hive of the apiary has a box of the same mark.
func MarkElsewhere(a *scheduler.Apiary, h *scheduler.Hive, mark string) bool {
	return slices.ContainsFunc(a.Hives, func(other scheduler.Hive) bool {
		return other.ID != h.ID && slices.ContainsFunc(other.Boxes, func(b scheduler.Box) bool { return b.Name == mark })
	})
}
