package notify

import (
	"fmt"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/owed"
)

// stillUseful keeps of a message what is still worth telling on a member's
// local day, going by the records as they are now. When nothing is, why says
// so in words. What became of a visit meanwhile is told by another message:
// the decision sees that this one told its old day.
func stillUseful(c *scheduler.Club, p *scheduler.Plan, m *scheduler.Member, items []owed.Item, today scheduler.Date) (kept []owed.Item, why string) {
	if m.Prefs.PausedUntil > today {
		return nil, fmt.Sprintf("the member paused reminders until %s", m.Prefs.PausedUntil)
	}
	why = "there was nothing left to tell"
	visits := visitsByUID(c, p)
	overdue := map[int64]bool{}
	if p != nil {
		for _, b := range p.Boxes {
			if b.Overdue && b.LeftAlone.IsZero() {
				overdue[b.BoxID] = true
			}
		}
	}
	for _, it := range items {
		if slices.Contains(m.Prefs.Mute, it.Kind) {
			why = fmt.Sprintf("the member wants no mail of the kind %q", it.Kind)
			continue
		}
		if it.VisitUID == "" {
			if it.Because == owed.BecauseSilent {
				kept = append(kept, it)
				continue
			}
			it.BoxIDs = slices.DeleteFunc(slices.Clone(it.BoxIDs), func(id int64) bool { return !overdue[id] })
			if len(it.BoxIDs) > 0 {
				kept = append(kept, it)
			} else {
				why = "the boxes were opened or are planned by now"
			}
			continue
		}
		if w := visitUseless(visits[it.VisitUID], it, today); w != "" {
			why = w
			continue
		}
		kept = append(kept, it)
	}
	if len(kept) > 0 {
		why = ""
	}
	return kept, why
}

// visitUseless says why an item about a visit need not be told any more.
func visitUseless(v *scheduler.Visit, it owed.Item, today scheduler.Date) string {
	switch {
	case v == nil:
		return "the visit is not on record any more"
	case it.Kind == scheduler.AskMessage:
		if v.Status != scheduler.Unanswered {
			return "somebody has said what became of the visit"
		}
		return ""
	case it.VisitOn == 0: // cancelled, or done by others: told until the day that was told before
		if it.WasOn < today {
			return "the day of the visit is over"
		}
		if v.Status.Open() {
			return "the visit is planned again"
		}
		return ""
	case v.Status == scheduler.Done:
		return "the visit was done"
	case v.Status == scheduler.Cancelled:
		return "the visit was cancelled"
	case !v.Status.Open() || it.VisitOn < today:
		return "the day of the visit is over"
	case v.On != it.VisitOn:
		return fmt.Sprintf("the visit moved to %s", v.On)
	}
	return ""
}

// visitsByUID finds visits by their identity; the plan's word counts over the
// club's.
func visitsByUID(c *scheduler.Club, p *scheduler.Plan) map[string]*scheduler.Visit {
	visits := make(map[string]*scheduler.Visit, len(c.Visits))
	for i := range c.Visits {
		visits[c.Visits[i].UID] = &c.Visits[i]
	}
	if p != nil {
		for i := range p.Visits {
			visits[p.Visits[i].UID] = &p.Visits[i]
		}
	}
	delete(visits, "")
	return visits
}
