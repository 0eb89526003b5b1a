package simulation

import (
	"math"
	"slices"

	"pryday/scheduler"
)

// notebook is what the people of one apiary write down, sooner or later.
type notebook struct {
	yard    *yard
	apiary  scheduler.Apiary
	perfect bool // everything stands there the same evening
	pending []entry
}

// entry is an opening on its way into the records.
type entry struct {
	arrives scheduler.Date
	boxID   int64
	asked   bool // it comes when the next visit is announced, if not before
	opening scheduler.Opening
}

func (n notebook) clone() notebook {
	n.apiary = cloneApiary(&n.apiary)
	n.pending = slices.Clone(n.pending)
	return n
}

// box returns the record of what stands at a place.
func (n *notebook) box(at int) *scheduler.Box {
	p := n.yard.places[at]
	return &n.apiary.Hives[p.hive].Boxes[p.level]
}

// opened writes down the opening of the box at a place, or forgets it.
func (n *notebook) opened(at int, o scheduler.Opening) {
	id := n.box(at).ID
	if n.perfect {
		n.enter(entry{boxID: id, opening: o})
		return
	}
	a, d := &n.yard.club.a, n.yard.club.dice
	day, hive := int(o.On), n.yard.places[at].hive
	together := a.Unwritten * a.UnwrittenTogether
	alone := (a.Unwritten - together) / (1 - together)
	if d.draw(ofWriting, n.yard.nr, hive, day) < together || d.draw(ofWriting, n.yard.nr, hive, day, int(id)) < alone {
		return
	}
	e := entry{arrives: o.On, boxID: id, opening: o}
	if d.draw(ofEntering, n.yard.nr, day) < a.Late {
		e.asked = d.draw(ofEntering, n.yard.nr, day, 2) < a.Reminded
		e.arrives += 1 + scheduler.Date(-a.LateMean*math.Log(d.draw(ofEntering, n.yard.nr, day, 1)))
	}
	if d.draw(ofMistakes, n.yard.nr, hive, day) < a.WrongDates {
		e.opening.On = n.mistake(hive, e)
	}
	n.pending = append(n.pending, e)
}

// mistake returns the wrong day under which a hive's openings are entered: that
// of the entry, the last month's, or one within a week; never one to come.
func (n *notebook) mistake(hive int, e entry) scheduler.Date {
	d, on := n.yard.club.dice, e.opening.On
	wrong := on - 7 + scheduler.Date(15*d.draw(ofMistakes, n.yard.nr, hive, int(on), 1))
	switch u := d.draw(ofMistakes, n.yard.nr, hive, int(on), 2); {
	case e.arrives > on && u < 0.5:
		wrong = e.arrives
	case u > 0.9:
		wrong = on - 30
	}
	if wrong > e.arrives {
		wrong = on - (wrong - on)
	}
	if wrong == on {
		wrong--
	}
	return max(wrong, n.yard.club.began+1)
}

// arrive enters what has reached the records by a day, and which queens have
// been noted.
func (n *notebook) arrive(today scheduler.Date) {
	n.pending = slices.DeleteFunc(n.pending, func(e entry) bool {
		if e.arrives <= today {
			n.enter(e)
		}
		return e.arrives <= today
	})
	for h, lives := range n.yard.lives {
		n.apiary.Hives[h].Requeened = requeened(lives, n.perfect, today)
	}
}

// announce lets a visit be announced: some write up what they owe. It reports
// whether anybody did.
func (n *notebook) announce(today scheduler.Date) (any bool) {
	for i := range n.pending {
		if e := &n.pending[i]; e.asked {
			e.arrives, any = today, true
		}
	}
	n.arrive(today)
	return any
}

func (n *notebook) enter(e entry) {
	for h := range n.apiary.Hives {
		for b := range n.apiary.Hives[h].Boxes {
			if box := &n.apiary.Hives[h].Boxes[b]; box.ID == e.boxID {
				box.Openings = append(box.Openings, e.opening)
			}
		}
	}
}

// next returns the first day after today on which an entry arrives, a day after
// all others where none does.
func (n *notebook) next(today scheduler.Date) scheduler.Date {
	next := scheduler.Date(math.MaxInt32)
	for _, e := range n.pending {
		next = min(next, e.arrives)
	}
	return max(next, today+1)
}

// moved writes down that the boxes at two places changed.
func (n *notebook) moved(i, j int, on scheduler.Date) {
	a, b := n.box(i), n.box(j)
	*a, *b = *b, *a
	for _, at := range []int{i, j} {
		box, p := n.box(at), n.yard.places[at]
		if len(box.Places) == 0 {
			other := n.yard.places[i+j-at]
			box.Places = append(box.Places, n.placed(box.SetUpOn, other))
		}
		box.Places = append(slices.Clip(box.Places), n.placed(on, p))
	}
}

func (n *notebook) placed(from scheduler.Date, p place) scheduler.BoxPlace {
	return scheduler.BoxPlace{From: from, Where: scheduler.OnHive, HiveID: n.apiary.Hives[p.hive].ID, Position: p.level + 1}
}
