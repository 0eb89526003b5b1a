package scheduler

import (
	"testing"
	"time"
)

// Season events in print against what the model puts there. They should agree
// within three weeks. Sources marked "seen" were read, in full or as their
// abstract; the others are cited from memory.
func TestSeasonAgreesWithPublishedEvents(t *testing.T) {
	const threeWeeks = 21
	starts := func(stage Stage) func(*Season, int) Date {
		return func(s *Season, year int) Date { return s.Starts(year)[stage] }
	}
	tests := []struct {
		name   string
		source string
		place  Place
		model  func(s *Season, year int) Date
		event  MonthDay // of a span its middle
	}{
		{
			"first brood inspection at Guelph, early May: build-up, in which boxes may be opened again",
			"University of Guelph Honey Bee Research Centre (from memory)",
			at(43.55, 335, 0),
			starts(BuildUp),
			MonthDay{time.May, 4},
		},
		{
			"honey harvest at Guelph, late July to early August: the flow is over",
			"University of Guelph Honey Bee Research Centre (from memory)",
			at(43.55, 335, 0),
			starts(LateSummer),
			MonthDay{time.July, 31},
		},
		{
			"swarming in New Jersey, mean 15 May: build-up ends in the flow",
			"Gilley, Courtright and Thom 2018, Environmental Entomology 47(3):603-608, abstract (seen)",
			at(40.2, 0, 0),
			starts(Flow),
			MonthDay{time.May, 15},
		},
		{
			"main flow in central Texas, April: it starts at the month's beginning",
			"calendars of honey plants of central Texas (seen: April with Indian blanket as the big flow, peak from mid-April)",
			at(30.6, 150, 0),
			starts(Flow),
			MonthDay{time.April, 8},
		},
		{
			"first full inspection in the south of England, April",
			"British association calendars (from memory)",
			at(52, 50, 0),
			starts(BuildUp),
			MonthDay{time.April, 10},
		},
		{
			"first inspection in Gippsland, a warm day in spring after early September",
			"Gippsland beekeepers' seasonal tasks (seen)",
			at(-38.2, 50, 0),
			starts(BuildUp),
			MonthDay{time.September, 10},
		},
	}
	rules := DefaultRules()
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			for _, year := range []int{2027, 2028} {
				model := test.model(NewSeason(test.place, &rules), year)
				if days := int(model - test.event.In(model.Year())); days < -threeWeeks || days > threeWeeks {
					t.Errorf("the model's %v is %d days from %v of %s", model, days, test.event, test.source)
				}
			}
		})
	}
}

// Swarming comes in the flow's first days, so the opening that build-up asks
// for, in its middle, comes before (Gilley et al. 2018: mean swarm 15 May).
func TestSpringOpeningComesBeforeSwarming(t *testing.T) {
	rules := DefaultRules()
	s := NewSeason(Place{Latitude: 40.2}, &rules)
	first, last := s.StageSpan(NewDate(2027, time.April, 20))
	if middle := first + (last-first)/2; middle >= NewDate(2027, time.May, 1) || s.Stage(middle) != BuildUp {
		t.Errorf("the middle of build-up is %v", middle)
	}
}

// Melbourne, 37.8 S: no frames are inspected in June and July (a beekeeping
// calendar for Melbourne, and Geelong Beekeepers Club for June; both seen).
func TestMelbourneStaysShutInJuneAndJuly(t *testing.T) {
	rules := DefaultRules()
	s := NewSeason(Place{Latitude: -37.8, ElevationM: 30}, &rules)
	for d := NewDate(2027, time.June, 1); d < NewDate(2027, time.August, 1); d++ {
		if s.MayOpen(d) || s.Stage(d) != Winter {
			t.Errorf("%v is %v, may be opened: %t", d, s.Stage(d), s.MayOpen(d))
		}
	}
}

// Kenya: two rainy seasons govern the flows, not temperature (Baringo county,
// 0.5 N: rains March to June and October to December, harvests in the dry
// months after them; seen). So the model has no seasons of its own there, and
// holds those that a club enters.
func TestKenyaFollowsRain(t *testing.T) {
	rules := DefaultRules()
	baringo := at(0.5, 1060, 0)
	if got := NewSeason(baringo, &rules).Source().From; got != FromTropics {
		t.Errorf("without own dates they rest on %s", got)
	}
	rules.Stages[BuildUp].Starts = MonthDay{time.March, 20}
	rules.Stages[Flow].Starts = MonthDay{time.June, 20}
	rules.Stages[LateSummer].Starts = MonthDay{time.October, 1}
	s := NewSeason(baringo, &rules)
	for _, test := range []struct {
		month time.Month
		want  Stage
	}{{time.April, BuildUp}, {time.August, Flow}, {time.December, LateSummer}, {time.February, LateSummer}} {
		if got := s.Stage(NewDate(2027, test.month, 15)); got != test.want {
			t.Errorf("%v is %v, want the club's %v", test.month, got, test.want)
		}
	}
}

// Spring comes 22 days per 1000 m later in the Alps of 2016 (Vitasse,
// Signarbieux and Fu 2017, PNAS 114(5):1004-1008, abstract, seen; 34 days in
// 1960) and four days per degree of latitude (Hopkins 1918; seen as quoted in
// Richardson et al. 2019, Applications in Plant Sciences 7(3)).
func TestPublishedGradients(t *testing.T) {
	rules := DefaultRules()
	start := func(p Place) Date { return NewSeason(p, &rules).Starts(2027)[BuildUp] }
	if got := start(at(46.5, 1500, 0)) - start(at(46.5, 500, 0)); got != 22 {
		t.Errorf("1000 m are %d days", got)
	}
	rules.Home = &Home{Latitude: 46.5, ElevationM: 500}
	for i, m := range []MonthDay{{4, 1}, {5, 15}, {7, 20}, {9, 15}, {11, 1}} {
		rules.Stages[i].Starts = m
	}
	if got := start(at(49.5, 500, 0)) - start(at(46.5, 500, 0)); got != 12 {
		t.Errorf("three degrees are %d days", got)
	}
}
