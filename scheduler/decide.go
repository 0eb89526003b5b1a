package scheduler

import (
	"cmp"
	"slices"
)

// decision is one run of Owed: its inputs, indexed.
type decision struct {
	club    *Club
	visits  []Visit // with a UID, each once, by day
	apiary  map[int64]*Apiary
	hears   map[int64][]*Visit   // by member: those that are the member's business, by day
	near    map[int64][]*Visit   // by apiary: open visits, by day
	mine    map[int64][]int64    // by member: apiaries with overdue boxes that the member looks after
	overdue map[int64][]BoxState // by apiary: past due and not left alone
	late    []int64              // apiaries with overdue boxes, in record order
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

func newDecision(c *Club, p *Plan, before Before) *decision {
	d := &decision{
		club: c, before: before,
		apiary:  make(map[int64]*Apiary, len(c.Apiaries)),
		hears:   map[int64][]*Visit{},
		near:    map[int64][]*Visit{},
		mine:    map[int64][]int64{},
		overdue: map[int64][]BoxState{},
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
		d.visits = make([]Visit, 0, len(p.Visits)+len(c.Visits))
		for _, v := range p.Visits {
			if v.UID != "" {
				planned[v.UID] = true
				d.visits = append(d.visits, v)
			}
		}
		for _, b := range p.Boxes {
			if b.Overdue && b.LeftAlone == "" {
				d.overdue[b.ApiaryID] = append(d.overdue[b.ApiaryID], b)
			}
		}
	}
	for _, v := range c.Visits {
		if !planned[v.UID] {
			d.visits = append(d.visits, v)
		}
	}
	slices.SortStableFunc(d.visits, func(a, b Visit) int { return cmp.Compare(a.On, b.On) })
	var organisers []int64
	for _, m := range c.Members {
		if m.Role == Organiser {
			organisers = append(organisers, m.ID)
		}
	}
	// Whose business an apiary is: those who look after it, else the organisers'.
	lookAfter := func(a *Apiary) []int64 {
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

// items returns everything that a member is to be told on a local day.
func (d *decision) items(m *Member, today Date) []OwedItem {
	if m.Prefs.PausedUntil > today {
		return nil
	}
	var out []OwedItem
	for _, v := range d.hears[m.ID] {
		if it, ok := d.aboutVisit(m, v, today); ok {
			out = append(out, it)
		}
	}
	out = append(out, d.aboutOverdue(m, today)...)
	return slices.DeleteFunc(out, func(it OwedItem) bool { return slices.Contains(m.Prefs.Mute, it.Kind) })
}

// aboutVisit returns what a member is to be told about a visit, if anything.
func (d *decision) aboutVisit(m *Member, v *Visit, today Date) (OwedItem, bool) {
	it := OwedItem{VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, VisitOn: v.On}
	for _, b := range v.Boxes {
		it.BoxIDs = append(it.BoxIDs, b.BoxID)
	}
	last := d.told[toldKey{m.ID, "visit " + v.UID}]
	if !v.Status.Open() {
		it.Kind, it.VisitOn, it.WasOn = MovedMessage, 0, last.On
		switch {
		case v.Status == Cancelled && last.On >= today:
			it.Because = BecauseCancelled
			return it, true
		case v.Status == Done && last.On > today && !d.wasThere(m, v):
			it.Because = BecauseDoneBefore
			return it, true
		}
		return OwedItem{}, false
	}
	if v.On < today {
		return OwedItem{}, false
	}
	if last.On != v.On && last.On >= today && !slices.Contains(m.Prefs.Mute, MovedMessage) {
		it.Kind, it.Because, it.WasOn = MovedMessage, BecauseMoved, last.On
		return it, true
	}
	if v.On == today {
		it.Kind, it.Because = DayMessage, BecauseToday
		return it, last.On != today || last.ToldOn < today
	}
	k := nearest(d.daysBefore(m), int(v.On-today))
	if k == 0 || last.On == v.On && last.ToldOn >= v.On-Date(k) {
		return OwedItem{}, false
	}
	it.Kind, it.Because = DigestMessage, BecauseDaysBefore
	if v.On-Date(k) < today {
		it.Because = BecauseCaughtUp
	}
	return it, true
}

func (d *decision) daysBefore(m *Member) []int {
	if m.Prefs.DaysBefore != nil {
		return m.Prefs.DaysBefore
	}
	return d.club.Rules.Reminders.DaysBefore
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
func (d *decision) wasThere(m *Member, v *Visit) bool {
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
func (d *decision) aboutOverdue(m *Member, today Date) []OwedItem {
	r := &d.club.Rules.Reminders
	isDue := func(kind MessageKind, every int) bool {
		last := d.told[toldKey{m.ID, string(kind)}].ToldOn
		return last == 0 || today-last >= Date(every)
	}
	mine := r.OverdueEveryDays > 0 && isDue(OverdueMessage, r.OverdueEveryDays)
	organises := m.Role == Organiser && r.EscalateAfterDays > 0 && !slices.Contains(m.Prefs.Mute, EscalateMessage) &&
		isDue(EscalateMessage, cmp.Or(r.OverdueEveryDays, escalateEvery))
	if !mine && !organises {
		return nil
	}
	var long, short []OwedItem
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
			case organises && !manned && today-b.Due >= Date(r.EscalateAfterDays):
				l = append(l, b.BoxID)
			case mineHere && !planned:
				s = append(s, b.BoxID)
			}
		}
		if len(l) > 0 {
			long = append(long, OwedItem{Kind: EscalateMessage, Because: BecauseEscalated, ApiaryID: a, BoxIDs: l})
		}
		if len(s) > 0 {
			short = append(short, OwedItem{Kind: OverdueMessage, Because: BecauseOverdue, ApiaryID: a, BoxIDs: s})
		}
	}
	return append(long, short...)
}

// visitNear reports whether an open visit within the notice days will open a
// box, and whether somebody has said that they go.
func (d *decision) visitNear(boxID, apiaryID int64, today Date) (planned, manned bool) {
	for _, v := range d.near[apiaryID] {
		if v.On < today || v.On-today > Date(d.club.Rules.NoticeDays) {
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
