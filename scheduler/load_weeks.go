package scheduler

import "slices"

// Week is what one member has promised in a week, beside what the member can
// give in it.
type Week struct {
	MemberID int64
	Monday   Date
	Visits   int
	Hours    float64 // as planning counts them: journeys, setup, opening boxes and the prying to be expected
	Most     int     // visits that the member can make in a week
	Gives    float64 // hours that the member can give in this one
	Over     bool    // more visits than that, or a day with more hours than the member gives on one
}

// Full reports whether planning asks for nothing more in w.
func (w *Week) Full() bool { return w.Visits >= w.Most || w.Hours+hourSlip >= w.Gives }

// Lack is what nobody is asked to do in a week.
type Lack struct {
	Monday Date
	Visits int
	Hours  float64 // of one person
}

// Weeks adds up some visits of c by week, from that of one day to that of
// another, at most a year later: for each member in the order of the club and for
// each week, and for each week what is to come and counts against nobody. Which
// visits count and against whom stands at Promise. Work tells what one
// is expected to be.
func Weeks(c *Club, visits []Visit, work func(*Visit) Work, today, from, until Date) ([]Week, []Lack) {
	l := newLoad(c, from)
	last := int(monday(until)-l.from) / 7
	lacks := make([]Lack, last+1)
	apiaries := make(map[int64]*Apiary, len(c.Apiaries))
	for i := range c.Apiaries {
		apiaries[c.Apiaries[i].ID] = &c.Apiaries[i]
	}
	for i := range visits {
		v := &visits[i]
		a, week := apiaries[v.ApiaryID], int(monday(v.On)-l.from)/7
		if a == nil || !v.takesTime() || v.On < l.from || week > last {
			continue
		}
		pr := PromiseOf(a, v, today)
		pr.Work = work(v)
		if len(l.known(slices.Concat(pr.Taken, pr.Who))) > 0 {
			l.Add(&pr)
		} else if !pr.Over {
			at := l.stop(&pr)
			lacks[week].Visits++
			lacks[week].Hours += at.least() + pr.Hours(l.rules)
		}
	}
	out := make([]Week, 0, len(c.Members)*len(lacks))
	for i := range c.Members {
		for n := range lacks {
			lacks[n].Monday = l.from + Date(7*n)
			out = append(out, l.week(l.person(c.Members[i].ID), lacks[n].Monday))
		}
	}
	return out, lacks
}

// week adds up one of a person's.
func (l *Load) week(p *person, monday Date) Week {
	first := int(monday - l.from)
	w := Week{MemberID: p.member.ID, Monday: monday, Most: p.gives.VisitsAWeek, Visits: int(p.weeks[first/7])}
	days := 0
	for n := range 7 {
		on := monday + Date(n)
		if p.gives.Weekdays.Has(on.Weekday()) && !p.member.Away(on) {
			days++
		}
		l.calls = p.on(first+n, l.calls[:0])
		hours := hoursOf(l.calls, nil, l.rules.Capacity.SameTripKM)
		w.Hours += hours
		w.Over = w.Over || hours > p.gives.HoursADay+hourSlip
	}
	w.Gives = p.gives.HoursADay * float64(min(days, w.Most))
	w.Over = w.Over || w.Visits > w.Most
	return w
}
