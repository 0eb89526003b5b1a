package main

import (
	"slices"

	"pryday/scheduler"
)

// saidFrom is the day from which the club keeps its records with Pryday: what was
// said of openings since then was written down with them. The record is a little
// too short yet to correct the odds by.
var saidFrom = scheduler.NewDate(2026, 8, 10)

// said writes down what was said of the openings since saidFrom before each was
// made, day by day, from what was on record then.
func said(c *scheduler.Club) {
	boxes := everyBox(c)
	var days []scheduler.Date
	all := map[*scheduler.Box][]scheduler.Opening{}
	for _, b := range boxes {
		all[b] = b.Openings
		for i := range b.Openings {
			if on := b.Openings[i].On; on >= saidFrom && !slices.Contains(days, on) {
				days = append(days, on)
			}
		}
	}
	for _, day := range days {
		fresh := map[int64][]scheduler.Opening{}
		for _, b := range boxes {
			b.Openings = slices.DeleteFunc(slices.Clone(all[b]), func(o scheduler.Opening) bool { return o.On >= day })
			for _, o := range all[b] {
				if o.On == day {
					fresh[b.ID] = append(fresh[b.ID], o)
				}
			}
		}
		forecasts := scheduler.Foretell(c, fresh, day)
		for _, b := range boxes {
			for i := range all[b] {
				if f, ok := forecasts[all[b][i].ID]; ok {
					all[b][i].Said = &f
				}
			}
		}
	}
	for _, b := range boxes {
		b.Openings = all[b]
	}
}

func everyBox(c *scheduler.Club) []*scheduler.Box {
	var out []*scheduler.Box
	for i := range c.Apiaries {
		for j := range c.Apiaries[i].Hives {
			for k := range c.Apiaries[i].Hives[j].Boxes {
				out = append(out, &c.Apiaries[i].Hives[j].Boxes[k])
			}
		}
	}
	for i := range c.Spare {
		out = append(out, &c.Spare[i])
	}
	return out
}
