package scheduler

import (
	"fmt"
	"os"
	"reflect"
	"slices"
	"testing"
)

// keeping is a club as a store keeps it: with what it saved beside its plans.
type keeping struct {
	club   *Club
	saved  map[int64]SavedRates
	states []BoxState
}

// without returns the club with openings since a day alone at the apiaries that
// are known, and in all of them when known is nil.
func (k *keeping) without(since Date, known KnownRates) *Club {
	c := *k.club
	c.Apiaries = slices.Clone(c.Apiaries)
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		if _, ok := known[a.ID]; known != nil && !ok {
			continue
		}
		a.Hives = slices.Clone(a.Hives)
		for h := range a.Hives {
			a.Hives[h].Boxes = slices.Clone(a.Hives[h].Boxes)
			for b := range a.Hives[h].Boxes {
				box := &a.Hives[h].Boxes[b]
				box.Openings = slices.DeleteFunc(slices.Clone(box.Openings), func(o Opening) bool { return o.On < since })
			}
		}
	}
	return &c
}

// night plans all by what is known, as a store does, and returns what was.
func (k *keeping) night(t *testing.T, today Date) KnownRates {
	since := OpeningsSince(&k.club.Rules, today)
	known := StillKnown(k.without(since, nil), k.saved, k.states, today)
	c := k.without(since, known)
	var p Planner
	load := NewLoad(c, today)
	plan := p.PlanClubIn(c, today, load, known)
	fresh := PlanClub(k.club, today)
	for i := range fresh.Boxes {
		if plan.Boxes[i] != fresh.Boxes[i] {
			t.Fatalf("%s: by what was known\n%+v\nand by all records\n%+v", today, plan.Boxes[i], fresh.Boxes[i])
		}
	}
	if show(k.club, plan) != show(k.club, fresh) {
		t.Fatalf("%s: by what was known\n%s\nand by all records\n%s", today, show(k.club, plan), show(k.club, fresh))
	}
	if !reflect.DeepEqual(plan.Unwritten, fresh.Unwritten) || !reflect.DeepEqual(plan.Past, fresh.Past) {
		t.Fatalf("%s: by what was known %+v, by all records %+v", today, plan.Unwritten, fresh.Unwritten)
	}
	k.save(c, plan, today)
	return known
}

// save keeps a plan of some apiaries of c with what their rates came from.
func (k *keeping) save(c *Club, plan *Plan, today Date) {
	from := RateSources(c, plan.Past, plan.Boxes, today)
	for _, s := range plan.Boxes {
		k.saved[s.ApiaryID] = SavedRates{On: today, Sources: from[s.ApiaryID]}
	}
	k.put(plan.Boxes)
	remember(k.club, plan)
}

func (k *keeping) put(states []BoxState) {
	for _, s := range states {
		k.states = slices.DeleteFunc(k.states, func(old BoxState) bool { return old.BoxID == s.BoxID })
		k.states = append(k.states, s)
	}
	slices.SortFunc(k.states, func(a, b BoxState) int { return int(a.BoxID - b.BoxID) })
}

// recorded plans the apiary of a box anew, as whoever records an opening does. A program
// of the version before does not know of what is saved.
func (k *keeping) recorded(b *Box, today Date, before bool) {
	for i := range k.club.Apiaries {
		a := &k.club.Apiaries[i]
		for h := range a.Hives {
			if !slices.ContainsFunc(a.Hives[h].Boxes, func(other Box) bool { return other.ID == b.ID }) {
				continue
			}
			plan := PlanApiary(k.club, a.ID, today)
			if before {
				was := map[int64]BoxState{}
				for _, s := range k.states {
					was[s.BoxID] = s
				}
				for i := range plan.Boxes {
					s := &plan.Boxes[i]
					s.LastTried, s.ListedOn = was[s.BoxID].LastTried, was[s.BoxID].ListedOn
				}
				k.put(plan.Boxes)
				remember(k.club, plan)
				return
			}
			together := map[int64]bool{a.ID: true}
			k.club.spread(together)
			for id := range together {
				k.saved[id] = SavedRates{}
			}
			k.save(k.club, plan, today)
			return
		}
	}
	for id := range k.saved { // it is in store, and was somewhere
		k.saved[id] = SavedRates{}
	}
}

// happen lets something happen beside the visits, or does nothing.
func (r dice) happen(k *keeping, today Date) {
	c := k.club
	a := &c.Apiaries[r.IntN(len(c.Apiaries))]
	to := &c.Apiaries[r.IntN(len(c.Apiaries))]
	if len(a.Hives) < 2 || len(to.Hives) == 0 {
		return
	}
	h, on := &a.Hives[r.IntN(len(a.Hives))], today-Date(r.IntN(4))
	switch r.IntN(14) {
	case 0:
		h.Requeened = append(slices.Clone(h.Requeened), on)
	case 1:
		if len(h.Boxes) > 0 {
			b := &h.Boxes[r.IntN(len(h.Boxes))]
			b.Repaired = append(slices.Clone(b.Repaired), on)
		}
	case 2:
		a.SeasonShiftDays += r.between(-3, 3)
	case 3: // the upper box goes to another hive
		other := &to.Hives[r.IntN(len(to.Hives))]
		n := len(h.Boxes)
		if other == h || n < 2 {
			return
		}
		b := h.Boxes[n-1]
		h.Boxes = h.Boxes[: n-1 : n-1]
		if len(b.Places) == 0 {
			b.Places = []BoxPlace{{From: b.SetUpOn, Where: OnHive, HiveID: h.ID, Position: n}}
		}
		if r.chance(0.2) {
			b.Places = append(slices.Clone(b.Places), BoxPlace{From: on, Where: InStore})
			c.Spare = append(slices.Clone(c.Spare), b)
			return
		}
		b.Places = append(slices.Clone(b.Places), BoxPlace{From: on, Where: OnHive, HiveID: other.ID, Position: len(other.Boxes) + 1})
		other.Boxes = append(slices.Clone(other.Boxes), b)
	case 4: // opened on the way, or written down late
		if all := everyBox(c); len(all) > 0 {
			b := all[r.IntN(len(all))]
			b.Openings = append(slices.Clone(b.Openings), Opening{
				ID: fmt.Sprintf("%d-%s-aside", b.ID, today), On: max(b.SetUpOn, today-Date(r.IntN(400))), Joint: Difficulty(r.IntN(5)), Frames: NotTried, Scraped: ScrapedAll,
			})
			k.recorded(b, today, r.chance(0.3))
		}
	case 5: // a done visit of which somebody says what was not opened, or that it was not made
		for i := range c.Visits {
			v := &c.Visits[i]
			if v.Status != Done || len(v.Boxes) == 0 {
				continue
			}
			if r.chance(0.7) {
				v.NotOpened = []int64{v.Boxes[r.IntN(len(v.Boxes))].BoxID}
			} else {
				v.Boxes = v.Boxes[:len(v.Boxes)-1]
			}
			return
		}
	case 6: // somebody says that a visit was made, and writes nothing down
		for i := range c.Visits {
			if v := &c.Visits[i]; v.Status.Open() && v.On <= today {
				v.Status = Done
				return
			}
		}
	case 7:
		if len(c.Spare) > 0 {
			b := &c.Spare[r.IntN(len(c.Spare))]
			b.Repaired = append(slices.Clone(b.Repaired), today-Date(r.IntN(300)))
			slices.Sort(b.Repaired)
		}
	case 8: // driven elsewhere
		h.Name = fmt.Sprintf("H%d of %s", h.ID, today)
		c.Happen(&ColonyStep{ID: fmt.Sprintf("%s-%d-went", today, h.ID), HiveID: h.ID, On: on, What: Moved, ApiaryID: to.ID}, today)
	default:
		s := ColonyStep{
			ID: fmt.Sprintf("%d-%d", today, h.ID), HiveID: h.ID, On: on, What: Fates[r.IntN(len(Fates))], ApiaryID: to.ID,
			OtherID: to.Hives[r.IntN(len(to.Hives))].ID, Queen: []Queen{QueenStays, QueenGoes, QueenUnknown}[r.IntN(3)], Rest: BoxesStay,
		}
		if s.What == NewColony {
			s.On += Date(r.IntN(12))
		}
		c.Happen(&s, today) // most are refused, since something is missing
	}
}

// TestWhatIsKnownPlansAsTheRecordsDo lives half a year with several apiaries. Each night
// is planned by what was saved and by the whole records.
func TestWhatIsKnownPlansAsTheRecordsDo(t *testing.T) {
	known, all, seeds := 0, 0, uint64(4)
	if os.Getenv("PRYDAY_SOAK") != "" {
		seeds = 60
	}
	for seed := range seeds {
		r := newDice(seed)
		k := &keeping{club: keptBy(r.region(3, 5), 1, 2), saved: map[int64]SavedRates{}}
		c := k.club
		for today := testToday; today < testToday+180; today++ {
			known += len(k.night(t, today))
			all += len(c.Apiaries)
			if r.chance(0.2) {
				r.happen(k, today)
			}
			for i := range c.Visits {
				v := &c.Visits[i]
				switch {
				case v.On < today-3 || v.On > today || !v.Status.Open() && v.Status != Unanswered || r.chance(0.6):
				case r.chance(0.2) && v.Status.Open() && v.On == today:
					v.On, v.Pinned, v.Sequence = today+Date(r.IntN(4)), true, v.Sequence+1
				default:
					for b := range k.boxesOf(v) {
						if !r.chance(0.7) {
							continue
						}
						b.Openings = append(slices.Clone(b.Openings), Opening{
							ID: fmt.Sprintf("%d-%s-%d", b.ID, today, len(b.Openings)), On: v.On, Joint: Difficulty(r.IntN(5)), Frames: NotTried,
							Scraped: ScrapedPart, LeftShut: r.chance(0.1), By: int64(r.between(1, 2)),
						})
						k.recorded(b, today, r.chance(0.3))
					}
				}
			}
		}
	}
	t.Logf("known %d of %d", known, all)
	if known < all/2 {
		t.Errorf("known of %d apiaries and nights in %d: too few", known, all)
	}
}

// boxesOf goes over the boxes of a visit.
func (k *keeping) boxesOf(v *Visit) func(func(*Box) bool) {
	return func(yield func(*Box) bool) {
		for _, b := range everyBox(k.club) {
			if v.Lists(b.ID) && !yield(b) {
				return
			}
		}
	}
}
