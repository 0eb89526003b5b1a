package scheduler

import "slices"

// knownDays is for how many days saved rates serve when nothing is recorded. A service
// that stood still for longer replays everything.
const knownDays = 7

// replayEvery is every how many days an apiary is replayed from all its records whatever
// is known, each on a day of its own: what was written past the service is found then.
const replayEvery = 28

// KnownRates are rates that were saved with the plan of a day before and that Replay would
// come to again, by apiary: since that day nothing happened to their boxes.
type KnownRates map[int64]Rates

// SavedRates say what the rates of an apiary were saved with.
type SavedRates struct {
	On      Date  // the day of the plan
	Sources int64 // see RateSources; 0 for none
}

// StillKnown returns the rates among the saved ones that hold today. Of c it needs
// all but the openings, and of these those since OpeningsSince; states are those
// that were saved with the rates.
func StillKnown(c *Club, saved map[int64]SavedRates, states []BoxState, today Date) KnownRates {
	now := RateSources(c, nil, states, today)
	changed := make(map[int64]bool, len(c.Apiaries))
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		was := saved[a.ID]
		changed[a.ID] = was.Sources == 0 || was.Sources != now[a.ID] || was.On > today || was.On < today-knownDays ||
			(a.ID+int64(today))%replayEvery == 0
	}
	movedTo := c.movedBoxes()
	for i := range c.Visits {
		v := &c.Visits[i]
		if a := c.Apiary(v.ApiaryID); a != nil && v.Status != Done && v.On < today && v.May(VisitFound) && a.openedNear(v.On) {
			changed[a.ID] = true
			for _, b := range v.Boxes {
				changed[movedTo[b.BoxID]] = true
			}
		}
	}
	c.spread(changed)
	at := statesByBox(states)
	out := KnownRates{}
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		if changed[a.ID] {
			continue
		}
		if rates, whole := a.savedRates(at); whole {
			out[a.ID] = rates
		}
	}
	return out
}

// openedNear reports whether a box of a was opened within nearDays of a day.
func (a *Apiary) openedNear(on Date) bool {
	for h := range a.Hives {
		for b := range a.Hives[h].Boxes {
			if a.Hives[h].Boxes[b].openedWithin(nearDays, on) {
				return true
			}
		}
	}
	return false
}

// savedRates makes rates of what was saved; whole is false where a box of a is missing.
func (a *Apiary) savedRates(at map[int64]*BoxState) (out Rates, whole bool) {
	for h := range a.Hives {
		hive := &a.Hives[h]
		for i := range hive.Boxes {
			s := at[hive.Boxes[i].ID]
			if s == nil || s.ApiaryID != a.ID || s.HiveID != hive.ID {
				return nil, false
			}
			rate := s.Outlook.rate()
			rate.BoxID, rate.Position, rate.From = s.BoxID, i+1, s.Since
			rate.LastOpened, rate.LastTried, rate.LastHard, rate.ShutOn = s.LastOpened, s.LastTried, s.LastHard, s.ShutOn
			rate.Openings, rate.listedOn = s.Openings, s.ListedOn
			if rate.HiveID != 0 {
				rate.HiveID = hive.ID
			}
			out = append(out, rate)
		}
	}
	return out, true
}

// spread adds the apiaries whose boxes or bees were also at a changed one.
func (c *Club) spread(changed map[int64]bool) {
	apiaryOf := c.apiariesOfHives()
	var together [][]int64
	for b := range c.boxesWithPlaces() {
		var at []int64
		for _, p := range b.Places {
			if id, ok := apiaryOf[p.HiveID]; ok && p.Where == OnHive {
				at = append(at, id)
			}
		}
		together = append(together, at)
	}
	for i := range c.Apiaries {
		for h := range c.Apiaries[i].Hives {
			for _, e := range c.Apiaries[i].Hives[h].Events {
				if id, ok := apiaryOf[e.OtherID]; ok {
					together = append(together, []int64{c.Apiaries[i].ID, id})
				}
			}
		}
	}
	for grown := true; grown; {
		grown = false
		for _, at := range together {
			if slices.ContainsFunc(at, func(id int64) bool { return changed[id] }) {
				for _, id := range at {
					grown = grown || !changed[id]
					changed[id] = true
				}
			}
		}
	}
}

// boxesWithPlaces goes over the boxes of c that have places of their own.
func (c *Club) boxesWithPlaces() func(func(*Box) bool) {
	return func(yield func(*Box) bool) {
		for i := range c.Apiaries {
			for h := range c.Apiaries[i].Hives {
				for b := range c.Apiaries[i].Hives[h].Boxes {
					if box := &c.Apiaries[i].Hives[h].Boxes[b]; len(box.Places) > 0 && !yield(box) {
						return
					}
				}
			}
		}
		for i := range c.Spare {
			if len(c.Spare[i].Places) > 0 && !yield(&c.Spare[i]) {
				return
			}
		}
	}
}

// OpeningsSince is the first day whose openings planning looks at for anything but
// rates: they may belong to a visit that is not done, or say what was written down of
// one that is.
func OpeningsSince(r *Rules, today Date) Date {
	asked := Date(r.AnswerDays+1) + Date(r.soonest())
	return today - max(asked, reviveDays) - knownDays - 2*nearDays
}

// replay is Replay, of what is known too, without the boxes on no hive.
func (k KnownRates) replay(c *Club, today Date) Rates {
	if len(k) == 0 {
		return Replay(c, today)
	}
	rest := *c
	rest.Apiaries, rest.Former, rest.Spare = nil, slices.Clip(c.Former), nil
	for i := range c.Apiaries {
		if _, known := k[c.Apiaries[i].ID]; known {
			rest.Former = append(rest.Former, c.Apiaries[i])
		} else {
			rest.Apiaries = append(rest.Apiaries, c.Apiaries[i])
		}
	}
	apiaryOf := rest.apiariesOfHives()
	for i := range c.Spare {
		stood := func(p BoxPlace) bool { return p.Where == OnHive && apiaryOf[p.HiveID] != 0 }
		if slices.ContainsFunc(c.Spare[i].Places, stood) {
			rest.Spare = append(rest.Spare, c.Spare[i])
		}
	}
	fresh, out := Replay(&rest, today), Rates(nil)
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		rates, known := k[a.ID]
		if !known {
			n := a.countBoxes()
			rates, fresh = fresh[:n], fresh[n:]
		}
		out = append(out, rates...)
	}
	return out
}
