package main

import (
	"math"
	"math/rand/v2"
	"slices"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// The truth that the boxes follow: ln k of a box is its hive's part and its
// own, and every opening has noise.
const (
	hiveSpread = 0.56
	boxSpread  = 0.37
	noise      = 0.45
)

var thresholds = [...]float64{40, 110, 220, 400} // sealing days, for difficulties 1 to 4

// history makes up what happened to a club's boxes.
type history struct {
	club   *scheduler.Club
	rng    *rand.Rand
	hand   *rand.Rand // of measuring
	wood   map[gapAt]woodGap
	marks  map[string]int
	truth  map[string]float64 // of each box, by its mark
	hives  map[int64]float64
	left   map[string]float64 // sealing days left in the seal at the last opening
	since  map[string]scheduler.Date
	visits []scheduler.Visit
}

func newHistory(c *scheduler.Club) *history {
	return &history{
		club: c, rng: rand.New(rand.NewPCG(2027, 429)), hand: rand.New(rand.NewPCG(2027, 430)), wood: map[gapAt]woodGap{}, marks: map[string]int{}, truth: map[string]float64{},
		hives: map[int64]float64{}, left: map[string]float64{}, since: map[string]scheduler.Date{},
	}
}

func (h *history) chance(p float64) bool { return h.rng.Float64() < p }

func pick[T any](h *history, from []T) T { return from[h.rng.IntN(len(from))] }

// id makes an opening's id, as a phone would, from the seed.
func (h *history) id() string {
	var b [16]byte
	for i := range b {
		b[i] = byte(h.rng.UintN(256))
	}
	b[6], b[8] = b[6]&0x0f|0x40, b[8]&0x3f|0x80
	return uuid.UUID(b).String()
}

// apiary sets up an apiary's hives and lets the years pass.
func (h *history) apiary(a *scheduler.Apiary, habit *habit) {
	season := scheduler.NewSeason(a.Place(), &h.club.Rules)
	for i := range a.Hives {
		h.hives[a.Hives[i].ID] = hiveSpread * h.rng.NormFloat64()
		set := scheduler.NewDate(habit.set[0], 1, 1) + scheduler.Date(habit.set[1]+h.rng.IntN(9))
		if i >= len(a.Hives)-2 && h.chance(0.5) {
			set += scheduler.Date(340 + h.rng.IntN(50)) // a swarm or a split of the year after
		}
		h.stack(&a.Hives[i], habit, set)
	}
	for year, n := range habit.visits {
		for _, day := range h.visitDays(season, 2024+year, n, habit.day) {
			h.visit(a, habit, season, day)
		}
	}
}

// stack puts the boxes of a hive together.
func (h *history) stack(hive *scheduler.Hive, habit *habit, set scheduler.Date) {
	kinds := []string{"deep"}
	for range 1 + h.rng.IntN(habit.supers) {
		kinds = append(kinds, pick(h, []string{"deep", "medium", "medium", "shallow"}))
	}
	slices.SortStableFunc(kinds[1:], func(a, b string) int { return int(a[0]) - int(b[0]) })
	for i, kind := range kinds {
		b := scheduler.Box{Name: h.mark(kind), Kind: kind, SetUpOn: set}
		if i > 1 {
			b.SetUpOn += scheduler.Date(18 + h.rng.IntN(20))
		}
		h.truth[b.Name] = boxSpread * h.rng.NormFloat64()
		h.since[b.Name] = b.SetUpOn
		hive.Boxes = append(hive.Boxes, b)
	}
}

// visitDays spreads a year's visits over its season, on the keepers' day of the
// week.
func (h *history) visitDays(s *scheduler.Season, year, n, weekday int) []scheduler.Date {
	starts := s.Starts(year)
	first, last := starts[scheduler.BuildUp]+8, starts[scheduler.Winter]-30
	if year == demoDay.Year() {
		last = demoDay - 8
	}
	var out []scheduler.Date
	for i := range n {
		day := first
		if n > 1 {
			day += (last - first) * scheduler.Date(i) / scheduler.Date(n-1)
		}
		day += scheduler.Date(h.rng.IntN(11) - 3)
		day += scheduler.Date((weekday - int(day.Weekday()) + 7) % 7)
		if day >= first && s.MayOpen(day) && day < demoDay {
			out = append(out, day)
		}
	}
	return out
}

// visit opens the upper boxes of most hives, and some stacks down to the floor.
func (h *history) visit(a *scheduler.Apiary, habit *habit, s *scheduler.Season, day scheduler.Date) {
	if slices.ContainsFunc(a.Standstill, func(p scheduler.Period) bool { return p.Contains(day) }) {
		return
	}
	who := habit.who[0]
	if len(habit.who) > 1 && h.chance(0.35) {
		who = habit.who[1]
	}
	v := scheduler.Visit{
		UID: h.id(), ApiaryID: a.ID, On: day, Status: scheduler.Done, Sequence: 1 + h.rng.IntN(3),
		Who: []int64{who}, FirstSeen: day - scheduler.Date(14+h.rng.IntN(20)),
	}
	if s.Stage(day) == scheduler.Autumn {
		v.For = scheduler.VisitRequired
	}
	for i := range a.Hives {
		hive := &a.Hives[i]
		if h.chance(0.08) {
			continue
		}
		standing := 0
		for standing < len(hive.Boxes) && hive.Boxes[standing].SetUpOn < day-10 {
			standing++
		}
		lowest := 0
		if !h.chance(habit.whole) {
			lowest = 1 + h.rng.IntN(max(standing, 1))
		}
		for b := standing - 1; b >= lowest; b-- {
			box := &hive.Boxes[b]
			v.Boxes = append(v.Boxes, scheduler.VisitBox{BoxID: boxID(hive.ID, b)})
			box.Openings = append(box.Openings, h.opening(hive, box, s, day, who))
		}
	}
	if len(v.Boxes) > 0 && day > demoDay-400 {
		h.visits = append(h.visits, v)
	}
}

// boxID stands for a box until all of them have been numbered.
func boxID(hive int64, place int) int64 { return 1000*hive + int64(place) }

// opening makes up how one box came apart.
func (h *history) opening(hive *scheduler.Hive, box *scheduler.Box, s *scheduler.Season, day scheduler.Date, who int64) scheduler.Opening {
	age := h.left[box.Name] + s.SealingDays(h.since[box.Name], day)
	pull := math.Log(max(age, 1e-9)) + h.hives[hive.ID] + h.truth[box.Name] + noise*h.rng.NormFloat64()
	hard := scheduler.Loose
	for j, t := range thresholds {
		if pull > math.Log(t) {
			hard = scheduler.Difficulty(j + 1)
		}
	}
	o := scheduler.Opening{ID: h.id(), On: day, By: who, Joint: hard, Frames: hard, Scraped: scheduler.ScrapedAll}
	easier := max(0, hard-scheduler.Difficulty(h.rng.IntN(3)))
	switch r := h.rng.Float64(); {
	case r < 0.15 && hard < scheduler.Stuck:
		o.Frames = scheduler.NotTried
	case r < 0.65:
		o.Frames = easier
	default:
		o.Joint = easier
	}
	switch r := h.rng.Float64(); {
	case r < 0.15 && hard < scheduler.Hard:
		o.Scraped = scheduler.ScrapedNone
	case r < 0.45:
		o.Scraped = scheduler.ScrapedPart
	}
	h.find(&o, hive, box, hard)
	h.since[box.Name] = day
	h.left[box.Name] = age * map[scheduler.Scraped]float64{scheduler.ScrapedPart: 0.3, scheduler.ScrapedNone: 0.6}[o.Scraped]
	return o
}
