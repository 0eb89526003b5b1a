package simulation

import (
	"fmt"
	"math"

	"pryday/scheduler"
)

// ImperfectClub is one club of the imperfect world: its bees, boxes, weather and
// people. It is the same for every policy.
type ImperfectClub struct {
	dice   dice
	a      Imperfect
	size   Size
	region Region
	began  scheduler.Date // first day of the history
	from   scheduler.Date // first day under a policy
	scored scheduler.Date // first day that counts
	until  scheduler.Date // first day after the last

	grades       [4]float64
	alone        float64 // how near to stuck a year brings an average box
	colonyCV     float64
	boxSD        float64
	gammaShape   float64 // of the seals of a year; 0 where they do not grow by leaps
	weibullShape float64 // 0 where they do

	yards []*yard
}

// yard is one apiary of the imperfect world.
type yard struct {
	club    *ImperfectClub
	nr      int
	weather *weather
	gluing  *gluing
	lives   [][]reign // by hive
	places  []place   // hive by hive, from the bottom up
	grader  grader
	written *keep // when a policy begins, with the records as they were kept
	perfect *keep // and with perfect ones
}

// place is a place in a stack, and the box that stands there at first.
type place struct {
	hive, level int // level from the bottom, 0 the lowest
	box         int // its number
	lift        float64
}

// NewImperfectClub makes the club of a seed.
func NewImperfectClub(seed int, size Size, a Imperfect) *ImperfectClub {
	d := dice(mix(uint64(seed) ^ 0x696d70657266))
	p := &ImperfectClub{
		dice: d, a: a, size: size, region: a.Regions[seed%len(a.Regions)],
		began:  scheduler.NewDate(epoch, 1, 1),
		from:   scheduler.NewDate(epoch+size.History, 1, 1),
		scored: scheduler.NewDate(epoch+size.History+size.unscored(), 1, 1),
		until:  scheduler.NewDate(epoch+size.History+size.unscored()+size.Years, 1, 1),
	}
	all := math.Exp(a.GradesSD * d.normal(forClub, 0))
	for j, g := range a.Grades {
		p.grades[j] = g * all
	}
	p.alone = d.between(a.YearAlone[0], a.YearAlone[1], forLevel, 0)
	p.colonyCV = d.between(a.ColonyCV[0], a.ColonyCV[1], forLevel, 1)
	p.boxSD = d.between(a.BoxSD[0], a.BoxSD[1], forLevel, 2)
	if d.draw(forLevel, 3) < a.GammaShare {
		p.gammaShape = d.between(a.GammaShape[0], a.GammaShape[1], forLevel, 4)
	} else {
		p.weibullShape = d.between(a.WeibullShape[0], a.WeibullShape[1], forLevel, 5)
	}
	latitude := d.between(p.region.MinLatitude, p.region.MaxLatitude, forClub, 2)
	for nr := range size.Apiaries {
		p.yards = append(p.yards, p.newYard(nr, latitude))
	}
	return p
}

// years returns how many years may be asked for, with one to spare.
func (p *ImperfectClub) years() int { return p.size.History + p.size.Change + p.size.Years + 1 }

func (p *ImperfectClub) newYard(nr int, latitude float64) *yard {
	d := p.dice
	latitude += d.between(-0.5, 0.5, forPlace, nr, 2)
	elevation := d.between(p.region.LowestM, p.region.HighestM, forPlace, nr, 3)
	y := &yard{
		club: p, nr: nr, grader: p.newGrader(nr),
		weather: newWeather(d, &p.a, &p.region, nr, latitude, elevation, p.began, p.until+60),
	}
	apiary := scheduler.Apiary{
		ID: int64(nr) + 1, Name: fmt.Sprintf("Apiary %d", nr+1), Timezone: "UTC",
		Latitude: latitude, Longitude: p.region.Longitude, ElevationM: elevation,
	}
	if d.draw(forPlace, nr, 4) < p.a.Weekends {
		apiary.Weekdays = 1<<0 | 1<<6
	}
	for h := range p.size.Hives {
		apiary.Hives = append(apiary.Hives, y.addHive(h))
		y.lives = append(y.lives, p.lives(nr*1000+h, latitude))
	}
	y.gluing = y.newGluing(y.lives)
	y.written = y.newKeep(notebook{yard: y, apiary: cloneApiary(&apiary)})
	y.perfect = y.newKeep(notebook{yard: y, apiary: apiary, perfect: true})
	y.written.live()
	y.perfect.live()
	return y
}

// addHive stands up a hive, whose boxes are clean on the first day.
func (y *yard) addHive(h int) scheduler.Hive {
	p := y.club
	hive := scheduler.Hive{ID: int64(y.nr*1000 + h + 1), Name: fmt.Sprintf("Hive %d", h+1)}
	boxes := max(1, p.size.Boxes-1+int(3*p.dice.draw(forStack, y.nr, h)))
	for b := range boxes {
		id := y.nr*100000 + h*100 + b + 1
		lift := 1.0
		switch {
		case boxes > 1 && b == 0:
			lift = math.Exp(p.a.LowestBox)
		case boxes > 1 && b == boxes-1:
			lift = math.Exp(-p.a.LowestBox)
		}
		y.places = append(y.places, place{hive: h, level: b, box: id, lift: lift})
		hive.Boxes = append(hive.Boxes, scheduler.Box{
			ID: int64(id), Name: fmt.Sprintf("B%d", id), Kind: "deep", SetUpOn: p.began,
		})
	}
	return hive
}

// at returns the place at a level of a hive, or none where its stack is lower.
func (y *yard) at(hive, level int) int {
	for i, at := range y.places {
		if at.hive == hive && at.level == level {
			return i
		}
	}
	return -1
}

// made reports whether the visit meant for a day is made at all.
func (y *yard) made(day scheduler.Date) bool {
	return y.club.dice.draw(ofGoing, y.nr, int(day)) >= y.club.a.Skipped
}

// hivesOpened returns how many hives are opened on a visit before it rains.
func (y *yard) hivesOpened(on scheduler.Date) int {
	d, hives := y.club.dice, y.club.size.Hives
	if d.draw(ofRain, y.nr, int(on)) >= y.club.a.RainedOut {
		return hives
	}
	return int(float64(hives) * d.draw(ofRain, y.nr, int(on), 1))
}
