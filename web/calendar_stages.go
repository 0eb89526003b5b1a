package web

import (
	"cmp"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// dayStages is what season it is on a day at some apiaries: what it is at most of
// them, and at the next most where they differ.
type dayStages struct {
	most, next scheduler.Stage
	differ     bool
}

// class names the colours behind a day.
func (d dayStages) class() string {
	if d.differ {
		return "st-" + d.most.String() + " also-" + d.next.String()
	}
	return "st-" + d.most.String()
}

// seasons of apiaries, in their order.
func (rec *calendarRecords) seasons(apiaries []*scheduler.Apiary) []*scheduler.Season {
	out := make([]*scheduler.Season, len(apiaries))
	for i, a := range apiaries {
		out[i] = scheduler.NewSeason(a.Place(), &rec.club.Rules)
	}
	return out
}

// stagesOn returns what stands behind a day; false without an apiary.
func stagesOn(seasons []*scheduler.Season, on scheduler.Date) (d dayStages, ok bool) {
	var n [scheduler.NumStages]int
	for _, s := range seasons {
		n[s.Stage(on)]++
	}
	for stage := range scheduler.Stage(scheduler.NumStages) {
		if n[stage] > n[d.most] {
			d.most = stage
		}
	}
	for stage := range scheduler.Stage(scheduler.NumStages) {
		if stage != d.most && n[stage] > 0 && (!d.differ || n[stage] > n[d.next]) {
			d.next, d.differ = stage, true
		}
	}
	return d, len(seasons) > 0
}

// stageBands are the stages of most apiaries from a day up to, not including,
// another, for a drawing whose units are days.
func (rec *calendarRecords) stageBands(seasons []*scheduler.Season, first, end scheduler.Date) (out []stripSpan, says []text.Text) {
	var last scheduler.Stage
	for on := first; on < end; on++ {
		d, ok := stagesOn(seasons, on)
		if !ok {
			return nil, nil
		}
		if d.most != last || len(out) == 0 {
			last = d.most
			from := text.New("page.year.from", d.most, on)
			out = append(out, stripSpan{Class: "st-" + d.most.String(), From: int(on - first), Title: rec.say.Tell(from)})
			says = append(says, from)
		}
		out[len(out)-1].Width = int(on-first) + 1 - out[len(out)-1].From
	}
	return out, says
}

// weekStages says what season it is in a week: the stages in the order in which
// they come, and whether the apiaries differ.
func (rec *calendarRecords) weekStages(seasons []*scheduler.Season, first scheduler.Date) string {
	var words []text.Text
	differ, last := false, scheduler.Winter
	for on := first; on < first+7; on++ {
		d, ok := stagesOn(seasons, on)
		if ok && (d.most != last || len(words) == 0) {
			last = d.most
			words = append(words, text.New(d.most.WordKey()))
		}
		differ = differ || d.differ
	}
	if differ {
		return rec.say.Say("page.calendar.stages-differ", words)
	}
	return rec.say.Enumerate(words)
}

// namedBegins is how many apiaries are named of those at which a stage begins.
const namedBegins = 3

// begins says which stages begin at which of some apiaries from one day to
// another.
func (rec *calendarRecords) begins(apiaries []*scheduler.Apiary, seasons []*scheduler.Season, from, until scheduler.Date) (out []string) {
	type begin struct {
		first, last scheduler.Date
		at          []string
	}
	var of [scheduler.NumStages]begin
	for i, s := range seasons {
		for on := from; on <= until; {
			first, last := s.StageSpan(on)
			if stage := s.Stage(on); first >= from && s.Stage(first-1) != stage {
				b := &of[stage]
				b.first, b.last = min(cmp.Or(b.first, first), first), max(b.last, first)
				b.at = append(b.at, apiaries[i].Name)
			}
			on = max(last, on) + 1
		}
	}
	for stage, b := range of {
		var says text.Text
		word := scheduler.Stage(stage)
		switch {
		case len(b.at) == 0:
			continue
		case len(b.at) > namedBegins:
			says = text.New("page.calendar.begins-many", len(b.at), word, b.first, b.last)
		case b.first == b.last:
			says = text.New("page.calendar.begins", word, b.first, b.at)
		default:
			says = text.New("page.calendar.begins-between", word, b.first, b.last, b.at)
		}
		out = append(out, capital(rec.say.Tell(says)))
	}
	return out
}
