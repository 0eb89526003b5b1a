package web

import (
	"fmt"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// compare plans the same records by the present rules and by others.
func (v *previewView) compare(club *scheduler.Club, rules *scheduler.Rules, today scheduler.Date, say *text.Speaker) {
	report := scheduler.Preview(club, *rules, today)
	was, now := &report.Before, &report.After
	v.number("visits", float64(was.Visits), float64(now.Visits), 0)
	v.number("openings", float64(was.Openings), float64(now.Openings), 0)
	v.number("hours", was.Hours, now.Hours, 0)
	v.number("expected hard", was.Hard, now.Hard, 1)
	v.number("expected stuck", was.Stuck, now.Stuck, 1)
	names := scheduler.NewNames(club)
	for i := range report.Changes {
		if i == shownMoves {
			v.More = len(report.Changes) - shownMoves
			break
		}
		c := &report.Changes[i]
		m := moveLine{Apiary: names.Apiary(c.ApiaryID), Boxes: count(c.Boxes, "box", "boxes")}
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
func (v *previewView) number(what string, now, then float64, digits int) {
	n := previewNumber{What: what, Now: fmt.Sprintf("%.*f", digits, now), Then: fmt.Sprintf("%.*f", digits, then)}
	switch {
	case n.Now == n.Then:
		n.Word = "the same"
	case then > now:
		n.Word = fmt.Sprintf("%.*f more", digits, then-now)
	default:
		n.Word = fmt.Sprintf("%.*f fewer", digits, now-then)
	}
	v.Numbers = append(v.Numbers, n)
}
