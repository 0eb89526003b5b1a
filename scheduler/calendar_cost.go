package scheduler

// Cost is what keeping the calendar took in some days, as far as it was written
// down. Hours are reckoned by the club's rules, not measured.
type Cost struct {
	From, Until   Date // both included
	Visits        int  // days on which somebody was at an apiary
	Openings      int  // of boxes that opened
	Hard, Stuck   int  // tries that were hard, and those that were stuck or left the box shut
	Hours, Prying float64
}

// CalendarCost adds up the openings and the visits of c from a day to another:
// those that count, and visits that were done without an opening.
func CalendarCost(c *Club, from, until Date) Cost {
	out := Cost{From: from, Until: until}
	at := map[int64]int64{} // the apiary of a hive
	for i := range c.Apiaries {
		for j := range c.Apiaries[i].Hives {
			at[c.Apiaries[i].Hives[j].ID] = c.Apiaries[i].ID
		}
	}
	days := map[visitDay]bool{}
	for i := range c.Apiaries {
		for j := range c.Apiaries[i].Hives {
			h := &c.Apiaries[i].Hives[j]
			for k := range h.Boxes {
				out.box(c, &h.Boxes[k], h.ID, at, days)
			}
		}
	}
	for i := range c.Spare {
		out.box(c, &c.Spare[i], 0, at, days)
	}
	for i := range c.Visits {
		if v := &c.Visits[i]; v.Status == Done && from <= v.On && v.On <= until {
			days[visitDay{v.ApiaryID, v.On}] = true
		}
	}
	for d := range days {
		out.Visits++
		out.Hours += c.tripHours(d.apiary)
	}
	out.Hours += out.Prying
	return out
}

// visitDay is a day on which somebody was at an apiary.
type visitDay struct {
	apiary int64
	on     Date
}

// box adds the openings of one box, which stands on a hive at present.
func (t *Cost) box(c *Club, b *Box, present int64, at map[int64]int64, days map[visitDay]bool) {
	h := &c.Rules.Hours
	for _, i := range effective(b.Openings, nil) {
		o := &b.Openings[i]
		if o.On < t.From || o.On > t.Until {
			continue
		}
		if apiary := at[b.HiveOn(o.On, present)]; apiary != 0 {
			days[visitDay{apiary, o.On}] = true
		}
		if !o.LeftShut {
			t.Openings++
			t.Hours += h.Open
		}
		switch {
		case o.Difficulty() >= Stuck:
			t.Stuck++
			t.Prying += h.Stuck
		case o.Difficulty() == Hard:
			t.Hard++
			t.Prying += h.Hard
		}
	}
}

// HiveOn returns the hive on which b stood when a day began, or 0; present is the one
// on which it stands now, for a box that never moved.
func (b *Box) HiveOn(day Date, present int64) int64 {
	if len(b.Places) == 0 {
		return present
	}
	hive := int64(0)
	for _, p := range b.Places {
		if p.From > day || p.From == day && hive != 0 {
			break
		}
		hive = p.HiveID
	}
	return hive
}
