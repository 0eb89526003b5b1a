package main

import "pryday/scheduler"

// How gaps change: wood gives way a little each year, here and there much.
// Common practice, no source.
const (
	yearlyDrift = 0.12 // mm, of most gaps, either way
	fastDrift   = -0.9 // mm, where a rest wears or a floor sinks
	fastShare   = 0.15
	handMM      = 0.3 // how far apart two measurements of one gap are
	narrowestMM = 1.0
)

// gapAt is one gap of a box.
type gapAt struct {
	box string
	at  scheduler.GapPlace
}

// woodGap is what a gap was when it was measured for the first time, and how it
// drifts.
type woodGap struct {
	on         scheduler.Date
	mm, yearly float64
}

// gapOf measures a gap on a day; one that was never measured before is as wide
// as made says.
func (h *history) gapOf(box string, at scheduler.GapPlace, made float64, on scheduler.Date) float64 {
	w, known := h.wood[gapAt{box, at}]
	if !known {
		w = woodGap{on: on, mm: made, yearly: yearlyDrift * h.hand.NormFloat64()}
		if h.hand.Float64() < fastShare {
			w.yearly = fastDrift
		}
		h.wood[gapAt{box, at}] = w
	}
	return max(w.mm+w.yearly*float64(on-w.on)/365.25+handMM*h.hand.NormFloat64(), narrowestMM)
}
