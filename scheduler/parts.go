package scheduler

import (
	"cmp"
	"slices"
)

// PartID names a part, or a tool, to bring to an apiary.
type PartID string

// The parts.
const (
	PartBox        PartID = "box"
	PartFrame      PartID = "frame"
	PartRest       PartID = "frame-rest"
	PartFollower   PartID = "follower-board"
	PartShim       PartID = "shim"
	PartRim        PartID = "rim"
	PartFloor      PartID = "floor"
	PartFloorRim   PartID = "floor-rim"
	PartLid        PartID = "lid"
	PartExcluder   PartID = "excluder"
	PartMouseGuard PartID = "mouse-guard"
	PartNails      PartID = "nails-and-glue"
	PartFoundation PartID = "comb-frame"
	PartTrap       PartID = "beetle-trap"
	PartEmptyBox   PartID = "empty-box"
	PartTub        PartID = "tub"
)

// WordKey returns the key of the word for a part: "part.frame".
func (p PartID) WordKey() string { return "part." + string(p) }

// remedy is what one condition asks for.
type remedy struct {
	part PartID // empty when nothing is to be brought
	note string // how it is put right, a key
	wood bool   // it belongs on the winter repair list
}

// remedies of the conditions; common practice, no source.
var remedies = map[Condition]remedy{
	Warped:       {PartBox, "remedy.swap-box", true},
	Cracked:      {PartBox, "remedy.swap-box", true},
	Rot:          {PartBox, "remedy.swap-box", true},
	CornerLoose:  {PartNails, "remedy.nail", true},
	RestWorn:     {PartRest, "remedy.rest", true},
	LugBroken:    {PartFrame, "remedy.swap-frame", true},
	FrameBroken:  {PartFrame, "remedy.swap-frame", true},
	FrameMissing: {PartFrame, "remedy.add-frame", false},
	CombDamaged:  {PartFoundation, "remedy.comb", false},
	WaxMoth:      {PartFoundation, "remedy.wax-moth", false},
	HiveBeetle:   {PartTrap, "remedy.hive-beetle", false},
	LidDamaged:   {PartLid, "remedy.lid", true},
	FloorDamaged: {PartFloor, "remedy.floor", true},
	ExcluderBent: {PartExcluder, "remedy.excluder", true},
	MixedMakers:  {PartShim, "remedy.one-maker", true},
	BroodSuspect: {"", "remedy.brood-suspect", false},
}

// Remedy returns the part that a condition asks for, empty for none, and how
// it is put right.
func Remedy(c Condition) (PartID, Text) {
	r := remedies[c]
	if r.note == "" {
		return "", Text{}
	}
	return r.part, text(r.note)
}

// PartNeed is one part and the boxes that ask for it.
type PartNeed struct {
	Part  PartID
	Count int
	For   []PartFor // in the order of the boxes
}

// PartFor says which box asks for a part, and why.
type PartFor struct {
	HiveID, BoxID int64
	Because       Text
}

// PartsToBring sums what the last conditions and gaps of a visit's boxes ask
// for, and what any visit that opens boxes needs: a tub for scrapings, and an
// empty box when a lift is to be made frame by frame. What was found before
// a repair is not asked for again.
func PartsToBring(c *Club, v *Visit, stage Stage) []PartNeed {
	var needs partSum
	opens := 0
	lift := false
	for _, st := range visitStacks(c, v) {
		for _, b := range st.open {
			opens++
			last, ok := lastOpening(b, v.On)
			if !ok || repairedSince(b, last.On, v.On) {
				continue
			}
			needs.add(c, st.hive, b, &last)
		}
		for _, l := range StackLifts(c, st.hive, stage, st.lifted()) {
			lift = lift || l.Method == FramesOut || l.Method == TwoPeople
		}
	}
	out := needs.sorted()
	if lift {
		out = append(out, PartNeed{Part: PartEmptyBox, Count: 1, For: []PartFor{{Because: text("because.lift")}}})
	}
	if opens > 0 {
		out = append(out, PartNeed{Part: PartTub, Count: 1, For: []PartFor{{Because: text("because.scrapings")}}})
	}
	return out
}

// partSum gathers needs by part, in the order of first need.
type partSum struct{ needs []PartNeed }

func (s *partSum) add(c *Club, h *Hive, b *Box, o *Opening) {
	for _, cond := range o.Condition {
		if part, _ := Remedy(cond); part != "" {
			s.need(part, PartFor{h.ID, b.ID, text("because.condition", h.Name, b.Name, cond)})
		}
	}
	kind, _ := c.Kind(b.Kind)
	for _, g := range o.Gaps {
		f := FindGap(g, c.Rules.GapMM, o.Condition, h.BeeSpace, kind)
		if f.Part != "" {
			s.need(f.Part, PartFor{h.ID, b.ID, text("because.gap", h.Name, b.Name, g.At, f.Verdict)})
		}
	}
}

// need counts a part once for each box: a warped box with a wide gap needs
// one new box, not two. Frames are counted each.
func (s *partSum) need(p PartID, f PartFor) {
	i := slices.IndexFunc(s.needs, func(n PartNeed) bool { return n.Part == p })
	if i < 0 {
		s.needs = append(s.needs, PartNeed{Part: p})
		i = len(s.needs) - 1
	}
	n := &s.needs[i]
	if !slices.ContainsFunc(n.For, func(o PartFor) bool { return o.BoxID == f.BoxID }) {
		n.Count++
	}
	n.For = append(n.For, f)
}

func (s *partSum) sorted() []PartNeed {
	slices.SortStableFunc(s.needs, func(a, b PartNeed) int { return cmp.Compare(a.Part, b.Part) })
	return s.needs
}

// lastOpening returns the last opening of a box before a day that counts.
func lastOpening(b *Box, before Date) (Opening, bool) {
	order := effective(b.Openings, make([]int32, 0, 16))
	for i := len(order) - 1; i >= 0; i-- {
		if o := &b.Openings[order[i]]; o.On < before {
			return *o, true
		}
	}
	return Opening{}, false
}

// repairedSince reports whether a box was repaired after a day, up to another.
func repairedSince(b *Box, since, until Date) bool {
	return slices.ContainsFunc(b.Repaired, func(d Date) bool { return d >= since && d <= until })
}

// partEnglish are the parts, why they are needed and how things are put right.
var partEnglish = map[string]string{
	"part.box":            "box body",
	"part.frame":          "frame",
	"part.frame-rest":     "frame rest",
	"part.follower-board": "follower board",
	"part.shim":           "shim",
	"part.rim":            "rim, one bee space deep",
	"part.floor":          "floor",
	"part.floor-rim":      "rim under the lowest box",
	"part.lid":            "lid or inner cover",
	"part.excluder":       "queen excluder",
	"part.mouse-guard":    "mouse guard",
	"part.nails-and-glue": "nails and glue",
	"part.comb-frame":     "frame of comb or foundation",
	"part.beetle-trap":    "beetle trap",
	"part.empty-box":      "empty box to take frames",
	"part.tub":            "tub with a lid, for scrapings",

	"because.condition": "%s, %s: %s",
	"because.gap":       "%s, %s: %s %s",
	"because.lift":      "a box is too heavy to lift whole",
	"because.scrapings": "propolis and comb go home in it, not on the ground",

	"remedy.swap-box":      "swap it for a sound box and repair it in winter",
	"remedy.nail":          "nail and glue the corner",
	"remedy.rest":          "renew the frame rest",
	"remedy.swap-frame":    "swap the frame and shake the bees off first",
	"remedy.add-frame":     "put the missing frame in before comb fills the space",
	"remedy.comb":          "swap the comb when it is empty of brood",
	"remedy.wax-moth":      "take out spoilt combs; a strong colony on few combs keeps moth down",
	"remedy.hive-beetle":   "trap them and keep the colony strong; it must be reported in some places",
	"remedy.lid":           "swap the lid or inner cover",
	"remedy.floor":         "swap the floor",
	"remedy.excluder":      "straighten or swap the excluder",
	"remedy.one-maker":     "keep parts of one maker together",
	"remedy.brood-suspect": "close up, move nothing between hives, tell the bee inspector",
}
