package scheduler

import (
	"math"
	"testing"
)

// TestForetell: what was said of an opening is what the plan of the day before says
// of its day, whatever else is written down together with it.
func TestForetell(t *testing.T) {
	day := date("2027-06-01")
	club := func() *Club {
		return stand(date("2026-05-01"), []Opening{opened("2026-09-01", Hard), opened("2027-04-20", Firm)}, []Opening{opened("2027-04-20", Light)})
	}
	now := func(on string, how Difficulty) Opening { o := opened(on, how); o.ID = "now " + on; return o }
	c := club()
	first, second := c.Apiaries[0].Hives[0].Boxes[0].ID, c.Apiaries[0].Hives[1].Boxes[0].ID
	plan := PlanClub(c, day-1)
	season := NewSeason(c.Apiaries[0].Place(), &c.Rules)
	said := func(box int64) Forecast {
		rate, _ := Replay(c, day-1).Of(box)
		return Forecast{
			MadeOn: day, Openings: rate.Openings, Hard: rate.Odds(season, day, Hard), Stuck: rate.Odds(season, day, Stuck),
			ModelHard: rate.Odds(season, day, Hard), ModelStuck: rate.Odds(season, day, Stuck),
		}
	}
	if was := plan.Boxes[0].Odds; said(first).Hard < was || said(first).Hard > was+0.01 {
		t.Fatalf("said %+v, while the plan of the day before has %g", said(first), was)
	}
	correction := now("2027-06-01", Stuck)
	correction.Supersedes = "an earlier one"
	untried := now("2027-06-01", NotTried)
	shut := Opening{ID: "now 2027-06-01", On: day, Joint: Stuck, Frames: NotTried, LeftShut: true}
	tests := []struct {
		name   string
		change func(*Club)
		fresh  map[int64][]Opening
		today  Date
		want   map[string]Forecast
	}{
		{"on its day", nil, map[int64][]Opening{first: {now("2027-06-01", Stuck)}}, day, map[string]Forecast{"now 2027-06-01": said(first)}},
		{"left shut", nil, map[int64][]Opening{first: {shut}}, day, map[string]Forecast{"now 2027-06-01": said(first)}},
		{
			"the other hive of that day does not count", func(c *Club) {
				b := &c.Apiaries[0].Hives[1].Boxes[0]
				b.Openings = append(b.Openings, opened("2027-06-01", Stuck))
			}, map[int64][]Opening{first: {now("2027-06-01", Stuck)}}, day, map[string]Forecast{"now 2027-06-01": said(first)},
		},
		{"a month late", nil, map[int64][]Opening{first: {now("2027-06-01", Hard)}}, day + LateDays, map[string]Forecast{"now 2027-06-01": func() Forecast { f := said(first); f.MadeOn = day + LateDays; return f }()}},
		{"later still", nil, map[int64][]Opening{first: {now("2027-06-01", Hard)}}, day + LateDays + 1, nil},
		{"of the future", nil, map[int64][]Opening{first: {now("2027-06-01", Hard)}}, day - 1, nil},
		{"a correction", nil, map[int64][]Opening{first: {correction}}, day, nil},
		{"nothing tried", nil, map[int64][]Opening{first: {untried}}, day, nil},
		{
			"an older one than another", func(c *Club) {
				b := &c.Apiaries[0].Hives[0].Boxes[0]
				b.Openings = append(b.Openings, opened("2027-06-03", Loose))
			}, map[int64][]Opening{first: {now("2027-06-01", Hard)}}, day + 5, nil,
		},
		{
			"a second of that day", func(c *Club) {
				b := &c.Apiaries[0].Hives[0].Boxes[0]
				b.Openings = append(b.Openings, opened("2027-06-01", Loose))
			}, map[int64][]Opening{first: {now("2027-06-01", Hard)}}, day, nil,
		},
		{"two at once: the first", nil, map[int64][]Opening{first: {now("2027-06-05", Loose), now("2027-06-01", Hard)}}, day + 5, map[string]Forecast{
			"now 2027-06-01": func() Forecast { f := said(first); f.MadeOn = day + 5; return f }(),
		}},
		{"set up that day", func(c *Club) {
			b := &c.Apiaries[0].Hives[1].Boxes[0]
			b.SetUpOn, b.Openings = day, nil
		}, map[int64][]Opening{second: {now("2027-06-01", Loose)}}, day, nil},
		{"in store", func(c *Club) {
			c.Apiaries[0].Hives[1].Boxes[0].Places = []BoxPlace{{From: date("2026-05-01"), Where: InStore}, {From: day, Where: OnHive, HiveID: c.Apiaries[0].Hives[1].ID, Position: 1}}
		}, map[int64][]Opening{second: {now("2027-06-01", Loose)}}, day, nil},
	}
	for _, test := range tests {
		c := club()
		if test.change != nil {
			test.change(c)
		}
		got := Foretell(c, test.fresh, test.today)
		if len(got) != len(test.want) {
			t.Errorf("%s: %+v", test.name, got)
		}
		for id, want := range test.want {
			if got[id] != want {
				t.Errorf("%s: %+v, want %+v", test.name, got[id], want)
			}
		}
	}

	c.Recalibration = Recalibration{MadeOn: date("2027-01-05"), Openings: 200, Hard: Curve{-1, 1}, Stuck: Curve{0, 1}}
	got := Foretell(c, map[int64][]Opening{first: {now("2027-06-01", Stuck)}}, day)["now 2027-06-01"]
	want := said(first)
	want.Hard = expit(logit(want.Hard) - 1)
	if math.Abs(got.Hard-want.Hard) > 1e-12 || got.ModelHard != want.ModelHard || got.Recalibrated != date("2027-01-05") {
		t.Errorf("recalibrated: %+v, want %+v", got, want)
	}
}

// TestOutcomes: corrections count as they stand, and what was taken back does not.
func TestOutcomes(t *testing.T) {
	f := func(p float64) *Forecast { return &Forecast{Hard: p} }
	c := stand(date("2026-05-01"), []Opening{
		{ID: "a", On: date("2027-05-01"), Joint: Hard, Said: f(0.1)},
		{ID: "b", On: date("2027-04-01"), Joint: Loose},
		{ID: "c", Supersedes: "a", On: date("2027-05-01"), Joint: Light, Said: f(0.1)},
		{ID: "d", On: date("2027-05-20"), Joint: Hard, Said: f(0.2)},
		{ID: "e", Supersedes: "d", On: date("2027-05-20"), Void: true},
	})
	c.Spare = []Box{{ID: 99, Openings: []Opening{{ID: "s", On: date("2027-04-15"), Joint: Stuck, Said: f(0.3)}}}}
	got := Outcomes(c)
	if len(got) != 2 || got[0].Found != Stuck || got[0].Hard != 0.3 || got[1].Found != Light || got[1].On != date("2027-05-01") {
		t.Errorf("%+v", got)
	}
}
