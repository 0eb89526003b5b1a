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
	// Thumb is after how many days a good keeper's rule of thumb opens a box:
	// half of them after a hard opening, half more after a loose one. 0 stands
	// for another policy.
	Thumb int
	// Random is how many visits a year on any days open any hives; 0 stands for
	// another policy.
	Random int
	Rules  scheduler.Rules // of the planner
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

// Thumb returns the rule of thumb with a number of days.
func Thumb(days int) Policy {
	return Policy{Name: fmt.Sprintf("thumb-%d", days), Thumb: days}
}

// Random returns the policy that goes on any days and opens each hive as a coin
// falls.
func Random(visits int) Policy {
	return Policy{Name: fmt.Sprintf("random-%d", visits), Random: visits}
}

// WithRules returns the policies with other rules of their planners. Each keeps its
// odds limit, and takes the visit off that autumn asks for if it did.
func WithRules(policies []Policy, rules scheduler.Rules) []Policy {
	out := slices.Clone(policies)
	for i := range out {
		if p := &out[i]; p.plans() || p.TrueRates {
			limit, bare := p.Rules.OddsLimit, p.autumn() == scheduler.NothingRequired
			p.Rules = rules
			p.Rules.OddsLimit = limit
			if bare {
				p.Rules.Stages[scheduler.Autumn].Required = scheduler.NothingRequired
			}
		}
	}
	return out
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
	var out []scheduler.Date
	for _, span := range openable(a, from, until) {
		length := float64(span.Until - span.From + 1)
		for i := range visits {
			on := span.From + scheduler.Date((float64(i)+0.5)/float64(visits)*length)
			if on >= from && on < until {
				out = append(out, on)
			}
		}
	}
	return out
}

// openable returns, for each year that touches the days from one to another,
// the first and the last day on which the default rules let boxes be opened.
func openable(a *scheduler.Apiary, from, until scheduler.Date) []scheduler.Period {
	rules := scheduler.DefaultRules()
	season := scheduler.NewSeason(a.Place(), &rules)
	var out []scheduler.Period
	for year := from.Year() - 1; year <= until.Year(); year++ {
		first := season.Starts(year)[scheduler.BuildUp]
		if first == 0 { // the tropics have no build-up
			first = scheduler.NewDate(year, 1, 1)
		}
		last := first
		for d := first; d < first+365; d++ {
			if season.MayOpen(d) {
				last = d
			}
		}
		out = append(out, scheduler.Period{From: first, Until: last})
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
			one.count(s.open(seals, i, on, nil), s.full(i, on))
		}
		if on >= s.pop.scored {
			t.add(one)
		}
	}
	return t
}
