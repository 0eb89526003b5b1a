package scheduler

// fits reports whether the visits planned at an apiary, whose turn it is, leave
// room for all that people count on elsewhere: room for the prying that is to be
// expected, where there would be some alone, in a load without what they count on.
func (l *Load) fits(visits []Visit, a *Apiary, today Date, alone *Load) bool {
	alone.Drop(a.ID)
	l.Drop(a.ID)
	defer l.Drop(a.ID)
	for i := range visits {
		pr := PromiseOf(a, &visits[i], today)
		if !visits[i].staysPut() && !l.hasRoom(&pr) && (alone.hasRoom(&pr) || !l.mayRunLate(&pr)) {
			return false
		}
		l.Add(&pr)
	}
	return true
}

// settle enters the visits that an apiary comes out of its turn with.
func (l *Load) settle(visits []Visit, a *Apiary, today Date) {
	l.Drop(a.ID)
	for i := range visits {
		pr := PromiseOf(a, &visits[i], today)
		l.Add(&pr)
	}
}

// keep enters the visits of an apiary that stay as they are into the load,
// before anybody is asked to make the others.
func (p *Planner) keep(a *Apiary, olds []int) {
	pr := &p.projection
	if pr.room.load == nil {
		return
	}
	pr.room.load.Drop(a.ID)
	for i := range pr.visits {
		if pv := &pr.visits[i]; pv.kept && !pr.days.asksAnew(&p.standing.open[olds[i]]) {
			v := p.standing.open[olds[i]]
			v.On = pr.days.today + Date(pv.day)
			promise := PromiseOf(a, &v, pr.days.today)
			promise.Work = pv.work()
			pr.room.load.Add(&promise)
		}
	}
}

// ask returns those who are asked to make a visit that continues was, if any,
// and enters it into the load. On a day that stays these are the same people
// while those against whom the visit counts have room for it. Else they are all
// who have room for it alone, or all who have room for their part where it takes
// two of them, and so on; nobody where it is too much for all of them together.
func (p *projection) ask(was, v *Visit) []int64 {
	list, l := p.days.who(was, v.On, p.refused), p.room.load
	if l == nil {
		return list
	}
	promise := PromiseOf(p.days.apiary, v, p.days.today)
	promise.Who, promise.Over = list, false
	if was == nil || p.days.asksAnew(was) || was.On != v.On || len(was.Who) == 0 || !l.hasRoom(&promise) {
		promise.Who = l.ask(list, &promise)
	}
	if len(promise.Who) == 0 && len(list) > 0 && was != nil && !was.NoTime {
		anew := *was
		anew.NoTime = true
		promise.Who = l.ask(p.days.who(&anew, v.On, p.refused), &promise)
	}
	l.Add(&promise)
	v.NoTime = len(list) > 0 && len(promise.Who) == 0
	return promise.Who
}

// ask returns those of a list who have room for a promise. Where nobody has any for the
// prying that is to be expected, they are those who have the day for it alone and room
// for it if all comes off lightly: stuck stacks take longer than a day, and somebody
// must begin.
func (l *Load) ask(list []int64, pr *Promise) []int64 {
	for _, has := range []roomFor{(*person).hasRoom, (*person).mayRunLate} {
		if who := l.whoHas(has, list, pr); who != nil {
			return who
		}
	}
	return nil
}

// roomFor is a way to have room at a stop on a day for a part of some work: the n-th.
type roomFor func(p *person, l *Load, at *stop, on Date, w *Work, n int) bool

// whoHas returns those of a list who have room for a promise in one way.
func (l *Load) whoHas(has roomFor, list []int64, pr *Promise) []int64 {
	at := l.stop(pr)
	for n := 1; n <= len(list); n++ {
		asked := *pr
		asked.Who = nil
		for _, id := range list {
			if p := l.person(id); p == nil || has(p, l, &at, pr.On, &pr.Work, n) {
				asked.Who = append(asked.Who, id)
			}
		}
		if len(asked.Who) >= n && l.has(has, &asked) {
			return asked.Who
		}
	}
	return nil
}

// hasRoom reports whether those against whom a promise counts have room for it.
func (l *Load) hasRoom(pr *Promise) bool { return l.has((*person).hasRoom, pr) }

// mayRunLate reports whether they have room for it if all comes off lightly, and
// nowhere else to be if it does not.
func (l *Load) mayRunLate(pr *Promise) bool { return l.has((*person).mayRunLate, pr) }

func (l *Load) has(room roomFor, pr *Promise) bool {
	at := l.stop(pr)
	crew, _ := l.crew(pr.Who, pr.Taken, &at, pr.Hours(l.rules))
	for _, p := range crew {
		if !room(p, l, &at, pr.On, &pr.Work, len(crew)) {
			return false
		}
	}
	return true
}

// hasRoom reports whether p could still do the n-th part of some work at a stop on a
// day.
func (p *person) hasRoom(l *Load, at *stop, on Date, w *Work, n int) bool {
	return p.free(l, at, on)+hourSlip >= w.Hours(l.rules)/float64(n)
}

// mayRunLate reports whether p could if all comes off lightly, and goes nowhere else.
func (p *person) mayRunLate(l *Load, at *stop, on Date, w *Work, n int) bool {
	day := int(on - l.from)
	busy := day >= 0 && day < loadDays && p.busy[day/64]>>(day%64)&1 != 0
	return !busy && p.free(l, at, on)+hourSlip >= w.openingHours(l.rules)/float64(n)
}
