package simulation

import (
	"math"
	"testing"
	"time"

	"pryday/scheduler"
)

// months returns what is gathered in each month of five years at a place, over
// several worlds.
func months(a *Imperfect, r *Region, latitude, elevation float64) (out [12]float64, year float64) {
	const worlds, years = 30, 5
	first := scheduler.NewDate(epoch, 1, 1)
	for seed := range dice(worlds) {
		w := newWeather(seed, a, r, 0, latitude, elevation, first, first+366*years+60)
		for y := range years {
			for m := range out {
				from := scheduler.NewDate(epoch+y, time.Month(m+1), 1)
				to := scheduler.NewDate(epoch+y+m/11, time.Month((m+1)%12+1), 1)
				out[m] += w.sum(from, to) / (worlds * years)
			}
		}
	}
	for _, v := range out {
		year += v
	}
	return out, year
}

func TestWeatherByPlace(t *testing.T) {
	a := DefaultImperfect()
	land, sea := Region{}, Region{Maritime: 0.3}
	at45, year := months(&a, &land, 45, 0)
	if math.Abs(year-1) > 0.05 {
		t.Errorf("a year at 45 N amounts to %.3f, want about 1: yearAt45 is wrong", year)
	}
	most := func(m [12]float64) int {
		best := 0
		for i := range m {
			if m[i] > m[best] {
				best = i
			}
		}
		return best + 1
	}
	if m := most(at45); m != 8 || at45[0] > 0.01*year || at45[4] > at45[7]/2 {
		t.Errorf("at 45 N most is gathered in month %d: %.3f", m, at45)
	}
	south, _ := months(&a, &sea, -36, 0)
	if m := most(south); m != 2 && m != 3 || south[6] > south[1]/10 {
		t.Errorf("at 36 S most is gathered in month %d: %.3f", m, south)
	}
	for _, lat := range []float64{-12, -4, 4, 12} {
		wet, _ := months(&a, &land, lat, 500)
		least, best := 1.0, 0.0
		for _, v := range wet {
			least, best = min(least, v), max(best, v)
		}
		if least < best/5 || least > 0.7*best {
			t.Errorf("at %g there are no rains, or a winter: %.3f", lat, wet)
		}
	}
	far, farYear := months(&a, &land, 62, 0)
	_, highYear := months(&a, &land, 40, 1500)
	_, lowYear := months(&a, &land, 40, 0)
	if farYear > 0.6*year || farYear < 0.1 || far[7] < 0.15*farYear || highYear > 0.7*lowYear || highYear < 0.2 {
		t.Errorf("%.2f at 62 N, %.2f at 40 N and 1,500 m, %.2f at 45 N, %.2f at 40 N", farYear, highYear, year, lowYear)
	}
}

func TestTropicalRains(t *testing.T) {
	for _, tc := range []struct {
		latitude float64
		wet, dry float64 // days
	}{
		{3, 115, 206}, {-3, 115, 206}, {12, 210, 27}, {-12, 210, 27},
	} {
		if wet, dry := rains(tc.latitude, tc.wet), rains(tc.latitude, tc.dry); wet < 0.99 || dry > 0.01 {
			t.Errorf("at %g: %.2f wet in the rains, %.2f between", tc.latitude, wet, dry)
		}
	}
	if rains(3, 115+182.6) < 0.99 || rains(12, 210+182.6) > 0.01 {
		t.Error("near the equator it rains twice, elsewhere once")
	}
}

func TestDroughtsHalveTheLateSummer(t *testing.T) {
	a := DefaultImperfect()
	wet, dry := a, a
	wet.DroughtShare, dry.DroughtShare = 0, 1
	most, year := months(&wet, &Region{}, 45, 0)
	least, dryYear := months(&dry, &Region{}, 45, 0)
	if r := least[8] / most[8]; math.Abs(r-0.5) > 0.01 || least[3] < 0.99*most[3] || dryYear > 0.75*year {
		t.Errorf("in a drought September brings %.2f of the usual, April %.2f", r, least[3]/most[3])
	}
	usual, _ := months(&a, &Region{}, 45, 0)
	if usual[8] >= most[8] || usual[8] < 0.85*most[8] {
		t.Errorf("September brings %.3f, %.3f without droughts", usual[8], most[8])
	}
}

func TestLocalDay(t *testing.T) {
	for _, tc := range []struct {
		latitude float64
		on       scheduler.Date
		year     int
		into     float64
	}{
		{45, scheduler.NewDate(2003, 7, 1), 2003, 181},
		{-45, scheduler.NewDate(2003, 1, 1), 2003, 184},
		{-45, scheduler.NewDate(2003, 7, 1), 2004, 0},
	} {
		if year, into := localDay(tc.latitude, tc.on); year != tc.year || into != tc.into {
			t.Errorf("%s at %g is day %g of %d", tc.on, tc.latitude, into, year)
		}
	}
}

func TestVisitsWaitForDrySpells(t *testing.T) {
	a := DefaultImperfect()
	w := newWeather(3, &a, &Region{}, 1, 45, 0, scheduler.NewDate(epoch, 1, 1), scheduler.NewDate(epoch+20, 1, 1))
	waited, longest := 0, 0
	const days = 6000
	for d := w.first; d < w.first+days; d++ {
		on := w.dryDay(d, 0)
		if on > d {
			waited++
		}
		longest = max(longest, int(on-d))
		if weekend := w.dryDay(d, 1<<0|1<<6); weekend.Weekday() != time.Saturday && weekend.Weekday() != time.Sunday || weekend < on {
			t.Fatalf("%s for %s", weekend, d)
		}
	}
	// spells of three days are wet by themselves: 2,000 draws
	if share := float64(waited) / days; math.Abs(share-a.WetShare) > 5*math.Sqrt(a.WetShare*(1-a.WetShare)/2000) || longest != a.MaxWait {
		t.Errorf("%.3f of days are wet, want %.3f; the longest wait is %d days", share, a.WetShare, longest)
	}
}
