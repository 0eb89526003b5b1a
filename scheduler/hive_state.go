package scheduler

import (
	"math"
	"slices"
)

// HiveState is what the records up to a day say about the boxes of one hive:
// their seals and the joint normal distribution of the hive's part h and the
// boxes' parts u of ln k.
type HiveState struct {
	HiveID int64
	On     Date      // the day that Mean and Cov stand for: the last event
	Boxes  []Seal    // that stand on the hive
	Mean   []float64 // of h, then of u of each of Boxes
	Cov    []float64 // their covariances, row by row
}

// NewHiveState returns the state of a hive of which nothing is known.
func NewHiveState(hiveID int64) *HiveState {
	return &HiveState{HiveID: hiveID, Mean: []float64{0}, Cov: []float64{hiveVariance}}
}

// apply lets the i-th box be opened at a place with season s.
func (h *HiveState) apply(s *Season, i int, o *Opening, w *words) {
	box := &h.Boxes[i]
	grown := s.SealingDays(box.Since, o.On)
	h.advance(o.On)
	if o.Difficulty() >= Loose {
		h.observe(i, grown, w.span(o.Difficulty()))
	}
	box.opened(o, box.Left+grown)
	if !o.LeftShut {
		h.cameOff(s, box.Position, o.On)
	}
}

// cameOff breaks the seals of the boxes that stood above a place on a day on
// which the box there was opened: they came off too, though nobody wrote down how
// hard they were or what was scraped. Those with a record of their own of that
// day, which comes first, are left as it says.
func (h *HiveState) cameOff(s *Season, above int, on Date) {
	for i := range h.Boxes {
		if box := &h.Boxes[i]; box.Position > above && box.LastTried != on && box.From < on {
			box.cameOff(on, box.age(s, on))
		}
	}
}

// Rate returns the rate of the i-th of Boxes.
func (h *HiveState) Rate(i int) BoxRate {
	n := len(h.Mean)
	u := i + 1
	return BoxRate{
		Seal: h.Boxes[i], HiveID: h.HiveID, RatedOn: h.On,
		Mean:     h.Mean[0] + h.Mean[u],
		Variance: h.Cov[0] + 2*h.Cov[u] + h.Cov[u*n+u],
	}
}

func (h *HiveState) find(boxID int64) int {
	for i := range h.Boxes {
		if h.Boxes[i].BoxID == boxID {
			return i
		}
	}
	return -1
}

// newColony lets the bees have changed unnoticed until d: with the probability of
// that h is drawn anew from the prior. What is kept are the moments of both
// cases together, so that two spans of time come to the same as one.
func (h *HiveState) newColony(d Date) {
	stays := math.Exp(-colonyChange * float64(d-h.On) / 365.25)
	n, m := len(h.Mean), h.Mean[0]
	h.Mean[0] *= stays
	h.Cov[0] = stays*h.Cov[0] + (1-stays)*hiveVariance + stays*(1-stays)*m*m
	for u := 1; u < n; u++ {
		h.Cov[u] *= stays
		h.Cov[u*n] = h.Cov[u]
	}
}

// advance lets time pass until d.
func (h *HiveState) advance(d Date) {
	if h.On == 0 { // new: nothing to drift yet
		h.On = d
		return
	}
	if d <= h.On {
		return
	}
	grown := drift(h.On, d)
	n := len(h.Mean)
	h.newColony(d)
	for u := 1; u < n; u++ {
		h.Cov[u*n+u] += grown
	}
	h.On = d
}

// observe updates the distribution by an opening of the i-th box, with a seal
// of an age, that had a difficulty. At age 0 there is nothing to learn.
func (h *HiveState) observe(i int, grown float64, found span) {
	n := len(h.Mean)
	u := i + 1
	var few [16]float64
	with := few[:] // covariances of everything with ln k of the box
	if n > len(few) {
		with = make([]float64, n)
	}
	for j := range n {
		with[j] = h.Cov[j] + h.Cov[u*n+j]
	}
	shift, shrink := h.Boxes[i].learn(grown, h.Mean[0]+h.Mean[u], with[0]+with[u], found)
	if shift == 0 && shrink == 0 {
		return
	}
	for j := range n {
		h.Mean[j] += with[j] * shift
		for k := range n {
			h.Cov[j*n+k] -= with[j] * with[k] * shrink
		}
	}
}

// reserve makes room for n boxes.
func (h *HiveState) reserve(n int) {
	h.Boxes = slices.Grow(h.Boxes, n)
	h.Mean = slices.Grow(h.Mean, n)
	h.Cov = slices.Grow(h.Cov, (n+1)*(n+1))
}

// put stands a box on the hive. Its u is known by itself only.
func (h *HiveState) put(box Seal, u marginal) {
	n := len(h.Mean)
	size := (n + 1) * (n + 1)
	h.Cov = slices.Grow(h.Cov, size-n*n)[:size]
	for j := n - 1; j >= 0; j-- { // rows grow from the last on, over nothing still needed
		copy(h.Cov[j*(n+1):j*(n+1)+n], h.Cov[j*n:j*n+n])
		h.Cov[j*(n+1)+n] = 0
	}
	clear(h.Cov[n*(n+1):])
	h.Cov[size-1] = u.variance
	h.Boxes, h.Mean = append(h.Boxes, box), append(h.Mean, u.mean)
}

// take takes the i-th box off the hive, with what is known of its u by itself.
func (h *HiveState) take(i int) (Seal, marginal) {
	n, u := len(h.Mean), i+1
	box, own := h.Boxes[i], marginal{h.Mean[u], h.Cov[u*n+u], h.On}
	to := 0
	for j := range n {
		for k := range n {
			if j != u && k != u {
				h.Cov[to] = h.Cov[j*n+k]
				to++
			}
		}
	}
	h.Cov = h.Cov[:to]
	h.Boxes = append(h.Boxes[:i], h.Boxes[i+1:]...)
	h.Mean = append(h.Mean[:u], h.Mean[u+1:]...)
	return box, own
}

// requeen lets a new queen have taken the hive over.
func (h *HiveState) requeen() {
	h.Mean[0] *= queenKeeps
	h.Cov[0] = queenKeeps*queenKeeps*h.Cov[0] + (1-queenKeeps*queenKeeps)*hiveVariance
	for u, n := 1, len(h.Mean); u < n; u++ {
		h.Cov[u] *= queenKeeps
		h.Cov[u*n] = h.Cov[u]
	}
}

// forget widens one part of the distribution, i+1 for the i-th box, back to a prior of which nothing else is known.
func (h *HiveState) forget(part int, variance float64) {
	n := len(h.Mean)
	for j := range n {
		h.Cov[part*n+j], h.Cov[j*n+part] = 0, 0
	}
	h.Mean[part], h.Cov[part*n+part] = 0, variance
}
