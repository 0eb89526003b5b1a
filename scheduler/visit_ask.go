package scheduler

// fits reports whether the visits planned at an apiary, whose turn it is, leave
// room for all that people count on elsewhere.
func (l *Load) fits(visits []Visit, a *Apiary, today Date) bool {
	l.Drop(a.ID)
	defer l.Drop(a.ID)
	for i := range visits {
		pr := PromiseOf(a, &visits[i], today)
		if !visits[i].staysPut() && !l.hasRoom(&pr) {
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
		if pv := &pr.visits[i]; pv.kept {
			v := p.standing.open[olds[i]]
			v.On = pr.days.today + Date(pv.day)
			promise := PromiseOf(a, &v, pr.days.today)
			promise.Openings = len(pv.boxes)
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
	if was == nil || was.AskAnew || was.On != v.On || len(was.Who) == 0 || !l.hasRoom(&promise) {
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

// ask returns those of a list who have room for a promise.
func (l *Load) ask(list []int64, pr *Promise) []int64 {
	at, work := l.stop(pr), l.work(pr.Openings)
	for n := 1; n <= len(list); n++ {
		asked := *pr
		asked.Who = nil
		for _, id := range list {
			if p := l.person(id); p == nil || p.hasRoom(l, &at, pr.On, work/float64(n)) {
				asked.Who = append(asked.Who, id)
			}
		}
		if len(asked.Who) >= n && l.hasRoom(&asked) {
			return asked.Who
		}
	}
	return nil
}

// hasRoom reports whether those against whom a promise counts have room for it.
func (l *Load) hasRoom(pr *Promise) bool {
	at := l.stop(pr)
	crew, share := l.crew(pr.Who, pr.Taken, &at, l.work(pr.Openings))
	for _, p := range crew {
		if !p.hasRoom(l, &at, pr.On, share) {
			return false
		}
	}
	return true
}

// hasRoom reports whether p could still work so many hours at a stop on a day.
func (p *person) hasRoom(l *Load, at *stop, on Date, work float64) bool {
	return p.free(l, at, on)+hourSlip >= work
}
