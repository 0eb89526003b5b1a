package web

import (
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// nextCard is the next visit, with the one thing to do about it.
type nextCard struct {
	visitLine
	Record bool     // what was found there
	Access string   // to whoever is expected there
	Alone  []string // hives that are left alone on its day, and why
}

// next is the visit to begin with: the first of whoever looks, or else, for an
// organiser, the first of the club that somebody goes to; empty for none.
func (rec *homeRecords) next(who *visitor) string {
	first := func(is func(*scheduler.Visit) bool) string {
		for i := range rec.open.Visits {
			if v := &rec.open.Visits[i].Visit; is(v) {
				return v.UID
			}
		}
		return ""
	}
	mine := first(func(v *scheduler.Visit) bool { return slices.Contains(v.Who, who.MemberID) })
	if mine != "" || who.Role != scheduler.Organiser {
		return mine
	}
	return first(func(v *scheduler.Visit) bool { return len(v.Who) > 0 })
}

func (p *apiaryRecords) nextCard(line visitLine, v *scheduler.Visit) *nextCard {
	n := &nextCard{visitLine: line, Record: line.Mine && (v.On < p.today || v.On == p.today && line.Said)}
	if line.Mine {
		n.Access = p.apiary.AccessNotes
	}
	for i := range p.apiary.Hives {
		h := &p.apiary.Hives[i]
		if why := p.alone(h, v.On); why != "" && h.RetiredOn == 0 {
			n.Alone = append(n.Alone, p.say.Say("page.home.alone", text.Hive(h.Name), why))
		}
	}
	return n
}

// minesFirst orders two apiaries: those that somebody looks after come first.
func (rec *homeRecords) minesFirst(who *visitor, a, b int64) int {
	rank := func(id int64) int {
		if at := rec.club.Apiary(id); at != nil && slices.Contains(at.Keepers, who.MemberID) {
			return 0
		}
		return 1
	}
	return rank(a) - rank(b)
}

// rest says in a line what is folded away.
func (v *homeView) rest() text.Text {
	var has []text.Text
	visits := v.More + v.Later
	for _, w := range v.Weeks {
		visits += len(w.Visits)
	}
	if visits > 0 {
		has = append(has, text.New("page.home.rest-visits", visits))
	}
	if len(v.Overdue) > 0 {
		has = append(has, text.New("page.home.rest-late", len(v.Overdue)))
	}
	if len(v.Strips) > 0 {
		has = append(has, text.New("page.home.rest-year"))
	}
	if len(has) == 0 {
		return text.Text{}
	}
	return text.New("page.home.rest", has)
}
