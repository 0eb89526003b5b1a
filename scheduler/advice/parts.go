package advice

import (
	"cmp"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
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
var remedies = map[scheduler.Condition]remedy{
	scheduler.Warped:       {PartBox, "remedy.swap-box", true},
	scheduler.Cracked:      {PartBox, "remedy.swap-box", true},
	scheduler.Rot:          {PartBox, "remedy.swap-box", true},
	scheduler.CornerLoose:  {PartNails, "remedy.nail", true},
	scheduler.RestWorn:     {PartRest, "remedy.rest", true},
	scheduler.LugBroken:    {PartFrame, "remedy.swap-frame", true},
	scheduler.FrameBroken:  {PartFrame, "remedy.swap-frame", true},
	scheduler.FrameMissing: {PartFrame, "remedy.add-frame", false},
	scheduler.CombDamaged:  {PartFoundation, "remedy.comb", false},
	scheduler.WaxMoth:      {PartFoundation, "remedy.wax-moth", false},
	scheduler.HiveBeetle:   {PartTrap, "remedy.hive-beetle", false},
	scheduler.LidDamaged:   {PartLid, "remedy.lid", true},
	scheduler.FloorDamaged: {PartFloor, "remedy.floor", true},
	scheduler.ExcluderBent: {PartExcluder, "remedy.excluder", true},
	scheduler.MixedMakers:  {PartShim, "remedy.one-maker", true},
	scheduler.BroodSuspect: {"", "remedy.brood-suspect", false},
}

// Remedy returns the part that a condition asks for, empty for none, and how
// it is put right.
func Remedy(c scheduler.Condition) (PartID, text.Text) {
	r := remedies[c]
	if r.note == "" {
		return "", text.Text{}
	}
	return r.part, text.New(r.note)
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
	Because       text.Text
}

// PartsToBring sums what the last conditions and gaps of a visit's boxes ask
// for, and what any visit that opens boxes needs: a tub for scrapings, and an
// empty box when a lift is to be made frame by frame. What was found before
// a repair is not asked for again.
func PartsToBring(c *scheduler.Club, v *scheduler.Visit, stage scheduler.Stage) []PartNeed {
	var needs partSum
	opens := 0
	lift := false
	for _, st := range visitStacks(c, v) {
		for _, b := range st.open {
			opens++
			last, ok := b.LastOpening(v.On)
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
		out = append(out, PartNeed{Part: PartEmptyBox, Count: 1, For: []PartFor{{Because: text.New("because.lift")}}})
	}
	if opens > 0 {
		out = append(out, PartNeed{Part: PartTub, Count: 1, For: []PartFor{{Because: text.New("because.scrapings")}}})
	}
	return out
}

// BringText says what to take along on a visit: the usual tools, and the parts
// that its boxes asked for last time.
func BringText(c *scheduler.Club, v *scheduler.Visit, stage scheduler.Stage) text.Text {
	usual := text.New("bring.always")
	var also []text.Text
	for _, need := range PartsToBring(c, v, stage) {
		part := text.New(need.Part.WordKey())
		switch {
		case need.Part == PartTub:
			continue // among the usual tools
		case need.Count > 1:
			part = text.New("bring.count", need.Count, part)
		}
		also = append(also, part)
	}
	if len(also) == 0 {
		return usual
	}
	return text.New("bring.also", usual, also)
}

// partSum gathers needs by part, in the order of first need.
type partSum struct{ needs []PartNeed }

func (s *partSum) add(c *scheduler.Club, h *scheduler.Hive, b *scheduler.Box, o *scheduler.Opening) {
	for _, cond := range o.Condition {
		if part, _ := Remedy(cond); part != "" {
			s.need(part, PartFor{h.ID, b.ID, text.New("because.condition", text.Hive(h.Name), b.Name, cond)})
		}
	}
	kind, _ := c.Kind(b.Kind)
	for _, g := range o.Gaps {
		f := FindGap(g, c.Rules.GapMM, o.Condition, h.BeeSpace, kind)
		if f.Part != "" {
			s.need(f.Part, PartFor{h.ID, b.ID, text.New("because.gap", text.Hive(h.Name), b.Name, g.At, f.Verdict)})
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

// repairedSince reports whether a box was repaired after a day, up to another.
func repairedSince(b *scheduler.Box, since, until scheduler.Date) bool {
	return slices.ContainsFunc(b.Repaired, func(d scheduler.Date) bool { return d >= since && d <= until })
}
