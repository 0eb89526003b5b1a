package main

import (
	"math"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

var (
	easyNotes = []string{
		"Calm, plenty of pollen coming in.", "Nice flat brood.", "Light rain after, closed up quickly.",
		"Queen seen.", "Two frames of stores moved up.", "Bees a little cross, wind got up.", "Drawn comb on nine frames.",
	}
	hardNotes = []string{
		"Needed the long tool on two corners.", "Glued along the whole back edge.", "Frames came only after cutting the sides.",
		"Took both of us.", "Brace comb between the boxes, scraped a tubful.", "Like toffee, warm day.", "End frame had to wait for a second go.",
	}
	stuckNotes = []string{
		"Lug came off in my hand.", "Would not come; the corner opened first.", "Bottom bar stayed with the box below.",
		"Stopped before the wood did.",
	}
	glueDamage = []scheduler.Condition{scheduler.LugBroken, scheduler.CornerLoose, scheduler.FrameBroken, scheduler.Cracked}
	wear       = []scheduler.Condition{scheduler.Warped, scheduler.RestWorn, scheduler.CombDamaged, scheduler.Rot, scheduler.FrameMissing, scheduler.WaxMoth, scheduler.ExcluderBent}
)

// find adds what was seen, measured and written down.
func (h *history) find(o *scheduler.Opening, hive *scheduler.Hive, box *scheduler.Box, hard scheduler.Difficulty) {
	switch {
	case hard == scheduler.Stuck && len(box.Openings) > 0 && h.chance(0.25):
		o.LeftShut, o.Joint, o.Frames, o.Scraped = true, scheduler.Stuck, scheduler.NotTried, scheduler.ScrapedNone
		o.Note = "Left shut rather than break it; back with a second person."
		return
	case hard == scheduler.Stuck:
		o.Condition = append(o.Condition, pick(h, glueDamage))
		o.Note = pick(h, stuckNotes)
	case hard == scheduler.Hard && h.chance(0.6):
		o.Note = pick(h, hardNotes)
	case h.chance(0.1):
		o.Note = pick(h, easyNotes)
	}
	if h.chance(0.05) {
		o.Condition = append(o.Condition, pick(h, wear))
	}
	switch {
	case hard >= scheduler.Hard:
		h.measure(o, box, 2+h.rng.IntN(2), true)
	case len(box.Openings) == 0 && h.chance(0.5):
		h.measure(o, box, 2, false)
	}
}

// measure adds gaps, which a member who reads inches takes in sixteenths.
// Where a box was hard to open the gap is often too narrow or too wide.
func (h *history) measure(o *scheduler.Opening, box *scheduler.Box, n int, hard bool) {
	at := []scheduler.GapPlace{scheduler.AboveFrames, scheduler.BetweenBoxes, scheduler.EndBarToBox, scheduler.FrameToWall}
	for i := range n {
		made := 8.7 + 0.9*h.rng.NormFloat64()
		if hard && h.chance(0.6) {
			made = pick(h, []float64{4.6, 12.8}) + 0.8*h.rng.NormFloat64()
		}
		mm := h.gapOf(box.Name, at[i%len(at)], made, o.On)
		g := scheduler.Gap{At: at[i%len(at)], MM: math.Round(2*mm) / 2}
		if who := &h.club.Members[o.By-1]; who.Units == text.Inches {
			g.MM = math.Round(mm/25.4*16) * 25.4 / 16
		}
		if h.chance(0.2) {
			g.MM, g.Peg = 0, h.peg(mm)
		}
		o.Gaps = append(o.Gaps, g)
	}
}

func (h *history) peg(mm float64) scheduler.Peg {
	switch limits := h.club.Rules.GapMM; {
	case mm < limits.Least:
		return scheduler.ThinWontGo
	case mm > limits.Most:
		return scheduler.ThickGoes
	}
	return scheduler.ThinGoes
}
