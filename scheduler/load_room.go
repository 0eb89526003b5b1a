package scheduler

import (
	"math"
	"slices"
)

// room is what is left of the days of those who look after an apiary, from
// today on: how many hours of work there a visit may take.
type room struct {
	load   *Load // nil: nobody's days are counted
	at     stop
	people []*person
	free   [][]float64 // per person and day: see person.free
	days   []float64   // per day: the most that some of them together can do; nil: as much as it takes
	most   float64     // the most of them
	floor  []float64   // per fixed visit: what its own day has room for
	fixed  []fixedVisit
	shared bool       // they have promised visits to other apiaries
	weeks  []ownVisit // visits of the projection at hand
	taken  []takenDay // what those took, to be given back

	buffer []float64 // of days, while there are any
	crew   []int     // scratch
}

// ownVisit is a visit of the projection at hand that counts against a person.
type ownVisit struct{ person, week int }

// takenDay is a day that such visits took from a person.
type takenDay struct {
	person int
	day    int32
	free   float64
}

// fill works out the room at an apiary, whose own visits to come are not in the
// load. Days on which all who look after it are away are nobody's to be full. The day of a fixed visit
// has room for what stands on it.
func (r *room) fill(l *Load, a *Apiary, y *days, s *recorded) {
	r.load, r.days, r.weeks, r.taken, r.shared = l, nil, r.weeks[:0], r.taken[:0], false
	if l == nil {
		return
	}
	r.people = l.known(a.Keepers)
	r.at = newStop(a, l.rules)
	r.shared = l.sharedBeside(a) || l.standing != nil && l.standing.sharedBeside(a)
	if len(r.people) == 0 {
		return
	}
	r.addFixed(a, y, s)
	r.free = resize(r.free, len(r.people))
	for i, p := range r.people {
		r.free[i] = resize(r.free[i], y.n)
		r.fillPerson(i, p, y)
	}
	r.buffer = resize(r.buffer, y.n)
	r.days, r.most = r.buffer, 0
	for k := range int32(y.n) {
		if r.sum(k); !math.IsInf(r.days[k], 1) {
			r.most = max(r.most, r.days[k])
		}
	}
}

// sharedBeside reports whether those who look after an apiary have promised
// visits to others.
func (l *Load) sharedBeside(a *Apiary) bool {
	return slices.ContainsFunc(l.known(a.Keepers), func(p *person) bool {
		return slices.ContainsFunc(p.calls, func(c dayCall) bool { return c.at.apiary != a.ID })
	})
}

// addFixed enters the fixed visits of the apiary into the load, where they stay
// while it is planned: their weeks count.
func (r *room) addFixed(a *Apiary, y *days, s *recorded) {
	r.fixed, r.floor = s.fixed, r.floor[:0]
	own := make([]Promise, len(s.fixed))
	for i, f := range s.fixed {
		own[i] = PromiseOf(a, &s.open[f.old], y.today)
		r.floor = append(r.floor, r.onFixed(&own[i]))
	}
	for i := range own {
		r.load.Add(&own[i])
	}
	for i := range s.open { // past what is planned, in a week of it
		if v := &s.open[i]; v.On > y.today+HorizonDays && v.staysPut() {
			pr := PromiseOf(a, v, y.today)
			r.load.Add(&pr)
		}
	}
}

// onFixed returns the hours of work that a fixed visit may take.
func (r *room) onFixed(pr *Promise) float64 {
	work := pr.Hours(r.load.rules)
	crew, _ := r.load.crew(pr.Who, pr.Taken, &r.at, work)
	if len(crew) == 0 {
		return math.Inf(1)
	}
	least := math.Inf(1)
	for _, p := range crew {
		least = min(least, p.free(r.load, &r.at, pr.On))
	}
	return max(work, least*float64(len(crew)))
}

// fillPerson works out the days of one of those who look after the apiary.
// Whom they have told that they cannot go counts nothing here: a refusal goes
// along with its visit, and a day must not fall free because of it.
func (r *room) fillPerson(i int, p *person, y *days) {
	free := r.free[i]
	if idle := p.gives.HoursADay - r.at.least(); len(p.calls) == 0 && p.gives.Weekdays == 0 {
		for k := range free {
			free[k] = idle
		}
	} else {
		for k := range free {
			free[k] = p.free(r.load, &r.at, y.today+Date(k))
		}
	}
	m := memberIn(y.members, p.member.ID)
	if m == nil {
		return
	}
	for _, away := range m.NoGo {
		for k := max(0, int(away.From-y.today)); k < len(free) && away.Contains(y.today+Date(k)); k++ {
			free[k] = math.NaN()
		}
	}
}

// sum works out what can be done on day k: by the one with the most room, or by
// two who have each as much as the other, and so on.
func (r *room) sum(k int32) {
	best, asked := math.Inf(-1), 0
	for i := range r.people {
		free := r.free[i][k]
		if math.IsNaN(free) {
			continue
		}
		asked++
		n := 0
		for j := range r.people {
			if r.free[j][k]+hourSlip >= free { // not for those who are absent
				n++
			}
		}
		best = max(best, free*float64(n), free)
	}
	if asked == 0 {
		best = math.Inf(1)
	}
	for i, f := range r.fixed {
		if f.day == k {
			best = max(best, r.floor[i])
		}
	}
	r.days[k] = best + hourSlip
}

// restart gives back what the last projection took.
func (r *room) restart() {
	for _, t := range slices.Backward(r.taken) {
		r.free[t.person][t.day] = t.free
		r.sum(t.day)
	}
	r.taken, r.weeks = r.taken[:0], r.weeks[:0]
}

// take counts a visit of the projection against the weeks of those who would
// go: who have room for the work, or for it if all comes off lightly.
func (r *room) take(y *days, day int32, work ...float64) {
	for _, hours := range work {
		for n := 1; n <= len(r.people); n++ {
			crew := r.crew[:0]
			for i := range r.people {
				if len(crew) < n && r.free[i][day]+hourSlip >= hours/float64(n) {
					crew = append(crew, i)
				}
			}
			r.crew = crew
			if len(crew) == n {
				for _, i := range crew {
					r.count(y, i, day)
				}
				return
			}
		}
	}
}

// count takes the rest of a week from a person who has made all the visits of
// it then.
func (r *room) count(y *days, i int, day int32) {
	on := y.today + Date(day)
	w := ownVisit{i, int(on-r.load.from) / 7}
	r.weeks = append(r.weeks, w)
	own := 0
	for _, o := range r.weeks {
		if o == w {
			own++
		}
	}
	p := r.people[i]
	own += int(p.weeks[min(w.week, len(p.weeks)-1)])
	if own < p.gives.VisitsAWeek {
		return
	}
	week := int32(monday(on) - y.today)
	for k := max(week, 0); k < week+7 && int(k) < y.n; k++ {
		if free := r.free[i][k]; !math.IsNaN(free) && !math.IsInf(free, -1) {
			r.taken = append(r.taken, takenDay{i, k, free})
			r.free[i][k] = math.Inf(-1)
			r.sum(k)
		}
	}
}
