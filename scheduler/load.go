package scheduler

import (
	"math"
	"slices"
)

// Promise is a visit as it takes of people's time.
//
// It counts against those who said that they go, the work shared evenly. While
// nobody has, it counts against the first of those who are asked, or against as
// many of the first as it takes so that it is nobody's more than a day: the
// others are asked as well, since any of them may be the one to go, but nothing
// is taken off their days until they say that they do. A visit that nobody is
// asked to make counts against nobody.
type Promise struct {
	ApiaryID            int64
	Latitude, Longitude float64
	Trip                string
	TravelHours         *float64 // nil: what the rules say
	On                  Date
	Who, Taken          []int64 // as in Visit
	Work
	Over bool // it is no visit to come any more, but one of this week
}

// PromiseOf returns what a visit to an apiary takes.
func PromiseOf(a *Apiary, v *Visit, today Date) Promise {
	return Promise{
		ApiaryID: a.ID, Latitude: a.Latitude, Longitude: a.Longitude, Trip: a.Trip, TravelHours: a.TravelHours,
		On: v.On, Who: v.Who, Taken: v.Taken, Work: v.Expected(), Over: !v.Status.Open() || v.On < today,
	}
}

// Load is what the members of a club have promised, by person and day, from the
// Monday of this week to the horizon. Planning reads it, so that nobody is
// asked for more than they can give, and enters what it plans. One Load must
// not be used by two goroutines at once.
type Load struct {
	rules   *Rules
	members []Member
	from    Date // a Monday
	people  map[int64]*person
	entered map[int64][]entry // by apiary: visits to come
	calls   []call            // scratch

	// firm holds the same, and beside it what stands firm at apiaries whose turn is
	// still to come: what people count on, and the tentative visits of those as
	// urgent as the one whose turn it is. Standing holds that too, and the other
	// tentative visits. Both are nil where all is in here.
	firm, standing *Load
	waiting        []waitingPromise // in standing and not in firm
}

// waitingPromise is a tentative visit of an apiary whose turn is still to come.
type waitingPromise struct {
	Promise
	urgency
}

// person is what one member can give and has promised.
type person struct {
	member *Member
	gives  Capacity
	calls  []dayCall
	busy   [loadDays/64 + 1]uint64 // a bit for each day from Load.from on that has some
	weeks  [loadDays/7 + 1]uint16  // visits of each week
}

// dayCall is a call on a day, counted from Load.from.
type dayCall struct {
	day int
	call
}

// entry is one call of one person, to be found again.
type entry struct {
	who *person
	day int
}

// NewLoad returns the load of a club whose members have promised nothing yet,
// for planning its apiaries one after the other.
func NewLoad(c *Club, today Date) *Load {
	l := newLoad(c, today)
	l.firm, l.standing = newLoad(c, today), newLoad(c, today)
	return l
}

func newLoad(c *Club, today Date) *Load {
	return &Load{
		rules: &c.Rules, members: c.Members, from: monday(today),
		people: map[int64]*person{}, entered: map[int64][]entry{},
	}
}

// monday returns the first day of the week of d.
func monday(d Date) Date { return d - Date(d.Weekday()+6)%7 }

// loadDays is how many days a Load spans.
const loadDays = 7 + HorizonDays + marginDays + 1

// person returns what is known of a member, or nil for nobody of the club.
func (l *Load) person(id int64) *person {
	p, ok := l.people[id]
	if !ok {
		if m := memberIn(l.members, id); m != nil {
			p = &person{member: m, gives: l.rules.Gives(m)}
		}
		l.people[id] = p
	}
	return p
}

// Add enters a promise. One of another week or beyond the horizon is left out.
func (l *Load) Add(pr *Promise) {
	if l.firm != nil {
		l.firm.Add(pr)
		l.standing.Add(pr)
	}
	day := int(pr.On - l.from)
	if day < 0 || day >= loadDays {
		return
	}
	at := l.stop(pr)
	crew, share := l.crew(pr.Who, pr.Taken, &at, pr.Hours(l.rules))
	for _, p := range crew {
		p.promise(day, call{at, share})
		if !pr.Over {
			l.entered[pr.ApiaryID] = append(l.entered[pr.ApiaryID], entry{p, day})
		}
	}
}

// stop returns where a promise leads.
func (l *Load) stop(pr *Promise) stop {
	return stop{pr.ApiaryID, pr.Latitude, pr.Longitude, pr.Trip, travelHours(pr.TravelHours, l.rules), l.rules.Hours.Setup}
}

// AddFirm enters a promise of an apiary whose turn is still to come, so far as
// there is room for it: what is planned before gives way to it where it would
// be planned anew, and not where it was planned so already.
func (l *Load) AddFirm(pr *Promise) {
	if l.firm.hasRoom(pr) {
		l.firm.Add(pr)
		l.standing.Add(pr)
	}
}

// AddTentative does the same for a visit that nobody counts on yet, once all
// firm ones are in. What is more urgent gives way to it only where that costs
// next to nothing, the rest as to a firm one.
func (l *Load) AddTentative(pr *Promise, odds float64) {
	if l.standing.hasRoom(pr) {
		l.standing.Add(pr)
		l.waiting = append(l.waiting, waitingPromise{*pr, l.rules.urgencyOf(odds)})
	}
}

// reach makes tentative visits firm for whoever is as urgent.
func (l *Load) reach(u urgency) {
	l.waiting = slices.DeleteFunc(l.waiting, func(w waitingPromise) bool {
		if w.urgency < u {
			return false
		}
		if l.firm.hasRoom(&w.Promise) {
			l.firm.Add(&w.Promise)
		}
		return true
	})
}

// Drop takes out what was promised at an apiary for days to come.
func (l *Load) Drop(apiary int64) {
	if l.firm != nil {
		l.firm.Drop(apiary)
		l.standing.Drop(apiary)
		l.waiting = slices.DeleteFunc(l.waiting, func(w waitingPromise) bool { return w.ApiaryID == apiary })
	}
	for _, e := range l.entered[apiary] {
		e.who.release(e.day, apiary)
	}
	delete(l.entered, apiary)
}

// crew returns those against whom a visit counts, and the hours of work of each.
func (l *Load) crew(who, taken []int64, at *stop, work float64) (crew []*person, share float64) {
	if len(taken) > 0 {
		crew = l.known(taken)
		return crew, work / float64(max(len(crew), 1))
	}
	crew = l.known(who)
	n := dayOf(crew, at, work)
	return crew[:n], work / float64(max(n, 1))
}

func (l *Load) known(members []int64) []*person {
	out := make([]*person, 0, len(members))
	for _, id := range members {
		if p := l.person(id); p != nil {
			out = append(out, p)
		}
	}
	return out
}

// dayOf returns how many of the first of those who are asked it takes so that a
// visit is nobody's more than a whole day; all of them when that is too few.
func dayOf(asked []*person, at *stop, work float64) int {
	for n := 1; n < len(asked); n++ {
		tooLong := func(p *person) bool { return at.least()+work/float64(n) > p.gives.HoursADay+hourSlip }
		if !slices.ContainsFunc(asked[:n], tooLong) {
			return n
		}
	}
	return len(asked)
}

// hourSlip is what hours may differ by that were added up in another order.
const hourSlip = 1e-9

func (p *person) promise(day int, c call) {
	p.calls = append(p.calls, dayCall{day, c})
	p.busy[day/64] |= 1 << (day % 64)
	p.weeks[day/7]++
}

// release takes back what was promised at an apiary on a day.
func (p *person) release(day int, apiary int64) {
	i := slices.IndexFunc(p.calls, func(c dayCall) bool { return c.day == day && c.at.apiary == apiary })
	if i < 0 {
		return
	}
	p.calls = slices.Delete(p.calls, i, i+1)
	p.weeks[day/7]--
	if !slices.ContainsFunc(p.calls, func(c dayCall) bool { return c.day == day }) {
		p.busy[day/64] &^= 1 << (day % 64)
	}
}

// on adds the calls of p on a day to some, as they were promised.
func (p *person) on(day int, some []call) []call {
	if p.busy[day/64]>>(day%64)&1 == 0 {
		return some
	}
	for i := range p.calls {
		if p.calls[i].day == day {
			some = append(some, p.calls[i].call)
		}
	}
	return some
}

// free returns the hours that p could still work at a stop on a day, there and
// ready; minus infinity on a day on which p cannot go at all.
func (p *person) free(l *Load, at *stop, on Date) float64 {
	if !p.gives.Weekdays.Has(on.Weekday()) {
		return math.Inf(-1)
	}
	day := int(on - l.from)
	if len(p.calls) == 0 || day < 0 || day >= loadDays {
		return p.gives.HoursADay - at.least()
	}
	if int(p.weeks[day/7]) >= p.gives.VisitsAWeek {
		return math.Inf(-1)
	}
	if l.calls = p.on(day, l.calls[:0]); len(l.calls) > 0 {
		return p.gives.HoursADay - hoursOf(l.calls, &call{at: *at}, l.rules.Capacity.SameTripKM)
	}
	return p.gives.HoursADay - at.least()
}
