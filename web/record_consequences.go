package web

import (
	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// consequences says what else planning changed.
func (p *apiaryRecords) consequences(r *store.Replanned, except int64) []string {
	if r == nil {
		return nil
	}
	var out []string
	name := func(id int64) any {
		if n := p.names.Apiary(id); n != "" {
			return n
		}
		return text.New("page.then.elsewhere")
	}
	for _, ch := range r.Changed {
		if ch.New.ID != except && ch.Old.On != ch.New.On {
			out = append(out, p.say.Say("page.then.moved", name(ch.New.ApiaryID), p.near(ch.Old.On), p.near(ch.New.On)))
		}
	}
	for _, v := range r.Added {
		if v.On-p.today < 60 {
			out = append(out, p.say.Say("page.then.added", name(v.ApiaryID), p.near(v.On)))
		}
	}
	for _, v := range r.Cancelled {
		out = append(out, p.say.Say("page.then.not-needed", name(v.ApiaryID), p.near(v.On)))
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
