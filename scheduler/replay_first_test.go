package scheduler

import (
	"math"
	"testing"
)

// inUse is a club with one box of which nobody knows since when it stands, set up as is
// said here on the day of its first opening, 1 June 2026 at 45.5 degrees.
func inUse(o ...Opening) (*Club, *Box) {
	c := stand(date("2026-06-01"), nil)
	box := &c.Apiaries[0].Hives[0].Boxes[0]
	box.SetUpOn, box.GuessedOn, box.Openings = date("2026-06-01"), date("2027-03-10"), o
	return c, box
}

// TestFirstOpeningOfABoxInUse integrates what a first opening tells over ln k and over
// the days on which the box may last have been opened, by sums over a fine grid.
func TestFirstOpeningOfABoxInUse(t *testing.T) {
	for _, found := range []Difficulty{Loose, Light, Firm, Hard, Stuck} {
		c, _ := inUse(opened("2026-06-01", found))
		s := NewSeason(c.Apiaries[0].Place(), &c.Rules)
		grade := func(x float64) Difficulty { // of ln (k age) and noise
			j := Loose
			for j < Stuck && x > math.Log([]float64{40, 110, 220, 400}[j]) {
				j++
			}
			return j
		}
		const step = 0.02
		normal := func(x, sd float64) float64 { return math.Exp(-x*x/(2*sd*sd)) / sd }
		var sum, first, second float64
		for days, weight := range map[Date]float64{40: .3, 120: .2, 300: .3, 600: .2} {
			age := s.SealingDays(date("2026-06-01")-1-days, date("2026-06-01"))
			for k := -4.0; k < 4; k += step {
				like := 0.0
				for e := -6.0; e < 6; e += step {
					if grade(math.Log(age)+k+e) == found {
						like += normal(e, learningNoise) * step
					}
				}
				p := weight * like * normal(k, math.Sqrt(0.45))
				sum, first, second = sum+p, first+p*k, second+p*k*k
			}
		}
		mean := first / sum
		variance := second/sum - mean*mean
		got := Replay(c, date("2026-06-01"))[0]
		if math.Abs(got.Mean-mean) > 0.004 || math.Abs(got.Variance-variance) > 0.004 {
			t.Errorf("found %d: mean %.4f, variance %.4f, want %.4f and %.4f", found, got.Mean, got.Variance, mean, variance)
		}
		if got.maybe.n != 0 || got.Since != date("2026-06-01") {
			t.Errorf("found %d: opened, its seal is of the ages %+v since %s", found, got.maybe, got.Since)
		}
	}
}

// TestWhereNothingIsUnknown: of a box whose set-up is known, or was said roughly, the
// first opening is taken as it always was.
func TestWhereNothingIsUnknown(t *testing.T) {
	for name, tt := range map[string]struct {
		change func(*Box)
		taken  bool // for one that was in use
	}{
		"in use":                     {func(*Box) {}, true},
		"set up that day":            {func(b *Box) { b.GuessedOn = 0 }, false},
		"somebody said roughly when": {func(b *Box) { b.SetUpOn -= 40 }, false},
		"guessed before":             {func(b *Box) { b.GuessedOn = date("2026-05-20"); b.SetUpOn = GuessedDay(b.GuessedOn) }, true},
		"stood in store": {func(b *Box) {
			b.Places = []BoxPlace{{From: b.SetUpOn, Where: InStore}, {From: b.SetUpOn + 40, Where: OnHive, HiveID: 11, Position: 1}}
		}, false},
		"stood elsewhere until the day before": {func(b *Box) {
			b.Places = []BoxPlace{{From: b.SetUpOn - 30, Where: OnHive, HiveID: 99, Position: 1}, {From: b.SetUpOn - 1, Where: OnHive, HiveID: 11, Position: 1}}
		}, false},
		"stands there since a later day": {func(b *Box) {
			b.Places = []BoxPlace{{From: b.SetUpOn + 30, Where: OnHive, HiveID: 11, Position: 1}}
		}, false},
		"moved since": {func(b *Box) {
			b.Places = []BoxPlace{{From: b.SetUpOn, Where: OnHive, HiveID: 11, Position: 1}, {From: b.SetUpOn + 30, Where: InStore}}
		}, true},
	} {
		means := map[Difficulty]float64{}
		for _, found := range []Difficulty{Loose, Stuck} {
			c, box := inUse(opened("2026-06-01", found))
			tt.change(box)
			known := *box
			known.GuessedOn = 0
			without := *c
			without.Apiaries = []Apiary{c.Apiaries[0]}
			without.Apiaries[0].Hives = []Hive{c.Apiaries[0].Hives[0]}
			without.Apiaries[0].Hives[0].Boxes = []Box{known}
			at := date("2026-06-01")
			means[found] = Replay(c, at)[0].Mean
			if same := means[found] == Replay(&without, at)[0].Mean; same == tt.taken {
				t.Errorf("%s, found %d: mean %.4f; the same as if its set-up were known: %t", name, found, means[found], same)
			}
		}
		if tt.taken && means[Loose] >= means[Stuck] {
			t.Errorf("%s: found loose it seals at %.3f, found stuck at %.3f", name, means[Loose], means[Stuck])
		}
	}
}

// TestAGuessHasSeveralAges: a box of which nobody has said anything may have been
// opened lately. By hand, on 10 June 2027 at 45.5 degrees: 40 days before it is
// 35 x 0.5 + 5 = 22.5 sealing days, 120 days 67 x 0.03 + 24 + 5 = 31.01, 300 days
// 37 x 1.6 + 35 x 1.2 + 175 x 0.03 + 24 + 5 = 135.45, and 600 days
// 7 x 1.2 + 5.25 + 24 + 57 + 50 x 1.6 + 42 + 5.25 + 24 + 5 = 250.9.
func TestAGuessHasSeveralAges(t *testing.T) {
	guessed := date("2027-06-10")
	c, box := inUse()
	c.Apiaries[0].Latitude, c.Apiaries[0].Longitude, c.Apiaries[0].ElevationM = 45.5, -73, 0
	box.GuessedOn, box.SetUpOn = guessed, GuessedDay(guessed)
	got := Replay(c, guessed)[0]
	want := ages{n: 4, left: [4]float64{22.5, 31.01, 135.45, 250.9}, weight: [4]float64{.3, .2, .3, .2}}
	for i, left := range want.left {
		if math.Abs(got.maybe.left[i]-left) > 1e-9 || got.maybe.weight != want.weight || got.maybe.n != want.n {
			t.Errorf("ages %+v, want %+v", got.maybe, want)
		}
	}
	if got.From != box.SetUpOn || got.Since != guessed || got.HiveID != 11 {
		t.Errorf("it waits from %s on, of its age on %s, on hive %d", got.From, got.Since, got.HiveID)
	}
	if before := Replay(c, guessed-50)[0]; before.HiveID != 11 || before.Since != guessed-50 {
		t.Errorf("50 days before the guess it stands on hive %d, of its age on %s", before.HiveID, before.Since)
	}

	box.Openings = []Opening{{ID: "shut", On: guessed + 1, Joint: Stuck, Frames: NotTried, LeftShut: true}}
	shut := Replay(c, guessed+1)[0]
	if shut.maybe.n != 4 || shut.maybe.weight[3] <= 0.2 || shut.Left <= got.Left {
		t.Errorf("left shut, and its ages weigh %v: an old seal explains it best", shut.maybe.weight)
	}
}
