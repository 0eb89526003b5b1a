package simulation

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"pryday/scheduler"
)

// hamlet is an imperfect club that is quick to simulate.
var hamlet = Size{Apiaries: 2, Hives: 4, Boxes: 3, Years: 4, History: 2, Change: 1}

// tenSeeds lie in every region.
var tenSeeds = []int{101, 102, 103, 104, 105, 106, 107, 108, 109, 110}

// TestStuckAsPracticeKnows: of boxes opened twice a year, 1 to 5 in a hundred
// stick in a year (common practice, no source); in no club one in five.
func TestStuckAsPracticeKnows(t *testing.T) {
	r := RunImperfect([]Policy{Calendar(2)}, append([]int{111, 112, 113, 114, 115, 116, 117, 118, 119, 120}, tenSeeds...), DefaultSize(), DefaultImperfect())
	if s := r.Rows()[0]; !(s.Stuck > 0.01 && s.Stuck < 0.05) || !(s.Hard > s.Stuck && s.Hard < 0.25) {
		t.Errorf("%.3f of boxes stuck a year at two openings, %.3f hard", s.Stuck, s.Hard)
	}
	for j, s := range r.Scores[0] {
		if s.Stuck > 0.2 {
			t.Errorf("club %d: %.3f stuck", r.Seeds[j], s.Stuck)
		}
	}
}

// TestImperfectTruthIsSane: a box opened every three months of the season is
// firm or easier more often than not, one left for two years hard or stuck more
// often than not (common practice, no source), in the middle latitudes.
func TestImperfectTruthIsSane(t *testing.T) {
	easy, boxes, stiff, left := 0, 0, 0, 0
	for seed := range 40 {
		p := NewImperfectClub(seed, hamlet, DefaultImperfect())
		if r := p.region.Name; r != "north" && r != "south" {
			continue
		}
		for _, y := range p.yards {
			k := y.newKeep(y.begin(true).book)
			for at := range k.places {
				last := p.began + 120
				for _, days := range []scheduler.Date{91, 182, 273} {
					k.seals[at] = seal{since: last}
					if last = p.began + 120 + days; k.open(at, last) <= scheduler.Firm {
						easy++
					}
					boxes++
				}
				k.seals[at] = seal{since: p.began + 120}
				if k.open(at, p.began+120+730) >= scheduler.Hard {
					stiff++
				}
				left++
			}
		}
	}
	if 2*easy <= boxes || 2*stiff <= left {
		t.Errorf("%d of %d openings of a season were firm or easier; %d of %d boxes left two years hard or stuck", easy, boxes, stiff, left)
	}
}

// TestTenSeedsMeetEveryRegion: both hemispheres, the tropics, 62 N and 1,500 m.
func TestTenSeedsMeetEveryRegion(t *testing.T) {
	for first := range 3 {
		var north, south, tropics, far, high int
		for seed := first; seed < first+10; seed++ {
			p := NewImperfectClub(seed, hamlet, DefaultImperfect())
			for _, y := range p.yards {
				a := y.begin(false).book.apiary
				within := func(v, low, high float64) bool { return low <= v && v <= high }
				switch lat, m := a.Latitude, a.ElevationM; {
				case within(lat, 61, 63.5):
					far++
				case within(lat, 35, 47) && within(m, 1400, 1600):
					high++
				case within(lat, 31, 57) && within(m, 0, 600):
					north++
				case within(lat, -45, -27) && within(m, 0, 600):
					south++
				case within(lat, -15.5, 15.5) && within(m, 0, 1200):
					tropics++
				default:
					t.Errorf("seed %d: an apiary at %.1f degrees and %.0f m", seed, lat, m)
				}
			}
		}
		if got := []int{north, south, tropics, far, high}; !slices.Equal(got, []int{10, 4, 2, 2, 2}) {
			t.Errorf("from %d on: %v apiaries of 20", first, got)
		}
	}
}

func TestImperfectClubsAreTheSameEveryTime(t *testing.T) {
	policies := []Policy{Calendar(3), Thumb(120), Random(4), Planner(0.2), Planner(0.2).Told()}
	among := RunImperfect(policies, []int{5, 6, 7}, hamlet, DefaultImperfect())
	for i, policy := range policies {
		alone := RunImperfect([]Policy{policy}, []int{6}, hamlet, DefaultImperfect())
		if got, want := among.Scores[i][1], alone.Scores[0][0]; !reflect.DeepEqual(got, want) {
			t.Errorf("%s among others %+v, alone %+v", policy.Name, got, want)
		}
		if reflect.DeepEqual(among.Scores[i][0], among.Scores[i][1]) {
			t.Errorf("%s: two clubs are the same", policy.Name)
		}
	}
}

// TestWhoKnowsMoreDoesBetter orders the policies: knowing every seal beats
// reading perfect records, which beats reading those of clubs, and anything
// beats chance. Hours are weighed with some 6 for each stuck box.
func TestWhoKnowsMoreDoesBetter(t *testing.T) {
	size := small
	cost := func(policy Policy, a Imperfect) float64 {
		s := RunImperfect([]Policy{policy}, tenSeeds, size, a).Rows()[0]
		return s.Hours + 6*float64(size.Hives*size.Boxes)*s.Stuck
	}
	world := DefaultImperfect()
	knows, perfect := cost(Planner(0.2).Told(), world), cost(Planner(0.2), world.WithoutTroubles())
	reads, chance := cost(Planner(0.2), world), cost(Random(6), world)
	if !(knows < perfect && perfect < reads && reads < chance) {
		t.Errorf("%.1f hours knowing every seal, %.1f with perfect records, %.1f with the club's, %.1f by chance", knows, perfect, reads, chance)
	}
	calendar, thumb := cost(Calendar(3), world), cost(Thumb(120), world)
	if !(thumb < chance && calendar < chance) {
		t.Errorf("%.1f hours by a calendar, %.1f by the rule of thumb, %.1f by chance", calendar, thumb, chance)
	}
}

// TestKnownRatesAreTheTruth: what the planner is told of a seal is its strength,
// and in an average year it grows as it really does.
func TestKnownRatesAreTheTruth(t *testing.T) {
	for _, seed := range []int{1, 2, 3, 4} { // both ways of gluing
		y := NewImperfectClub(seed, hamlet, DefaultImperfect()).yards[0]
		k := y.begin(true)
		policy := Planner(0.2)
		d := newDesk(&policy, new(scheduler.Planner), k.book.apiary)
		today := k.club.from + 200
		season := scheduler.NewSeason(k.book.apiary.Place(), &d.club.Rules)
		for at, rate := range k.trueRates(&d, today) {
			want := 400 * k.strength(at, today) / k.club.grades[3]
			if got := math.Exp(rate.Mean) * rate.Age(season, today); math.Abs(got-want) > 1e-9*want || rate.Variance != 0 {
				t.Errorf("seed %d, place %d: a seal of %g, told %g", seed, at, want, got)
			}
			if rate.BoxID != k.book.box(at).ID {
				t.Errorf("place %d: rate of box %d, there stands %d", at, rate.BoxID, k.book.box(at).ID)
			}
			year := math.Exp(rate.Mean) * season.SealingDays(today, today+3653) / 10
			grows := k.pace(at, today) * k.weather.sum(k.club.began, k.club.until) / float64(k.club.until-k.club.began) * 365.3
			if want := 400 * grows / k.club.grades[3]; grows > 0.05 && math.Abs(year/want-1) > 0.02 {
				t.Errorf("seed %d, place %d: grows by %g a year, told %g", seed, at, want, year)
			}
		}
	}
}
