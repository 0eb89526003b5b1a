package web

import (
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/advice"
)

// checkGroup is the part of a checklist about the apiary, or about one hive or
// one box.
type checkGroup struct {
	Hive, Box string
	Items     []checkItem
}

// checkItem is one thing to do, with why and what was found last time.
type checkItem struct {
	Step scheduler.Step
	Do   string
	Why  string
	Last string
	Stop bool
	Ask  scheduler.Step // which boxes to tick the print sheet offers
}

// checklist writes a visit's checklist, group by group in the order of the
// hands.
func (p *apiaryRecords) checklist(v *scheduler.Visit, stage scheduler.Stage) []checkGroup {
	var out []checkGroup
	lastHive, lastBox := int64(-1), int64(-1)
	for _, it := range advice.Checklist(p.club, v, stage) {
		if it.HiveID != lastHive || it.BoxID != lastBox {
			lastHive, lastBox = it.HiveID, it.BoxID
			g := checkGroup{Hive: p.names.Hive(it.HiveID)}
			if it.BoxID != 0 {
				_, g.Box = p.names.Box(it.BoxID)
			}
			out = append(out, g)
		}
		item := checkItem{Step: it.Step, Do: p.say.Tell(it.Do), Why: p.say.Tell(it.Why), Stop: it.Stop, Ask: it.Step}
		var last []string
		for _, t := range it.Last {
			last = append(last, p.say.Tell(t))
		}
		item.Last = strings.Join(last, "; ")
		g := &out[len(out)-1]
		g.Items = append(g.Items, item)
	}
	return out
}
