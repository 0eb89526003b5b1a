package web

import (
	"math"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// seasonEvents are what keepers see when a stage begins.
var seasonEvents = []eventField{
	{Value: string(scheduler.FirstPollen), Saw: "page.season.saw-first-pollen", Learned: "page.season.learned-first-pollen"},
	{Value: string(scheduler.SupersOn), Saw: "page.season.saw-supers-on", Learned: "page.season.learned-supers-on"},
	{Value: string(scheduler.SupersOff), Saw: "page.season.saw-supers-off", Learned: "page.season.learned-supers-off"},
}

// seenLine is one day that was observed at the apiary.
type seenLine struct{ Value, Text string }

// seenValue is what a form says of an observed day.
func seenValue(d scheduler.SeasonDay) string { return string(d.Event) + " " + d.On.String() }

// seenOfValue reads what seenValue wrote.
func seenOfValue(s string) (d scheduler.SeasonDay, ok bool) {
	event, day, _ := strings.Cut(s, " ")
	on, err := scheduler.ParseDate(day)
	return scheduler.SeasonDay{Event: scheduler.SeasonEvent(event), On: on}, err == nil
}

// seenLines says which days were observed at the apiary, and what each means.
func (p *seasonRecords) seenLines() []seenLine {
	var out []seenLine
	for _, day := range p.apiary.Seen {
		line := seenLine{Value: seenValue(day)}
		off, err := scheduler.LearnShift(p.apiary.Place(), &p.club.Rules, []scheduler.SeasonDay{day})
		for _, e := range seasonEvents {
			switch {
			case e.Value != string(day.Event):
			case err != nil: // after the place, the region or the club's dates have changed
				line.Text = p.say.Say("page.season.seen-unfit", text.New(e.Saw), day.On)
			default:
				line.Text = p.say.Say(e.Learned, day.On, shiftText(off))
			}
		}
		out = append(out, line)
	}
	return out
}

// nearLines says what neighbouring apiaries saw, and how much that counts.
func (p *seasonRecords) nearLines() []string {
	var out []string
	for _, n := range p.near {
		off := shiftText(int(math.Round(n.Off)))
		out = append(out, p.say.Say("page.season.near", n.Days, p.nearNames[n.ApiaryID], text.Number{Value: n.KM}, off, text.Number{Value: n.Weight, Decimals: 2}))
	}
	return out
}

// shiftText says by how much a season is moved.
func shiftText(days int) text.Text {
	switch {
	case days > 0:
		return text.New("page.season.later", days)
	case days < 0:
		return text.New("page.season.earlier", -days)
	}
	return text.New("page.season.plain")
}
