package web

import (
	"fmt"

	"pryday/scheduler"
	"pryday/store"
)

// consequences says what else planning changed.
func (p *apiaryRecords) consequences(r *store.Replanned, except int64) []string {
	if r == nil {
		return nil
	}
	var out []string
	name := func(id int64) string {
		if n := p.names.Apiary(id); n != "" {
			return n
		}
		return "another apiary"
	}
	for _, ch := range r.Changed {
		if ch.New.ID != except && ch.Old.On != ch.New.On {
			out = append(out, fmt.Sprintf("%s: the visit on %s moved to %s.", name(ch.New.ApiaryID), p.near(ch.Old.On), p.near(ch.New.On)))
		}
	}
	for _, v := range r.Added {
		if v.On-p.today < 60 {
			out = append(out, fmt.Sprintf("%s: a visit was added on %s.", name(v.ApiaryID), p.near(v.On)))
		}
	}
	for _, v := range r.Cancelled {
		out = append(out, fmt.Sprintf("%s: the visit on %s is not needed any more.", name(v.ApiaryID), p.near(v.On)))
	}
	return out[:min(len(out), 4)]
}

// near writes a day without its year when that is plain.
func (p *apiaryRecords) near(d scheduler.Date) string {
	if d-p.today > 200 || p.today-d > 100 {
		return p.say.Day(d)
	}
	return p.say.ShortDay(d)
}

// doubt says what speaks against a day, in a question; empty for nothing.
func (p *apiaryRecords) doubt(v *scheduler.Visit, on scheduler.Date) string {
	day := p.say.Day(on)
	for _, period := range p.apiary.Standstill {
		if period.Contains(on) {
			return fmt.Sprintf("On %s the apiary is at a standstill (%s). Put the visit there all the same?", day, p.period(period))
		}
	}
	for _, period := range p.apiary.NoGo {
		if period.Contains(on) {
			return fmt.Sprintf("The landowner wants nobody there on %s (%s). Put the visit there all the same?", day, p.period(period))
		}
	}
	if len(v.Boxes) > 0 && !p.season.MayOpen(on) {
		return fmt.Sprintf("The rules open no box on %s: it is %s there. Put the visit there all the same?", day, p.say.Word(p.season.Stage(on)))
	}
	for _, id := range v.Who {
		if m := p.club.Member(id); m != nil && m.Away(on) {
			return fmt.Sprintf("%s is away on %s. Put the visit there all the same?", m.Name, day)
		}
	}
	return ""
}
