package records

import (
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// byPlace is the word for the region that an apiary's coordinates lie in.
const byPlace = scheduler.Region("by-place")

// regions are the words under "region".
var regions = append([]scheduler.Region{byPlace}, scheduler.Regions...)

// region reads whose stage dates an apiary goes by. Documents from before there
// were regions have none: what they shift, they shift from the one table that
// there was.
func (p *parser) region(n *node, a *scheduler.Apiary) {
	switch {
	case n == nil && a.SeasonShiftDays != 0:
		a.Region = scheduler.Continental
	case n != nil:
		if a.Region = choice(p.reader, n, regions); a.Region == byPlace {
			a.Region = ""
		}
	}
}

// regionWord is what region reads as the region of a.
func regionWord(a *scheduler.Apiary) string {
	if a.Region == "" && a.SeasonShiftDays != 0 {
		return string(byPlace)
	}
	return string(a.Region)
}

// seenDays reads the days observed at an apiary, by event.
func (p *parser) seenDays(n *node) []scheduler.SeasonDay {
	if n == nil {
		return nil
	}
	o := p.object(n)
	var seen []scheduler.SeasonDay
	for _, event := range scheduler.SeasonEvents {
		for _, item := range p.list(o.get(string(event)), text.New("records.allow.list-days")) {
			day := scheduler.SeasonDay{Event: event, On: p.date(item)}
			if slices.Contains(seen, day) {
				p.bad(item, "records.why.twice", text.New("records.allow.day-once"))
			}
			seen = append(seen, day)
		}
	}
	o.done()
	return scheduler.See(seen)
}

// seenJSON are the days observed at an apiary; nil for none.
func seenJSON(seen []scheduler.SeasonDay) map[scheduler.SeasonEvent][]scheduler.Date {
	var out map[scheduler.SeasonEvent][]scheduler.Date
	for _, day := range seen {
		if out == nil {
			out = map[scheduler.SeasonEvent][]scheduler.Date{}
		}
		out[day.Event] = append(out[day.Event], day.On)
	}
	return out
}
