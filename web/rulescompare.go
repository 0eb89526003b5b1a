package web

import (
	"cmp"
	"fmt"
	"slices"

	"pryday/notify/words"
	"pryday/scheduler"
)

// compare plans the same records by the present rules and by others.
func (v *previewView) compare(club *scheduler.Club, rules *scheduler.Rules, today scheduler.Date, say *words.Speaker) {
	now := scheduler.PlanClub(club, today)
	other := *club
	other.Rules = *rules
	then := scheduler.PlanClub(&other, today)
	v.moves(now, then, scheduler.NewNames(club), say)
	boxes := func(p *scheduler.Plan) (n int) {
		for i := range p.Visits {
			n += len(p.Visits[i].Boxes)
		}
		return n
	}
	v.number("visits", float64(len(now.Visits)), float64(len(then.Visits)), 0)
	v.number("boxes opened", float64(boxes(now)), float64(boxes(then)), 0)
}

// number adds one outcome under both sets of rules.
func (v *previewView) number(what string, now, then float64, digits int) {
	n := previewNumber{What: what, Now: fmt.Sprintf("%.*f", digits, now), Then: fmt.Sprintf("%.*f", digits, then)}
	switch {
	case n.Now == n.Then:
		n.Word = "the same"
	case then > now:
		n.Word = fmt.Sprintf("%.*f more", digits, then-now)
	default:
		n.Word = fmt.Sprintf("%.*f fewer", digits, now-then)
	}
	v.Numbers = append(v.Numbers, n)
}

func (v *previewView) moves(now, then *scheduler.Plan, names *scheduler.Names, say *words.Speaker) {
	was := map[string]scheduler.Visit{}
	for _, visit := range now.Visits {
		if visit.UID != "" {
			was[visit.UID] = visit
		}
	}
	type move struct {
		at   scheduler.Date
		line moveLine
	}
	var all []move
	add := func(apiary int64, from, to scheduler.Date, confirmed bool) {
		m := moveLine{Apiary: names.Apiary(apiary), Confirmed: confirmed}
		if from != 0 {
			m.From = say.Day(from)
		}
		if to != 0 {
			m.To = say.Day(to)
		}
		all = append(all, move{max(min(from, to), 1), m})
	}
	for _, visit := range then.Visits {
		old, ok := was[visit.UID]
		delete(was, visit.UID)
		switch {
		case !ok:
			add(visit.ApiaryID, 0, visit.On, false)
		case old.On != visit.On:
			add(visit.ApiaryID, old.On, visit.On, old.Status == scheduler.Confirmed)
		}
	}
	for _, visit := range was {
		add(visit.ApiaryID, visit.On, 0, visit.Status == scheduler.Confirmed)
	}
	slices.SortStableFunc(all, func(a, b move) int {
		return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.line.Apiary, b.line.Apiary))
	})
	for i, m := range all {
		if i == shownMoves {
			v.More = len(all) - shownMoves
			break
		}
		v.Moves = append(v.Moves, m.line)
	}
}
