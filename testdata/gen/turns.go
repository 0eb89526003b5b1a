package main

import (
	"slices"

	"pryday/scheduler"
)

// turns adds what happens once in a while: new queens, days to leave a hive
// alone, boxes that move, are lent, stored or worn out, and slips of the pen.
func (h *history) turns() {
	date := scheduler.NewDate
	mill, quarry, ferry := &h.club.Apiaries[0], &h.club.Apiaries[1], &h.club.Apiaries[4]

	mill.Hives[1].Requeened = []scheduler.Date{date(2025, 6, 12)}
	quarry.Hives[3].Requeened = []scheduler.Date{date(2026, 7, 2)}
	ferry.Hives[2].Requeened = []scheduler.Date{date(2024, 8, 8)}
	mill.Hives[3].LeaveAlone = []scheduler.Period{
		{From: date(2026, 6, 14), Until: date(2026, 7, 5), Reason: "queen cells"},
		{From: date(2027, 4, 24), Until: date(2027, 5, 13), Reason: "new queen, do not open before she lays"},
	}
	quarry.Hives[0].LeaveAlone = []scheduler.Period{{From: date(2026, 8, 20), Until: date(2026, 9, 24), Reason: "treatment on"}}

	h.numberBoxes()
	h.move(tall(mill), &quarry.Hives[1], date(2026, 7, 9))
	h.takeOff(tall(mill), scheduler.BoxPlace{From: date(2026, 9, 18), Where: scheduler.InStore})
	h.takeOff(tall(quarry), scheduler.BoxPlace{From: date(2027, 4, 3), Where: scheduler.Lent, LentTo: "the beginners' course", Until: date(2027, 6, 15)})
	h.takeOff(tall(ferry), scheduler.BoxPlace{From: date(2026, 8, 29), Where: scheduler.Retired})
	h.repair(&quarry.Hives[3].Boxes[0], date(2026, 12, 12))
	h.repair(&mill.Hives[4].Boxes[0], date(2025, 12, 28))
	h.correct(&mill.Hives[5])
}

// numberBoxes gives boxes their final ids, which the visits then name.
func (h *history) numberBoxes() {
	final, next := map[int64]int64{}, int64(1)
	for a := range h.club.Apiaries {
		for i := range h.club.Apiaries[a].Hives {
			hive := &h.club.Apiaries[a].Hives[i]
			for b := range hive.Boxes {
				hive.Boxes[b].ID = next
				final[boxID(hive.ID, b)] = next
				next++
			}
		}
	}
	for v := range h.visits {
		for b := range h.visits[v].Boxes {
			h.visits[v].Boxes[b].BoxID = final[h.visits[v].Boxes[b].BoxID]
		}
	}
}

// tall returns the first hive that is high enough to lose its top box, which
// has been opened often.
func tall(a *scheduler.Apiary) *scheduler.Hive {
	for i := range a.Hives {
		if n := len(a.Hives[i].Boxes); n > 2 && len(a.Hives[i].Boxes[n-1].Openings) > 3 {
			return &a.Hives[i]
		}
	}
	panic(a.Name + " has no hive of three boxes")
}

// top takes the top box off a hive and drops what was recorded of it from a
// day on.
func top(hive *scheduler.Hive, day scheduler.Date) scheduler.Box {
	last := len(hive.Boxes) - 1
	b := hive.Boxes[last]
	hive.Boxes = hive.Boxes[:last]
	b.Openings = slices.DeleteFunc(b.Openings, func(o scheduler.Opening) bool { return o.On >= day })
	b.Places = []scheduler.BoxPlace{{From: b.SetUpOn, Where: scheduler.OnHive, HiveID: hive.ID, Position: last + 1}}
	return b
}

// move puts the top box of one hive on another.
func (h *history) move(from, to *scheduler.Hive, day scheduler.Date) {
	b := top(from, day)
	b.Places = append(b.Places, scheduler.BoxPlace{From: day, Where: scheduler.OnHive, HiveID: to.ID, Position: len(to.Boxes) + 1})
	to.Boxes = append(to.Boxes, b)
}

// takeOff moves the top box of a hive to a place that is no hive.
func (h *history) takeOff(from *scheduler.Hive, to scheduler.BoxPlace) {
	b := top(from, to.From)
	b.Places = append(b.Places, to)
	if to.Where == scheduler.Retired {
		b.RetiredOn = to.From
		last := &b.Openings[len(b.Openings)-1]
		last.Condition = []scheduler.Condition{scheduler.Rot, scheduler.CornerLoose}
		last.Note = "Wall soft at the back, not worth mending."
	}
	h.club.Spare = append(h.club.Spare, b)
}

func (h *history) repair(b *scheduler.Box, day scheduler.Date) {
	b.Repaired = append(b.Repaired, day)
}

// correct mends two slips of the pen: a difficulty that was noted for the wrong
// box, and an opening that never was.
func (h *history) correct(hive *scheduler.Hive) {
	low := &hive.Boxes[0]
	wrong := low.Openings[len(low.Openings)-1]
	right := wrong
	right.ID, right.Supersedes, right.Joint, right.Frames = h.id(), wrong.ID, scheduler.Light, scheduler.Firm
	right.Gaps, right.Condition, right.Note = nil, nil, "Was written down for the box above."
	low.Openings = append(low.Openings, right)

	high := &hive.Boxes[len(hive.Boxes)-1]
	slip := scheduler.Opening{ID: h.id(), On: wrong.On + 1, Joint: scheduler.Loose, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedNone, By: wrong.By}
	back := slip
	back.ID, back.Supersedes, back.Void, back.Note = h.id(), slip.ID, true, "Other hive."
	high.Openings = append(high.Openings, slip, back)
}

// comingVisits records the visits that people have already seen, as planned on
// the eve of the story, so that one may be on the day after it begins, and says who goes to some of them.
func (h *history) comingVisits() {
	h.club.Visits = h.visits
	slices.SortStableFunc(h.club.Visits, func(a, b scheduler.Visit) int { return int(a.On - b.On) })
	for i := range h.club.Visits {
		h.club.Visits[i].ID = int64(i + 1)
	}
	plan := scheduler.PlanClub(h.club, demoDay-1)
	for _, v := range plan.Visits {
		if v.Status != scheduler.Confirmed {
			continue
		}
		v.ID, v.UID, v.FirstSeen = int64(len(h.club.Visits)+1), h.id(), demoDay-1-scheduler.Date(h.rng.IntN(8))
		v.Who = nil
		if a := &h.club.Apiaries[v.ApiaryID-1]; a.Name != "Quarry Field" && a.Name != "Ferry Landing" {
			v.Who = a.Keepers[:1:1]
		}
		h.club.Visits = append(h.club.Visits, v)
	}
}
