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
	Key  string // of its tick
	Done bool
	By   string // who ticked it, and when
}

// checklist writes a visit's checklist, group by group in the order of the
// hands.
func (p *apiaryRecords) checklist(v *scheduler.Visit, stage scheduler.Stage) []checkGroup {
	var out []checkGroup
	lastHive, lastBox := int64(-1), int64(-1)
	for _, it := range advice.Checklist(p.club, v, stage) {
		if it.HiveID != lastHive || it.BoxID != lastBox {
			lastHive, lastBox = it.HiveID, it.BoxID
			g := checkGroup{Hive: p.say.Hive(p.names.Hive(it.HiveID))}
			if it.BoxID != 0 {
				_, g.Box = p.names.Box(it.BoxID)
			}
			out = append(out, g)
		}
		g := &out[len(out)-1]
		g.Items = append(g.Items, p.checkItem(v, it))
	}
	return out
}

// checkItem writes one item of a visit's checklist.
func (p *apiaryRecords) checkItem(v *scheduler.Visit, it advice.ChecklistItem) checkItem {
	out := checkItem{Step: it.Step, Do: p.say.Tell(it.Do), Why: p.say.Tell(it.Why), Stop: it.Stop, Key: it.Key}
	var last []string
	for _, t := range it.Last {
		last = append(last, p.say.Tell(t))
	}
	out.Last = strings.Join(last, "; ")
	if t := v.Tick(it.Step, it.HiveID, it.BoxID); t != nil {
		out.Done = true
		if by := p.names.Member(t.By); by != "" {
			out.By = p.say.Say("page.visit.ticked-by", by, t.On)
		} else {
			out.By = p.say.Say("page.visit.ticked", t.On)
		}
	}
	return out
}
