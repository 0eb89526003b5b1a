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
	until   Date
	seasons map[int64]*Season // by hive
	index   map[string]int    // of "h1" and "u1" in mean and cov
	mean    []float64
	cov     [][]float64
	ages    map[int64][]oracleAge // of each seal: by the records, then if it was opened since
	on      map[int64]BoxPlace    // where each box stands
	off     map[int64]Date        // when each last came off for one below
}

// oracleAge is one age that a seal may have, and how likely.
type oracleAge struct{ age, weight float64 }

func newOracle(c *Club) *oracle {
	o := &oracle{club: c, seasons: map[int64]*Season{}, index: map[string]int{}, ages: map[int64][]oracleAge{}, on: map[int64]BoxPlace{}, off: map[int64]Date{}}
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

// meanAge is what a seal's age is on average.
func (o *oracle) meanAge(box int64) float64 {
	sum := 0.0
	for _, a := range o.ages[box] {
		sum += a.age * a.weight
	}
	return sum
}

// observe lets a box be opened, whose ln k is a sum of parts of the distribution.
// Each age by itself gives a truncated normal; what is kept are the moments of all
// of them together.
func (o *oracle) observe(b *Box, op *Opening) {
	if o.meanAge(b.ID) > 0 && op.Difficulty() >= Loose {
		in := []int{o.index[fmt.Sprint("u", b.ID)]}
		extra := 1.0
		if p := o.on[b.ID]; p.Where == OnHive {
			in = append(in, o.index[fmt.Sprint("h", p.HiveID)])
		} else {
			extra += 0.31
		}
		center, total, with := 0.0, extra, make([]float64, len(o.mean))
		for _, i := range in {
			center += o.mean[i]
			for j := range with {
				with[j] += o.cov[j][i]
			}
		}
		for _, i := range in {
			total += with[i]
		}
		c := []float64{math.Inf(-1), math.Log(40), math.Log(110), math.Log(220), math.Log(400), math.Inf(1)}
		sd, j, k := math.Sqrt(total), int(op.Difficulty()), int(op.Difficulty())
		if used := o.words(b); used != nil && !used[Light] {
			switch {
			case j == 0:
				k = 1
			case j == 2 && !used[Hard]:
				k = 3
			case j == 3 && !used[Firm]:
				j = 2
			}
		}
		sum, first, second := 0.0, 0.0, 0.0 // of likelihoods, and of the moments of ln k + e about center
		for i := range o.ages[b.ID] {
			a := &o.ages[b.ID][i]
			low, high := (c[j]-math.Log(a.age)-center)/sd, (c[k+1]-math.Log(a.age)-center)/sd
			m, v := 0.0, 0.0
			if a.age > 0 {
				a.weight *= 0.5*math.Erfc(low/math.Sqrt2) - 0.5*math.Erfc(high/math.Sqrt2)
				m, v = truncated(low, high)
			} else {
				m, v = 0, 1
				if j > 0 {
					a.weight = 0
				}
			}
			sum += a.weight
			first += a.weight * m * sd
			second += a.weight * (v + m*m) * total
		}
		for i := range o.ages[b.ID] {
			o.ages[b.ID][i].weight /= sum
		}
		first, second = first/sum, second/sum
		for r := range with {
			o.mean[r] += with[r] / total * first
			for k := range with {
				o.cov[r][k] += with[r] * with[k] / total * ((second-first*first)/total - 1)
			}
		}
	}
	if !op.LeftShut {
		left := map[Scraped]float64{ScrapedAll: 0, ScrapedPart: 0.3, ScrapedNone: 0.6, "": 0.6}[op.Scraped]
		if op.Scraped == "" && op.Joint < Loose && op.Frames < Loose { // left shut is none such
			left = 0.2
		}
		o.ages[b.ID] = []oracleAge{{o.meanAge(b.ID) * left, 1}}
	}
}

// words returns which grades the records of the apiary where a box stands know, or nil
// for too few of them. Histories here are written by nobody in particular.
func (o *oracle) words(b *Box) map[Difficulty]bool {
	n, used := 0, map[Difficulty]bool{}
	for _, other := range everyBox(o.club) {
		for _, op := range other.Openings {
			if g := op.Difficulty(); o.home(other) == o.home(b) && g >= Loose && op.On <= o.until {
				n++
				used[g] = true
			}
		}
	}
	if o.home(b) == 0 || n < 8 {
		return nil
	}
	return used
}

// home returns the apiary where a box is recorded, 0 for a spare one.
func (o *oracle) home(b *Box) int64 {
	for _, a := range o.club.Apiaries {
		for _, h := range a.Hives {
			if h.Box(b.ID) != nil {
				return a.ID
			}
		}
	}
	return 0
}

// maybeOpened lets a box have been opened with probability p, with little left.
func (o *oracle) maybeOpened(b *Box, p float64) {
	mean := o.meanAge(b.ID)
	if mean <= 0 {
		return
	}
	all := o.ages[b.ID]
	if len(all) == 4 {
		two := oracleAge{weight: all[1].weight + all[2].weight}
		two.age = (all[1].age*all[1].weight + all[2].age*all[2].weight) / two.weight
		all = []oracleAge{all[0], two, all[3]}
	}
	for i := range all {
		all[i].weight *= 1 - p
	}
	o.ages[b.ID] = append(all, oracleAge{0.2 * mean, p})
}

// chance returns how likely a box was opened on a day on which nobody wrote so down.
func (o *oracle) chance(b *Box, d, until Date) float64 {
	at := o.on[b.ID]
	written := slices.ContainsFunc(b.Openings, func(op Opening) bool { return op.On >= d-7 && op.On <= d+7 })
	on := func(b *Box, shut bool) bool {
		return slices.ContainsFunc(b.Openings, func(op Opening) bool { return op.On == d && (shut || !op.LeftShut) })
	}
	if at.Where != OnHive || b.SetUpOn >= d-7 || written || o.off[b.ID] >= d-7 {
		return 0
	}
	for _, v := range o.club.Visits {
		if v.Status == Done && v.On == d && d >= until-400 && slices.ContainsFunc(v.Boxes, func(vb VisitBox) bool { return vb.BoxID == b.ID }) {
			if slices.Contains(v.NotOpened, b.ID) {
				return 0
			}
			return 0.8
		}
	}
	for _, other := range everyBox(o.club) {
		if p := o.on[other.ID]; p.Where == OnHive && p.HiveID == at.HiveID && on(other, false) {
			return 0.1
		}
	}
	return 0
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
	o.until = until
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
				o.ages[b.ID] = []oracleAge{{o.meanAge(b.ID) * 0.2, 1}}
				o.off[b.ID] = d
			}
		}
		for _, b := range boxes {
			if p := o.chance(b, d, until); p > 0 {
				o.maybeOpened(b, p)
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
					o.change(h.ID, 0.65)
				}
			}
		}
		if d == until {
			break
		}
		o.newColonies()
		for _, b := range boxes {
			if b.SetUpOn > d {
				continue
			}
			if o.ages[b.ID] == nil {
				o.ages[b.ID] = []oracleAge{{0, 1}}
			}
			i := o.index[fmt.Sprint("u", b.ID)]
			o.cov[i][i] += 0.05 / 365.25
			if p := o.on[b.ID]; p.Where == OnHive {
				for i := range o.ages[b.ID] {
					o.ages[b.ID][i].age += o.seasons[p.HiveID].Pace(d)
				}
			}
		}
	}
}

// newColonies lets a day pass on which a colony may have changed without a record.
func (o *oracle) newColonies() {
	stays := math.Exp(-0.06 / 365.25)
	for id := range o.seasons {
		h := o.index[fmt.Sprint("h", id)]
		for j := range o.mean {
			if j != h {
				o.cov[h][j] *= stays
				o.cov[j][h] *= stays
			}
		}
		// stays as it was, or is drawn anew: the moments of the two together
		square := stays*(o.cov[h][h]+o.mean[h]*o.mean[h]) + (1-stays)*0.31
		o.mean[h] *= stays
		o.cov[h][h] = square - o.mean[h]*o.mean[h]
	}
}

// change lets a hive have a new queen, who keeps a part of how its bees glue.
func (o *oracle) change(hive int64, keeps float64) {
	h := o.index[fmt.Sprint("h", hive)]
	o.mean[h] *= keeps
	for j := range o.mean { // the variance twice
		o.cov[h][j] *= keeps
		o.cov[j][h] *= keeps
	}
	o.cov[h][h] += (1 - keeps*keeps) * 0.31
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
