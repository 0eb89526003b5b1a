package web

import (
	"strconv"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// compare shows what the same records come to by the present rules and by
// others.
func (v *previewView) compare(report scheduler.PreviewReport, club *scheduler.Club, today scheduler.Date, say *text.Speaker) {
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
			m.From = dayFrom(say, today, c.Was)
		}
		if c.Now != 0 {
			m.To = dayFrom(say, today, c.Now)
		}
		v.Moves = append(v.Moves, m)
	}
}

// dayFrom writes a day, with its year where that is not today's.
func dayFrom(say *text.Speaker, today, d scheduler.Date) string {
	here, _, _ := today.Civil()
	if year, _, _ := d.Civil(); year != here {
		return say.Day(d)
	}
	return say.ShortDay(d)
}

// number adds one outcome under both sets of rules, and how far the numbers
// that are shown lie apart.
func (v *previewView) number(say *text.Speaker, key string, now, then float64, digits int) {
	n := previewNumber{What: say.Say(key), Now: say.Number(now, digits), Then: say.Number(then, digits)}
	now, then = asShown(now, digits), asShown(then, digits)
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

// asShown is a number as it reads with so many decimals.
func asShown(v float64, digits int) float64 {
	shown, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'f', digits, 64), 64)
	return shown
}
