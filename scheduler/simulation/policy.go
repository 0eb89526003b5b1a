package simulation

import (
	"fmt"
	"slices"

	"pryday/scheduler"
)

// Policy is one way to decide when boxes are opened.
type Policy struct {
	Name string
	// Calendar is how many visits a year a fixed calendar has; 0 stands for
	// the planner.
	Calendar int
	Rules    scheduler.Rules // of the planner
	// TrueRates tells the planner how fast each box really seals at present,
	// in place of what the records say. It still does not know what a season
	// will bring.
	TrueRates bool
}

// Calendar returns the policy that opens every box on visits spread evenly
// over the season in which boxes may be opened.
func Calendar(visits int) Policy {
	return Policy{Name: fmt.Sprintf("fixed-%d", visits), Calendar: visits}
}

// Planner returns the planner with an odds limit and the default rules.
func Planner(limit float64) Policy {
	rules := scheduler.DefaultRules()
	rules.OddsLimit = limit
	return Policy{Name: fmt.Sprintf("planner-%.2f", limit), Rules: rules}
}

// WithoutAutumn takes the visit off a policy that autumn asks for.
func (p Policy) WithoutAutumn() Policy {
	p.Name += "-no-autumn"
	p.Rules.Stages[scheduler.Autumn].Required = scheduler.NothingRequired
	return p
}

// Told returns the planner that is told the true rates.
func (p Policy) Told() Policy {
	p.Name = fmt.Sprintf("true-rates-%.2f", p.Rules.OddsLimit)
	p.TrueRates = true
	return p
}

// calendarDays returns the days from one to another on which a calendar of so
// many visits a year has them: in the middle of equal parts of the openable
// season.
func calendarDays(a *scheduler.Apiary, visits int, from, until scheduler.Date) []scheduler.Date {
	rules := scheduler.DefaultRules()
	season := scheduler.NewSeason(a.Place(), &rules)
	var out []scheduler.Date
	for year := from.Year(); year <= until.Year(); year++ {
		first := season.Starts(year)[scheduler.BuildUp]
		last := first
		for d := first; d < first+365; d++ {
			if season.MayOpen(d) {
				last = d
			}
		}
		length := float64(last - first + 1)
		for i := range visits {
			on := first + scheduler.Date((float64(i)+0.5)/float64(visits)*length)
			if on >= from && on < until {
				out = append(out, on)
			}
		}
	}
	return out
}

// follow keeps one apiary by a fixed calendar.
func (s *site) follow(policy *Policy) tally {
	var t tally
	seals := slices.Clone(s.seals)
	for _, day := range calendarDays(&s.apiary, policy.Calendar, s.pop.from, s.pop.until) {
		on := s.climate.dryDay(day, s.apiary.Weekdays)
		if on >= s.pop.until || !s.made(day) {
			continue
		}
		one := tally{visits: 1}
		for i := range s.boxes {
			one.count(s.open(seals, i, on, nil))
		}
		if on >= s.pop.scored {
			t.add(one)
		}
	}
	return t
}
