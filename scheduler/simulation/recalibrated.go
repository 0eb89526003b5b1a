package simulation

import (
	"slices"

	"pryday/scheduler"
)

// spoken is one opening of which something was said before: what, and what was
// written down of it.
type spoken struct {
	on, arrives scheduler.Date // arrives is never where nothing was written down
	hard, stuck float64
	wrote       scheduler.Difficulty
	counts      bool // in the years that are scored
}

// speak notes what was said of a box that was just opened.
func (k *keep) speak(b *scheduler.VisitBox, f found, on scheduler.Date) {
	s := spoken{on: on, hard: b.Odds, stuck: b.Stuck, arrives: never, counts: on >= k.club.scored}
	if e, ok := k.book.entryOf(f.at, on); ok && e.arrives <= on+scheduler.LateDays {
		s.arrives, s.wrote = e.arrives, e.opening.Difficulty()
	}
	k.spoken = append(k.spoken, s)
}

const never = scheduler.MaxDate

// entryOf finds what was written down of the opening of the box at a place on a
// day.
func (n *notebook) entryOf(at int, on scheduler.Date) (entry, bool) {
	box := n.box(at)
	for i := len(n.pending) - 1; i >= 0; i-- {
		if e := n.pending[i]; e.boxID == box.ID && e.opening.On == on {
			return e, true
		}
	}
	for i := len(box.Openings) - 1; i >= 0; i-- {
		if o := box.Openings[i]; o.On == on {
			return entry{arrives: on, boxID: box.ID, opening: o}, true
		}
	}
	return entry{}, false
}

// recalibrateEvery is how many days a club's recalibration holds.
const recalibrateEvery = 28

// recalibrated holds what a club said of its openings, and what it would have said
// had it corrected the odds by its own record of the time, against what it wrote
// down: its members' own notion of hard. Days are planned as if it had not.
func recalibrated(all []spoken) (said, corrected promise) {
	slices.SortStableFunc(all, func(a, b spoken) int { return int(a.on - b.on) })
	var r scheduler.Recalibration
	made := scheduler.Date(0)
	for i := range all {
		s := &all[i]
		if !s.counts || s.arrives == never {
			continue
		}
		if made == 0 || s.on >= made+recalibrateEvery {
			r, made = scheduler.Recalibrate(recordOf(all[:i], s.on), s.on), s.on
		}
		hard, _ := r.Odds(s.hard, s.stuck)
		said.add(s.hard, s.wrote >= scheduler.Hard)
		corrected.add(hard, s.wrote >= scheduler.Hard)
	}
	return said, corrected
}

// recordOf is what a club has on record of its openings on a day.
func recordOf(all []spoken, today scheduler.Date) []scheduler.Outcome {
	var out []scheduler.Outcome
	for i := range all {
		if s := &all[i]; s.arrives < today {
			out = append(out, scheduler.Outcome{
				Forecast: scheduler.Forecast{Hard: s.hard, Stuck: s.stuck, ModelHard: s.hard, ModelStuck: s.stuck},
				On:       s.on, Found: s.wrote,
			})
		}
	}
	return out
}
