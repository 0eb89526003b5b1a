package owed

import (
	"cmp"
	"fmt"
	"slices"

	"pryday/scheduler"
)

// decision is one run of Owed: its inputs, indexed.
type decision struct {
	club    *scheduler.Club
	visits  []scheduler.Visit // with a UID, each once, by day
	apiary  map[int64]*scheduler.Apiary
	hears   map[int64][]*scheduler.Visit   // by member: those that are the member's business, by day
	near    map[int64][]*scheduler.Visit   // by apiary: open visits, by day
	mine    map[int64][]int64              // by member: apiaries with overdue boxes that the member looks after
	overdue map[int64][]scheduler.BoxState // by apiary: past due and not left alone
	told    map[toldKey]Told
	before  Before

	waiting   map[int64]*scheduler.Visit // by box: the unanswered visit that it is on, the one called off until a day to come, or the done one that it is unwritten of
	unwritten map[int64]scheduler.Unwritten
	silent    map[int64]int               // by apiary: see rounds
	toldAbout map[[2]int64]scheduler.Date // by member and apiary: the day of the last mail about it
}

// toldKey names what a Told is about: a visit, or a kind when VisitUID is empty.
type toldKey struct {
	member int64
	about  string
}

func keyOf(t *Told) toldKey {
	if t.VisitUID != "" {
		return toldKey{t.MemberID, "visit " + t.VisitUID}
	}
	return toldKey{t.MemberID, aboutApiary(t.Kind, t.ApiaryID)}
}

// aboutApiary names what was told about an apiary and no visit of it.
func aboutApiary(kind scheduler.MessageKind, apiary int64) string {
	return fmt.Sprintf("%s/%d", kind, apiary)
}

func newDecision(c *scheduler.Club, p *scheduler.Plan, before Before) *decision {
	d := &decision{
		club: c, before: before,
		apiary:  make(map[int64]*scheduler.Apiary, len(c.Apiaries)),
		hears:   map[int64][]*scheduler.Visit{},
		near:    map[int64][]*scheduler.Visit{},
		mine:    map[int64][]int64{},
		overdue: map[int64][]scheduler.BoxState{},
		told:    make(map[toldKey]Told, len(before.Told)),

		waiting: map[int64]*scheduler.Visit{}, silent: map[int64]int{}, toldAbout: map[[2]int64]scheduler.Date{},
	}
	for i := range c.Apiaries {
		d.apiary[c.Apiaries[i].ID] = &c.Apiaries[i]
	}
	for _, t := range before.Told {
		if old, ok := d.told[keyOf(&t)]; !ok || t.ToldOn >= old.ToldOn {
			d.told[keyOf(&t)] = t
		}
	}
	planned := map[string]bool{"": true}
	if p != nil {
		d.unwritten = p.Unwritten
		d.visits = make([]scheduler.Visit, 0, len(p.Visits)+len(c.Visits))
		for _, v := range p.Visits {
			if v.UID != "" {
				planned[v.UID] = true
				d.visits = append(d.visits, v)
			}
		}
		for _, b := range p.Boxes {
			if b.Overdue && b.LeftAlone.IsZero() {
				d.overdue[b.ApiaryID] = append(d.overdue[b.ApiaryID], b)
			}
		}
	}
	for _, v := range c.Visits {
		if !planned[v.UID] {
			d.visits = append(d.visits, v)
		}
	}
	slices.SortStableFunc(d.visits, func(a, b scheduler.Visit) int { return cmp.Compare(a.On, b.On) })
	var organisers []int64
	for _, m := range c.Members {
		if m.Role == scheduler.Organiser {
			organisers = append(organisers, m.ID)
		}
	}
	// Whose business an apiary is: those who look after it, else the organisers'.
	lookAfter := func(a *scheduler.Apiary) []int64 {
		if a == nil || len(a.Keepers) == 0 {
			return organisers
		}
		return a.Keepers
	}
	for i := range d.visits {
		v := &d.visits[i]
		who := v.Who
		if len(who) == 0 {
			who = lookAfter(d.apiary[v.ApiaryID])
		}
		if v.NoTime && len(v.Who) == 0 { // organisers hear of it; others only what they were told before
			who = slices.DeleteFunc(slices.Clone(who), func(m int64) bool { return d.told[toldKey{m, "visit " + v.UID}].On == 0 })
		}
		for _, id := range d.unwritten[v.ID].Boxes {
			d.waiting[id] = v
		}
		for _, m := range who {
			d.hears[m] = append(d.hears[m], v)
		}
		if v.Status.Open() {
			d.near[v.ApiaryID] = append(d.near[v.ApiaryID], v)
		}
		if v.Status == scheduler.Unanswered || v.Status == scheduler.Cancelled && v.OffUntil > 0 {
			for _, b := range v.Boxes {
				d.waiting[b.BoxID] = v
			}
		}
	}
	apiary := make(map[string]int64, len(d.visits))
	for i := range d.visits {
		apiary[d.visits[i].UID] = d.visits[i].ApiaryID
	}
	for _, t := range before.Told {
		if t.VisitUID != "" {
			t.ApiaryID = apiary[t.VisitUID]
		}
		about := [2]int64{t.MemberID, t.ApiaryID}
		d.toldAbout[about] = max(d.toldAbout[about], t.ToldOn)
	}
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		if len(d.overdue[a.ID]) == 0 {
			continue
		}
		for _, m := range lookAfter(a) {
			d.mine[m] = append(d.mine[m], a.ID)
		}
	}
	return d
}

func (d *decision) seen(key string) bool { return d.before.Seen != nil && d.before.Seen(key) }

// itemsFor returns everything that a member is to be told on a local day.
func (d *decision) itemsFor(m *scheduler.Member, today scheduler.Date) []Item {
	if m.Prefs.PausedUntil > today {
		return nil
	}
	var out []Item
	for _, v := range d.hears[m.ID] {
		if it, ok := d.aboutVisit(m, v, today); ok {
			out = append(out, it)
		}
	}
	out = append(out, d.aboutUnwritten(m, today)...)
	out = append(out, d.aboutOverdue(m, today)...)
	return slices.DeleteFunc(out, func(it Item) bool { return slices.Contains(m.Prefs.Mute, it.Kind) || d.rests(m, &it, today) })
}

// aboutVisit returns what a member is to be told about a visit, if anything.
func (d *decision) aboutVisit(m *scheduler.Member, v *scheduler.Visit, today scheduler.Date) (Item, bool) {
	it := Item{VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, VisitOn: v.On}
	for _, b := range v.Boxes {
		it.BoxIDs = append(it.BoxIDs, b.BoxID)
	}
	last := d.told[toldKey{m.ID, "visit " + v.UID}]
	if v.Status == scheduler.Unanswered {
		it.Kind, it.Because = scheduler.AskMessage, BecauseUnanswered
		told := v.IsTakenBy(m.ID) || last.On == v.On
		return it, slices.Contains(v.Who, m.ID) && told && last.Kind != scheduler.AskMessage
	}
	if !v.Status.Open() {
		it.Kind, it.VisitOn, it.WasOn = scheduler.MovedMessage, 0, last.On
		switch {
		case v.Status == scheduler.Cancelled && last.On >= today:
			it.Because = BecauseCancelled
			return it, true
		case v.Status == scheduler.Done && last.On > today && !d.wasThere(m, v):
			it.Because = BecauseDoneBefore
			return it, true
		}
		return Item{}, false
	}
	if v.On < today {
		return Item{}, false
	}
	if last.On != v.On && last.On >= today && !slices.Contains(m.Prefs.Mute, scheduler.MovedMessage) {
		it.Kind, it.Because, it.WasOn = scheduler.MovedMessage, BecauseMoved, last.On
		return it, true
	}
	if v.On == today {
		it.Kind, it.Because = scheduler.DayMessage, BecauseToday
		return it, last.On != today || v.IsTakenBy(m.ID) && last.ToldOn < today-1 // whoever goes hears of it once more
	}
	k := nearest(d.club.DaysBeforeOf(m), int(v.On-today))
	if k == 0 || last.On == v.On && last.ToldOn >= v.On-scheduler.Date(k) {
		return Item{}, false
	}
	if last.On == v.On && d.rounds(v.ApiaryID, today) > 0 && !v.IsTakenBy(m.ID) {
		return Item{}, false // the last visit's mails were left unanswered: one is enough
	}
	if d.followsUnanswered(m, v, today) {
		return Item{}, false
	}
	it.Kind, it.Because = scheduler.DigestMessage, BecauseDaysBefore
	if v.On-scheduler.Date(k) < today {
		it.Because = BecauseCaughtUp
	}
	return it, true
}

// aboutUnwritten returns the done visits of which a member, who was there, is
// to be asked whether the boxes without a word were opened too: once, from the
// next morning on.
func (d *decision) aboutUnwritten(m *scheduler.Member, today scheduler.Date) (out []Item) {
	if len(d.unwritten) == 0 {
		return nil
	}
	for i := range d.visits {
		v := &d.visits[i]
		u := d.unwritten[v.ID]
		if len(u.Boxes) == 0 || v.On >= today || !slices.Contains(u.There, m.ID) || d.told[toldKey{m.ID, "visit " + v.UID}].Kind == scheduler.AskMessage {
			continue
		}
		out = append(out, Item{
			Kind: scheduler.AskMessage, Because: BecauseUnwritten, VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, VisitOn: v.On, BoxIDs: u.Boxes,
		})
	}
	return out
}

// followsUnanswered reports whether a visit is planned for when nobody will
// have said what became of the last one of its boxes. A member who can still
// say so is asked that and nothing else about them.
func (d *decision) followsUnanswered(m *scheduler.Member, v *scheduler.Visit, today scheduler.Date) bool {
	return !v.IsTakenBy(m.ID) && slices.ContainsFunc(v.Boxes, func(b scheduler.VisitBox) bool {
		last := d.waiting[b.BoxID]
		// Boxes that wait stand on a nearer visit only to be opened for those below.
		return last != nil && last.Status == scheduler.Unanswered && d.waits(m, b.BoxID, today) &&
			v.On > last.On+scheduler.Date(d.club.Rules.AnswerDays)
	})
}

// nearest returns the least of ks that is not below days, or 0 for none.
func nearest(ks []int, days int) int {
	best := 0
	for _, k := range ks {
		if k >= days && (best == 0 || k < best) {
			best = k
		}
	}
	return best
}

// wasThere reports whether a member made or recorded an opening on a visit's day.
// Openings that do not count any more tell too: whoever's record was corrected
// knows that the visit was done.
func (d *decision) wasThere(m *scheduler.Member, v *scheduler.Visit) bool {
	a := d.apiary[v.ApiaryID]
	if a == nil {
		return false
	}
	for _, h := range a.Hives {
		for _, b := range h.Boxes {
			for _, o := range b.Openings {
				if o.On == v.On && (o.By == m.ID || o.OpenedBy().Member == m.ID) {
					return true
				}
			}
		}
	}
	return false
}

// aboutOverdue returns the overdue boxes that a member is to be told of: at
// most every OverdueEveryDays days, all apiaries on the same day. Boxes of a
// visit that the member still has to say a word about, and of one that was put
// off, are left out.
func (d *decision) aboutOverdue(m *scheduler.Member, today scheduler.Date) []Item {
	every := scheduler.Date(d.club.Rules.Reminders.OverdueEveryDays)
	if every == 0 {
		return nil
	}
	for _, a := range d.mine[m.ID] {
		if last := d.told[toldKey{m.ID, aboutApiary(scheduler.OverdueMessage, a)}].ToldOn; last != 0 && today-last < every {
			return nil
		}
	}
	var out []Item
	for _, a := range d.mine[m.ID] {
		var ids []int64
		for _, b := range d.overdue[a] {
			if !d.visitNear(b.BoxID, a, today) && !d.waits(m, b.BoxID, today) {
				ids = append(ids, b.BoxID)
			}
		}
		if len(ids) > 0 {
			out = append(out, Item{Kind: scheduler.OverdueMessage, Because: BecauseOverdue, ApiaryID: a, BoxIDs: ids})
		}
	}
	return out
}

// waits reports whether a box is on a visit that a member has not answered, or
// on one that was called off until a day that is still to come.
func (d *decision) waits(m *scheduler.Member, boxID int64, today scheduler.Date) bool {
	v := d.waiting[boxID]
	switch {
	case v == nil:
		return false
	case v.Status == scheduler.Unanswered:
		return slices.Contains(v.Who, m.ID)
	case v.Status == scheduler.Done:
		return true
	}
	return v.OffUntil > today
}

// visitNear reports whether an open visit within the notice days will open a
// box.
func (d *decision) visitNear(boxID, apiaryID int64, today scheduler.Date) bool {
	for _, v := range d.near[apiaryID] {
		if v.On < today || v.On-today > scheduler.Date(d.club.Rules.NoticeDays) {
			continue
		}
		if v.Lists(boxID) {
			return true
		}
	}
	return false
}
