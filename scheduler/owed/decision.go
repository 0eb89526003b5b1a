package owed

import (
	"cmp"
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
	late    []int64                        // apiaries with overdue boxes, in record order
	told    map[toldKey]Told
	before  Before
}

// toldKey names what a Told is about: a visit, or a kind when VisitUID is empty.
type toldKey struct {
	member int64
	about  string
}

func (t *Told) key() toldKey {
	if t.VisitUID != "" {
		return toldKey{t.MemberID, "visit " + t.VisitUID}
	}
	return toldKey{t.MemberID, string(t.Kind)}
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
	}
	for i := range c.Apiaries {
		d.apiary[c.Apiaries[i].ID] = &c.Apiaries[i]
	}
	for _, t := range before.Told {
		if old, ok := d.told[t.key()]; !ok || t.ToldOn >= old.ToldOn {
			d.told[t.key()] = t
		}
	}
	planned := map[string]bool{"": true}
	if p != nil {
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
		for _, m := range who {
			d.hears[m] = append(d.hears[m], v)
		}
		if v.Status.Open() {
			d.near[v.ApiaryID] = append(d.near[v.ApiaryID], v)
		}
	}
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		if len(d.overdue[a.ID]) == 0 {
			continue
		}
		d.late = append(d.late, a.ID)
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
	out = append(out, d.aboutOverdue(m, today)...)
	return slices.DeleteFunc(out, func(it Item) bool { return slices.Contains(m.Prefs.Mute, it.Kind) })
}

// aboutVisit returns what a member is to be told about a visit, if anything.
func (d *decision) aboutVisit(m *scheduler.Member, v *scheduler.Visit, today scheduler.Date) (Item, bool) {
	it := Item{VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, VisitOn: v.On}
	for _, b := range v.Boxes {
		it.BoxIDs = append(it.BoxIDs, b.BoxID)
	}
	last := d.told[toldKey{m.ID, "visit " + v.UID}]
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
		return it, last.On != today || last.ToldOn < today
	}
	k := nearest(d.club.DaysBeforeOf(m), int(v.On-today))
	if k == 0 || last.On == v.On && last.ToldOn >= v.On-scheduler.Date(k) {
		return Item{}, false
	}
	it.Kind, it.Because = scheduler.DigestMessage, BecauseDaysBefore
	if v.On-scheduler.Date(k) < today {
		it.Because = BecauseCaughtUp
	}
	return it, true
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

// wasThere reports whether a member recorded an opening on a visit's day.
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
				if o.On == v.On && o.By == m.ID {
					return true
				}
			}
		}
	}
	return false
}

// aboutOverdue returns the overdue boxes that a member is to be told of: at
// most every OverdueEveryDays days, all apiaries on the same day.
func (d *decision) aboutOverdue(m *scheduler.Member, today scheduler.Date) []Item {
	r := &d.club.Rules.Reminders
	isDue := func(kind scheduler.MessageKind, every int) bool {
		last := d.told[toldKey{m.ID, string(kind)}].ToldOn
		return last == 0 || today-last >= scheduler.Date(every)
	}
	mine := r.OverdueEveryDays > 0 && isDue(scheduler.OverdueMessage, r.OverdueEveryDays)
	organises := m.Role == scheduler.Organiser && r.EscalateAfterDays > 0 && !slices.Contains(m.Prefs.Mute, scheduler.EscalateMessage) &&
		isDue(scheduler.EscalateMessage, cmp.Or(r.OverdueEveryDays, escalateEvery))
	if !mine && !organises {
		return nil
	}
	var long, short []Item
	apiaries := d.mine[m.ID]
	if organises {
		apiaries = d.late
	}
	for _, a := range apiaries {
		mineHere := mine && (!organises || slices.Contains(d.mine[m.ID], a))
		var l, s []int64
		for _, b := range d.overdue[a] {
			planned, manned := d.visitNear(b.BoxID, a, today)
			switch {
			case organises && !manned && today-b.Due >= scheduler.Date(r.EscalateAfterDays):
				l = append(l, b.BoxID)
			case mineHere && !planned:
				s = append(s, b.BoxID)
			}
		}
		if len(l) > 0 {
			long = append(long, Item{Kind: scheduler.EscalateMessage, Because: BecauseEscalated, ApiaryID: a, BoxIDs: l})
		}
		if len(s) > 0 {
			short = append(short, Item{Kind: scheduler.OverdueMessage, Because: BecauseOverdue, ApiaryID: a, BoxIDs: s})
		}
	}
	return append(long, short...)
}

// visitNear reports whether an open visit within the notice days will open a
// box, and whether somebody has said that they go.
func (d *decision) visitNear(boxID, apiaryID int64, today scheduler.Date) (planned, manned bool) {
	for _, v := range d.near[apiaryID] {
		if v.On < today || v.On-today > scheduler.Date(d.club.Rules.NoticeDays) {
			continue
		}
		for _, b := range v.Boxes {
			if b.BoxID == boxID {
				planned = true
				manned = manned || len(v.Who) > 0
			}
		}
	}
	return planned, manned
}
