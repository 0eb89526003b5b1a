package web

import (
	"pryday/scheduler"
	"pryday/scheduler/text"
)

// compare shows what the same records come to by the present rules and by
// others.
func (v *previewView) compare(report scheduler.PreviewReport, club *scheduler.Club, say *text.Speaker) {
	was, now := &report.Before, &report.After
	v.number(say, "command.rules.visits", float64(was.Visits), float64(now.Visits), 0)
	v.number(say, "command.rules.openings", float64(was.Openings), float64(now.Openings), 0)
	v.number(say, "command.rules.hours", was.Hours, now.Hours, 0)
	v.number(say, "page.rule-preview.expected-hard", was.Hard, now.Hard, 1)
	v.number(say, "page.rule-preview.expected-stuck", was.Stuck, now.Stuck, 1)
	names := scheduler.NewNames(club)
	for i := range report.Changes {
		if i == shownMoves {
			v.More = len(report.Changes) - shownMoves
			break
		}
		c := &report.Changes[i]
		m := moveLine{Apiary: names.Apiary(c.ApiaryID), Boxes: say.Say("command.boxes", c.Boxes)}
		if c.Was != 0 {
			m.From = say.ShortDay(c.Was)
		}
		if c.Now != 0 {
			m.To = say.ShortDay(c.Now)
		}
		v.Moves = append(v.Moves, m)
	}
}

// number adds one outcome under both sets of rules.
func (v *previewView) number(say *text.Speaker, key string, now, then float64, digits int) {
	n := previewNumber{What: say.Say(key), Now: say.Number(now, digits), Then: say.Number(then, digits)}
	switch {
	case n.Now == n.Then:
		n.Word = say.Say("page.rule-preview.unchanged")
	case then > now:
		n.Word = say.Say("page.rule-preview.more", text.Number{Value: then - now, Decimals: digits})
	default:
		n.Word = say.Say("page.rule-preview.fewer", text.Number{Value: now - then, Decimals: digits})
	}
	v.Numbers = append(v.Numbers, n)
}
