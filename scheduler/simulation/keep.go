package simulation

import (
	"math"
	"slices"

	"pryday/scheduler"
)

// keep is one apiary of the imperfect world as somebody keeps it: the truth, and
// the notebook, which is all that a policy sees.
type keep struct {
	*yard
	book   notebook
	stands []int   // which box stands at each place
	seals  []seal  // of each place
	swaps  []swap  // wished for this year and not yet made
	wished int     // the year of swaps
	tally  tally   // since scores are counted
	said   promise // what was said of the openings of these years
	spoken []spoken
}

// swap is a wish that the boxes at two places change.
type swap struct {
	i, j  int
	noted bool
}

// found is one box that was opened, and how hard it really was.
type found struct {
	at    int
	boxID int64 // by the records
	grade scheduler.Difficulty
}

func (y *yard) newKeep(book notebook) *keep {
	k := &keep{yard: y, book: book, stands: make([]int, len(y.places)), seals: make([]seal, len(y.places))}
	for i := range k.stands {
		k.stands[i] = i
		k.seals[i].since = y.club.began
	}
	return k
}

// begin returns the apiary on the day on which a policy begins, with its records
// as they were kept or perfect ones.
func (y *yard) begin(perfect bool) *keep {
	k := *y.written
	if perfect {
		k = *y.perfect
	}
	k.book = k.book.clone()
	if days := y.club.size.Notebook; days > 0 {
		k.book.begin(y.club.from-scheduler.Date(days), y.club.from)
	}
	k.stands, k.seals, k.swaps = slices.Clone(k.stands), slices.Clone(k.seals), slices.Clone(k.swaps)
	return &k
}

// live lets the years of history pass. The club opens its hives twice a year
// and leaves out a stack, or the lowest box of it, when it feels so.
func (k *keep) live() {
	p := k.club
	for _, day := range calendarDays(&k.book.apiary, 2, p.began, p.from) {
		on := k.weather.dryDay(day, k.book.apiary.Weekdays)
		if on >= p.from || !k.made(day) {
			continue
		}
		k.visit(on, func(at int) bool {
			mood := p.dice.draw(forHabit, k.nr, k.places[at].hive, int(on))
			return mood >= 0.1 && (mood >= 0.3 || k.places[at].level > 0)
		})
	}
}

// visit opens the chosen boxes, each stack from the top, until it rains or the
// work is done, and returns what was opened.
func (k *keep) visit(on scheduler.Date, chosen func(at int) bool) (opened []found) {
	one := tally{visits: 1}
	dry := k.hivesOpened(on)
	for at := len(k.places) - 1; at >= 0; at-- {
		if k.places[at].hive < dry && chosen(at) {
			f := found{at, k.book.box(at).ID, k.open(at, on)}
			one.count(f.grade, full(k.places[at].level, k.weather.latitude, on))
			opened = append(opened, f)
		}
	}
	if k.weather.warm[on-k.weather.first]+noonC < coldC {
		one.cold = one.openings
	}
	k.swapBoxes(opened, on)
	if on >= k.club.scored {
		k.tally.add(one)
	}
	return opened
}

// strength returns the seal at a place on a day.
func (k *keep) strength(at int, on scheduler.Date) float64 {
	z := k.seals[at]
	return z.left + k.gluing.grown(at, k.stands[at], z.since, on)
}

// felt returns how the seal at a place feels on a day.
func (k *keep) felt(at int, on scheduler.Date) float64 {
	box := k.places[k.stands[at]].box
	return k.strength(at, on) * math.Exp(k.club.a.DaySD*k.club.dice.normal(ofTheDay, box, int(on)))
}

// open opens the box at a place, writes it down and returns how hard it really
// was. A box that is stuck is got open with the hours that this takes.
func (k *keep) open(at int, on scheduler.Date) scheduler.Difficulty {
	p, box := k.club, k.places[k.stands[at]].box
	felt := k.felt(at, on)
	grade := p.grade(felt)
	scraped, left := p.a.scrape(p.dice, grade, k.strength(at, on), box, on)
	k.seals[at] = seal{since: on, left: left}
	k.book.opened(at, scheduler.Opening{
		On: on, Joint: k.says(felt, box, on), Frames: scheduler.NotTried, Scraped: scraped,
	})
	return grade
}

// says returns the grade that is written down.
func (k *keep) says(felt float64, box int, on scheduler.Date) scheduler.Difficulty {
	if k.book.perfect {
		return k.club.grade(felt)
	}
	return k.grader.says(k.club, felt, box, on)
}

// swapBoxes makes those of the year's swaps whose boxes are both open.
func (k *keep) swapBoxes(opened []found, on scheduler.Date) {
	if year := on.Year(); year != k.wished {
		k.wished, k.swaps = year, k.wishes(year)
	}
	k.swaps = slices.DeleteFunc(k.swaps, func(s swap) bool {
		isOpen := func(at int) bool {
			return slices.ContainsFunc(opened, func(f found) bool { return f.at == at })
		}
		open := isOpen(s.i) && isOpen(s.j)
		if open {
			k.stands[s.i], k.stands[s.j] = k.stands[s.j], k.stands[s.i]
			k.seals[s.i], k.seals[s.j] = k.seals[s.j], k.seals[s.i]
			if s.noted || k.book.perfect {
				k.book.moved(s.i, s.j, on)
			}
		}
		return open
	})
}

// wishes draws which boxes change places in a year with one of another hive at
// the same height. Each pair moves two boxes.
func (y *yard) wishes(year int) []swap {
	d, a := y.club.dice, &y.club.a
	var out []swap
	for i, at := range y.places {
		other := int(d.draw(ofMoving, y.nr, year, i, 1) * float64(y.club.size.Hives))
		j := y.at(other, at.level)
		if d.draw(ofMoving, y.nr, year, i) < a.Moved/2 && other != at.hive && j >= 0 {
			out = append(out, swap{i, j, d.draw(ofMoving, y.nr, year, i, 2) >= a.MovesUnnoted})
		}
	}
	return out
}
