package advice

import (
	"cmp"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// Repair is one box on the winter repair list: everything found wrong with it
// that no repair has put right since.
type Repair struct {
	ApiaryID, HiveID, BoxID int64 // apiary and hive 0 for a box on no hive
	Found                   []RepairFinding
}

// RepairFinding is one thing to put right.
type RepairFinding struct {
	On   scheduler.Date // the last day on which it was found
	What text.Text      // the condition, or the gap with its verdict
	Why  text.Text      // the likely cause of a gap; zero for a condition
	Cure text.Text      // how to put it right
	Part PartID         // empty when it needs none
}

// RepairList returns the gaps and breakages of the days from one to another,
// both included, by box in record order, and the parts that they add up to.
// A thing found twice stands once; what was found before a repair is left
// out, and so is a gap that a later measurement found right. A hive on the
// southern side of a year end asks for the days it wants.
func RepairList(c *scheduler.Club, from, until scheduler.Date) ([]Repair, []PartNeed) {
	var list []Repair
	var sum partSum
	add := func(apiary int64, h *scheduler.Hive, b *scheduler.Box) {
		if b.RetiredOn != 0 && b.RetiredOn <= until {
			return
		}
		found := findings(c, h, b, from, until)
		if len(found) == 0 {
			return
		}
		list = append(list, Repair{ApiaryID: apiary, HiveID: h.ID, BoxID: b.ID, Found: found})
		for _, f := range found {
			if f.Part != "" {
				sum.need(f.Part, PartFor{h.ID, b.ID, f.What})
			}
		}
	}
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		for j := range a.Hives {
			for k := range a.Hives[j].Boxes {
				add(a.ID, &a.Hives[j], &a.Hives[j].Boxes[k])
			}
		}
	}
	for i := range c.Spare {
		add(0, &scheduler.Hive{}, &c.Spare[i])
	}
	return list, sum.sorted()
}

// findings returns what is wrong with a box, newest word first for each
// thing, in date order.
func findings(c *scheduler.Club, h *scheduler.Hive, b *scheduler.Box, from, until scheduler.Date) []RepairFinding {
	kind, _ := c.Kind(b.Kind)
	wrong := map[string]RepairFinding{}
	for _, o := range scheduler.Effective(b.Openings) {
		if o.On < from || o.On > until || repairedSince(b, o.On, until) {
			continue
		}
		for _, cond := range o.Condition {
			if r := remedies[cond]; r.wood {
				wrong["condition "+string(cond)] = RepairFinding{On: o.On, What: text.New("found.condition", cond), Cure: text.New(r.note), Part: r.part}
			}
		}
		// Force breaks wood: what came apart only stuck is looked over, until
		// a later opening went well.
		for part, d := range map[string]scheduler.Difficulty{"joint": o.Joint, "frames": o.Frames} {
			switch {
			case d == scheduler.Stuck && !o.LeftShut:
				wrong["stuck "+part] = RepairFinding{On: o.On, What: text.New("found.stuck-" + part), Cure: text.New(stuckCures[part])}
			case d >= scheduler.Loose && d <= scheduler.Firm:
				delete(wrong, "stuck "+part)
			}
		}
		for _, g := range o.Gaps {
			key := "gap " + string(g.At)
			f := FindGap(g, c.Rules.GapMM, o.Condition, h.BeeSpace, kind)
			if !f.Verdict.Wrong() || f.Verdict == MouseWide {
				delete(wrong, key)
				continue
			}
			wrong[key] = RepairFinding{On: o.On, What: gapFound(f), Why: f.Cause, Cure: f.Cure, Part: f.Part}
		}
	}
	keys := make([]string, 0, len(wrong))
	for k := range wrong {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(x, y string) int {
		return cmp.Or(cmp.Compare(wrong[x].On, wrong[y].On), cmp.Compare(x, y))
	})
	out := make([]RepairFinding, 0, len(keys))
	for _, k := range keys {
		out = append(out, wrong[k])
	}
	return out
}

var stuckCures = map[string]string{"joint": "cure.check-corners", "frames": "cure.check-frames"}

// gapFound says a gap with its length, or its peg, and the verdict.
func gapFound(f GapFinding) text.Text {
	if f.Gap.MM == 0 && f.Gap.Peg != "" {
		return text.New("found.peg", f.Gap.At, f.Gap.Peg, f.Verdict)
	}
	return text.New("found.gap", f.Gap.At, text.Length(f.Gap.MM), f.Verdict)
}
