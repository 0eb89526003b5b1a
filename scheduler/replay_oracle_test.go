package scheduler

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// oracle replays a club day by day with one big joint distribution of every h
// and every u. It shares nothing with Replay but the truncated normal moments.
type oracle struct {
	club    *Club
	seasons map[int64]*Season // by hive
	index   map[string]int    // of "h1" and "u1" in mean and cov
	mean    []float64
	cov     [][]float64
	age     map[int64]float64
	on      map[int64]BoxPlace // where each box stands
}

func newOracle(c *Club) *oracle {
	o := &oracle{club: c, seasons: map[int64]*Season{}, index: map[string]int{}, age: map[int64]float64{}, on: map[int64]BoxPlace{}}
	variances := []float64{}
	add := func(kind string, id int64, variance float64) {
		o.index[fmt.Sprint(kind, id)] = len(variances)
		variances = append(variances, variance)
	}
	for i := range c.Apiaries {
		for _, h := range c.Apiaries[i].Hives {
			o.seasons[h.ID] = NewSeason(c.Apiaries[i].Place(), &c.Rules)
			add("h", h.ID, 0.31)
		}
	}
	for _, b := range everyBox(c) {
		add("u", b.ID, 0.14)
	}
	o.mean = make([]float64, len(variances))
	for i, v := range variances {
		o.cov = append(o.cov, make([]float64, len(variances)))
		o.cov[i][i] = v
	}
	return o
}

// everyBox returns the boxes of c in record order.
func everyBox(c *Club) []*Box {
	var out []*Box
	for i := range c.Apiaries {
		for h := range c.Apiaries[i].Hives {
			for b := range c.Apiaries[i].Hives[h].Boxes {
				out = append(out, &c.Apiaries[i].Hives[h].Boxes[b])
			}
		}
	}
	for b := range c.Spare {
		out = append(out, &c.Spare[b])
	}
	return out
}

func (o *oracle) observe(b *Box, op *Opening) {
	if o.age[b.ID] > 0 && op.Difficulty() >= Loose {
		in := []int{o.index[fmt.Sprint("u", b.ID)]}
		extra := 0.45 * 0.45
		if p := o.on[b.ID]; p.Where == OnHive {
			in = append(in, o.index[fmt.Sprint("h", p.HiveID)])
		} else {
			extra += 0.31
		}
		mean, total := math.Log(o.age[b.ID]), extra
		with := make([]float64, len(o.mean))
		for _, i := range in {
			mean += o.mean[i]
			for j := range with {
				with[j] += o.cov[j][i]
			}
		}
		for _, i := range in {
			total += with[i]
		}
		c := []float64{math.Inf(-1), math.Log(40), math.Log(110), math.Log(220), math.Log(400), math.Inf(1)}
		sd, j := math.Sqrt(total), int(op.Difficulty())
		m, v := truncated((c[j]-mean)/sd, (c[j+1]-mean)/sd)
		for r := range with {
			o.mean[r] += with[r] / total * m * sd
			for k := range with {
				o.cov[r][k] += with[r] * with[k] / total * (v - 1)
			}
		}
	}
	if !op.LeftShut {
		o.age[b.ID] *= map[Scraped]float64{ScrapedAll: 0, ScrapedPart: 0.3, ScrapedNone: 0.6, "": 0.6}[op.Scraped]
	}
}

// forget makes one part of the distribution independent of the rest, and new
// when variance is not 0.
func (o *oracle) forget(part string, variance float64) {
	i := o.index[part]
	own := o.cov[i][i]
	for j := range o.mean {
		o.cov[i][j], o.cov[j][i] = 0, 0
	}
	o.cov[i][i] = own
	if variance > 0 {
		o.mean[i], o.cov[i][i] = 0, variance
	}
}

// cameOff reports whether a box has no opening on a day on which one below it, as
// the stack stood in the morning, came open.
func (o *oracle) cameOff(b *Box, d Date) bool {
	at := o.on[b.ID]
	if at.Where != OnHive || slices.ContainsFunc(b.Openings, func(op Opening) bool { return op.On == d }) {
		return false
	}
	for _, below := range everyBox(o.club) {
		if p := o.on[below.ID]; p.Where == OnHive && p.HiveID == at.HiveID && p.Position < at.Position &&
			slices.ContainsFunc(below.Openings, func(op Opening) bool { return op.On == d && !op.LeftShut }) {
			return true
		}
	}
	return false
}

// hardestOn is what counts of a box on a day: the hardest of those that came
// apart, the one that left most of the seal of several such, and one left shut
// if none came apart.
func hardestOn(b *Box, d Date) *Opening {
	rank := func(op *Opening) float64 {
		if op.LeftShut {
			return -1
		}
		return float64(op.Difficulty()) + op.remains()
	}
	var out *Opening
	for i := range b.Openings {
		if op := &b.Openings[i]; op.On == d && (out == nil || rank(op) > rank(out)) {
			out = op
		}
	}
	return out
}

// run lives through every day up to and including until.
func (o *oracle) run(from, until Date) {
	boxes := everyBox(o.club)
	for d := from; d <= until; d++ {
		slices.SortStableFunc(boxes, func(a, b *Box) int { // from the top
			return cmp.Compare(o.on[b.ID].Position, o.on[a.ID].Position)
		})
		for _, b := range boxes {
			if op := hardestOn(b, d); op != nil {
				o.observe(b, op)
			}
		}
		for _, b := range boxes {
			if o.cameOff(b, d) {
				o.age[b.ID] *= 0.6
			}
		}
		for _, b := range boxes {
			for _, p := range b.Places {
				if p.From != d {
					continue
				}
				if old := o.on[b.ID]; p.Where != OnHive || old.Where != OnHive || old.HiveID != p.HiveID {
					o.forget(fmt.Sprint("u", b.ID), 0)
				}
				o.on[b.ID] = p
			}
			if slices.Contains(b.Repaired, d) {
				o.forget(fmt.Sprint("u", b.ID), 0.14)
			}
		}
		for i := range o.club.Apiaries {
			for _, h := range o.club.Apiaries[i].Hives {
				if slices.Contains(h.Requeened, d) {
					o.forget(fmt.Sprint("h", h.ID), 0.31)
				}
			}
		}
		if d == until {
			break
		}
		for _, b := range boxes {
			if b.SetUpOn > d {
				continue
			}
			i := o.index[fmt.Sprint("u", b.ID)]
			o.cov[i][i] += 0.05 / 365.25
			if p := o.on[b.ID]; p.Where == OnHive {
				o.age[b.ID] += o.seasons[p.HiveID].Pace(d)
			}
		}
	}
}

func (o *oracle) rate(b *Box) (mean, variance float64) {
	u := o.index[fmt.Sprint("u", b.ID)]
	p := o.on[b.ID]
	if p.Where != OnHive {
		return o.mean[u], o.cov[u][u] + 0.31
	}
	h := o.index[fmt.Sprint("h", p.HiveID)]
	return o.mean[u] + o.mean[h], o.cov[u][u] + o.cov[h][h] + 2*o.cov[u][h]
}
