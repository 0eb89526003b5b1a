package simulation

import (
	"fmt"
	"math"

	"pryday/scheduler"
)

// Population is one club of the tidy world with its truth: bees, boxes, weather
// and people. It is the same for every policy.
type Population struct {
	dice        dice
	assumptions Assumptions
	size        Size
	began       scheduler.Date // first day of the history
	from        scheduler.Date // first day under a policy
	scored      scheduler.Date // first day that counts
	until       scheduler.Date // first day after the last
	grades      [4]float64
	sites       []*site
}

// site is one apiary with its truth.
type site struct {
	pop     *Population
	nr      int
	climate *climate
	apiary  scheduler.Apiary // as recorded when the policy begins
	boxes   []bees           // hive by hive, from the bottom up
	seals   []seal           // when the policy begins
	keeper  float64          // how much harder its keeper grades than others, of ln
}

// bees is what glues one box: ln k in each year of the simulation, which runs
// from May to April.
type bees struct {
	id     int
	hive   int
	lnRate []float64
}

// seal is the true state of one box.
type seal struct {
	since scheduler.Date
	left  float64 // strength at since, in sealing days of a box of rate 1
}

// midContinent is the longitude of every tidy club, in degrees: the temperatures of
// newClimate are those of a continent's middle, and the season of a region follows
// from its coordinates.
const midContinent = -85

// epoch is the year in which every simulation begins.
const epoch = 2001

// NewPopulation makes the club of a seed.
func NewPopulation(seed int, size Size, a Assumptions) *Population {
	p := &Population{
		dice: dice(mix(uint64(seed))), assumptions: a, size: size,
		began:  scheduler.NewDate(epoch, 1, 1),
		from:   scheduler.NewDate(epoch+size.History, 1, 1),
		scored: scheduler.NewDate(epoch+size.History+size.Change, 1, 1),
		until:  scheduler.NewDate(epoch+size.History+size.Change+size.Years, 1, 1),
	}
	all := a.GradesSD * p.dice.normal(forClub, 0)
	for j, g := range a.Grades {
		p.grades[j] = g * math.Exp(all+a.EachGradeSD*p.dice.normal(forClub, 1, j))
	}
	for j := 1; j < len(p.grades); j++ {
		p.grades[j] = max(p.grades[j], p.grades[j-1])
	}
	latitude := p.dice.between(a.MinLatitude, a.MaxLatitude, forClub, 2)
	for nr := range size.Apiaries {
		p.sites = append(p.sites, p.newSite(nr, latitude))
	}
	return p
}

func (p *Population) newSite(nr int, latitude float64) *site {
	a := &p.assumptions
	latitude += p.dice.between(-0.5, 0.5, forPlace, nr, 2)
	elevation := p.dice.between(0, a.MaxElevationM, forPlace, nr, 3)
	s := &site{
		pop: p, nr: nr,
		climate: newClimate(p.dice, a, nr, latitude, elevation, p.began, p.until+60),
		keeper:  a.KeeperSD * p.dice.normal(forKeeper, nr),
		apiary: scheduler.Apiary{
			ID: int64(nr) + 1, Name: fmt.Sprintf("Apiary %d", nr+1), Timezone: "UTC",
			Latitude: latitude, Longitude: midContinent, ElevationM: elevation,
		},
	}
	if p.dice.draw(forPlace, nr, 4) < a.Weekends {
		s.apiary.Weekdays = 1<<0 | 1<<6
	}
	for h := range p.size.Hives {
		s.addHive(h)
	}
	s.seals = make([]seal, len(s.boxes))
	for i := range s.seals {
		s.seals[i].since = p.began
	}
	s.live()
	return s
}

// addHive makes a colony and its boxes, which are set up clean on the first
// day.
func (s *site) addHive(h int) {
	p, a := s.pop, &s.pop.assumptions
	colonySD := p.dice.between(a.ColonySD[0], a.ColonySD[1], forClub, 3)
	boxSD := p.dice.between(a.BoxSD[0], a.BoxSD[1], forClub, 4)
	hive := scheduler.Hive{ID: int64(s.nr*1000 + h + 1), Name: fmt.Sprintf("Hive %d", h+1)}
	kept := math.Sqrt(max(0, 1-a.DriftVariance/(boxSD*boxSD)))
	boxes := max(1, p.size.Boxes-1+int(3*p.dice.draw(forStack, s.nr, h)))
	years := p.size.History + p.size.Change + p.size.Years + 1
	colony := make([]float64, years)
	for y := range colony {
		replaced := p.dice.draw(ofReplacing, s.nr, h, y, 0) < a.Replaced
		switch {
		case y == 0 || replaced:
			colony[y] = colonySD * p.dice.normal(forColony, s.nr, h, y)
		default:
			colony[y] = colony[y-1]
		}
		if y > 0 && replaced && p.dice.draw(ofReplacing, s.nr, h, y, 1) < a.ReplacedNoted {
			hive.Requeened = append(hive.Requeened, scheduler.NewDate(epoch+y, 5, 1))
		}
	}
	for b := range boxes {
		id := s.nr*100000 + h*100 + b + 1
		own := boxSD * p.dice.normal(forBox, id)
		place := 0.0
		switch {
		case boxes > 1 && b == 0:
			place = a.LowestBox
		case boxes > 1 && b == boxes-1:
			place = -a.LowestBox
		}
		truth := bees{id: id, hive: h, lnRate: make([]float64, years)}
		for y := range years {
			if y > 0 {
				own = kept*own + math.Sqrt(a.DriftVariance)*p.dice.normal(forDrift, id, y)
			}
			truth.lnRate[y] = colony[y] + place + own
		}
		s.boxes = append(s.boxes, truth)
		hive.Boxes = append(hive.Boxes, scheduler.Box{
			ID: int64(id), Name: fmt.Sprintf("B%d", id), Kind: "deep", SetUpOn: p.began,
		})
	}
	s.apiary.Hives = append(s.apiary.Hives, hive)
}

// live lets the years of history pass. The club opens its hives three times a
// year and leaves out a stack, or the lower boxes of it, when it feels so.
func (s *site) live() {
	p := s.pop
	for _, day := range calendarDays(&s.apiary, 3, p.began, p.from) {
		on := s.climate.dryDay(day, s.apiary.Weekdays)
		if on >= p.from || !s.made(day) {
			continue
		}
		for i := range s.boxes {
			mood := p.dice.draw(forHabit, s.nr, s.boxes[i].hive, int(on))
			if mood < 0.1 || mood < 0.3 && s.isLowest(i) {
				continue
			}
			s.open(s.seals, i, on, &s.box(&s.apiary, i).Openings)
		}
	}
}

func (s *site) isLowest(i int) bool { return i == 0 || s.boxes[i-1].hive != s.boxes[i].hive }

// box returns the record of the i-th box in a copy of the site's apiary.
func (s *site) box(a *scheduler.Apiary, i int) *scheduler.Box {
	first := i
	for !s.isLowest(first) {
		first--
	}
	return &a.Hives[s.boxes[i].hive].Boxes[i-first]
}

// made reports whether the visit meant for a day is made at all.
func (s *site) made(day scheduler.Date) bool {
	return s.pop.dice.draw(ofGoing, s.nr, int(day)) >= s.pop.assumptions.NotMade
}
