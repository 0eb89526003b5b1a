package scheduler

import (
	"fmt"
	"slices"
)

// HiveState is what the records up to a day say about the boxes of one hive:
// their seals and the joint normal distribution of the hive's part h and the
// boxes' parts u of ln k. It is plain data. A state kept from before can be
// continued with Apply and is then equal, bit for bit, to one replayed from
// the start.
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

// Apply continues h with an opening of one of its boxes at a place with season
// s. An opening that comes before the state's last event must not be applied:
// the history has to be replayed. Then, and for a box that h does not hold, it
// returns an error and changes nothing.
func (h *HiveState) Apply(s *Season, boxID int64, o *Opening) error {
	i := h.find(boxID)
	if i < 0 {
		return fmt.Errorf("box %d does not stand on hive %d", boxID, h.HiveID)
	}
	if o.On < h.On {
		return fmt.Errorf("opening of box %d on %v comes before %v, up to which hive %d is known", boxID, o.On, h.On, h.HiveID)
	}
	h.apply(s, i, o)
	return nil
}

func (h *HiveState) apply(s *Season, i int, o *Opening) {
	box := &h.Boxes[i]
	age := box.age(s, o.On)
	h.advance(o.On)
	h.observe(i, age, o.Difficulty())
	box.opened(o, age)
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
	for u := 1; u < n; u++ {
		h.Cov[u*n+u] += grown
	}
	h.On = d
}

// observe updates the distribution by an opening of the i-th box, with a seal
// of an age, that had a difficulty. At age 0 there is nothing to learn.
func (h *HiveState) observe(i int, age float64, hard Difficulty) {
	if age <= 0 || hard < Loose {
		return
	}
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
	shift, shrink := surprise(age, h.Mean[0]+h.Mean[u], with[0]+with[u], hard)
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

// forget widens one part of the distribution, 0 for h and i+1 for the i-th
// box, back to a prior of which nothing else is known.
func (h *HiveState) forget(part int, variance float64) {
	n := len(h.Mean)
	for j := range n {
		h.Cov[part*n+j], h.Cov[j*n+part] = 0, 0
	}
	h.Mean[part], h.Cov[part*n+part] = 0, variance
}
