package scheduler

import "pryday/scheduler/text"

// outweighed returns the last hard opening of a box that a later one contradicts,
// which was two degrees easier although the box had waited longer for it, and the first
// such; nil where none is. What is known of a box after a contradiction keeps two moments
// only: so much less is then left of the first that, had it been harder still, the box
// might even come later.
func outweighed(b *Box, s *Season) (harder, easier *Opening) {
	all := Effective(b.Openings)
	waited := make([]float64, len(all))
	from := b.SetUpOn
	for i := range all {
		waited[i] = s.SealingDays(from, all[i].On)
		if !all[i].LeftShut {
			from = all[i].On
		}
	}
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].Difficulty() < Hard {
			continue
		}
		for k := i + 1; k < len(all); k++ {
			if g := all[k].Difficulty(); g >= Loose && g <= all[i].Difficulty()-2 && waited[k] > waited[i] {
				return &all[i], &all[k]
			}
		}
	}
	return nil, nil
}

// outweighed says which opening counts for less than the records seem to say.
func (e BoxExplanation) outweighed() text.Text {
	if e.Outweighed == nil {
		return text.Text{}
	}
	return text.New("explain.outweighed", e.Outweighed.Difficulty(), e.Outweighed.On, e.Outweighs.Difficulty(), e.Outweighs.On)
}
