package notify

import (
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/scheduler/text"
)

// stillUseful keeps of a message what is still worth telling on a member's
// local day, going by the records as they are now. When nothing is, why says
// so. What became of a visit meanwhile is told by another message:
// the decision sees that this one told its old day.
func stillUseful(c *scheduler.Club, p *scheduler.Plan, m *scheduler.Member, items []owed.Item, today scheduler.Date) (kept []owed.Item, why text.Text) {
	if m.Prefs.PausedUntil > today {
		return nil, text.New("passed.paused", m.Prefs.PausedUntil)
	}
	why = text.New("passed.nothing-left")
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
			why = text.New("passed.muted", it.Kind)
			continue
		}
		if it.VisitUID == "" {
			if it.Because == owed.BecauseSilent || it.Because == owed.BecauseNoTime && lacksPeople(visits, it.ApiaryID, today) {
				kept = append(kept, it)
				continue
			}
			it.BoxIDs = slices.DeleteFunc(slices.Clone(it.BoxIDs), func(id int64) bool { return !overdue[id] })
			if len(it.BoxIDs) > 0 {
				kept = append(kept, it)
			} else {
				why = text.New("passed.planned")
			}
			continue
		}
		if it.Because == owed.BecauseUnwritten {
			if it.BoxIDs = unwritten(c, visits[it.VisitUID], today); len(it.BoxIDs) == 0 {
				why = text.New("passed.answered")
				continue
			}
		}
		if w := visitUseless(visits[it.VisitUID], it, today); !w.IsZero() {
			why = w
			continue
		}
		kept = append(kept, it)
	}
	if len(kept) > 0 {
		why = text.Text{}
	}
	return kept, why
}

// unwritten returns the boxes of a done visit that are still asked about.
func unwritten(c *scheduler.Club, v *scheduler.Visit, today scheduler.Date) []int64 {
	if v == nil || c.Apiary(v.ApiaryID) == nil {
		return nil
	}
	return scheduler.UnwrittenOf(c.Apiary(v.ApiaryID), v, &c.Rules, today).Boxes
}

// lacksPeople reports whether nobody has time for some visit to an apiary.
func lacksPeople(visits map[string]*scheduler.Visit, apiary int64, today scheduler.Date) bool {
	for _, v := range visits {
		if v.ApiaryID == apiary && v.LacksPeople(today) {
			return true
		}
	}
	return false
}

// visitUseless says why an item about a visit need not be told any more; the
// zero Text when it is still to be told.
func visitUseless(v *scheduler.Visit, it owed.Item, today scheduler.Date) text.Text {
	switch {
	case v == nil:
		return text.New("passed.no-visit")
	case it.Because == owed.BecauseUnwritten: // looked at by its boxes
		return text.Text{}
	case it.Kind == scheduler.AskMessage:
		if v.Status != scheduler.Unanswered {
			return text.New("passed.answered")
		}
		return text.Text{}
	case it.VisitOn == 0: // cancelled, or done by others: told until the day that was told before
		if it.WasOn < today {
			return text.New("passed.visit-over")
		}
		if v.Status.Open() {
			return text.New("passed.planned-again")
		}
		return text.Text{}
	case v.Status == scheduler.Done:
		return text.New("passed.done")
	case v.Status == scheduler.Cancelled:
		return text.New("passed.cancelled")
	case !v.Status.Open() || it.VisitOn < today:
		return text.New("passed.visit-over")
	case v.On != it.VisitOn:
		return text.New("passed.moved", v.On)
	}
	return text.Text{}
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
