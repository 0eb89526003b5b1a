package scheduler

import "slices"

// VisitMove is what a change of rules did to a visit: the first plan by the new
// rules moved it, or had no use for it.
type VisitMove struct {
	VisitID  int64
	Was, Now VisitStand
}

// VisitStand is where a visit stands: tentative or confirmed on a day, or
// cancelled.
type VisitStand struct {
	On       Date
	Status   VisitStatus
	Sequence int
}

// PutBack says what became of a visit that a change of rules had moved, now
// that the rules of before hold again.
type PutBack string

// What becomes of it.
const (
	WentBack    PutBack = "back"    // it stands again on the day that it had
	Touched     PutBack = "touched" // somebody, or a later plan, changed it since: it stays
	TooNear     PutBack = "near"    // the day that it had is over, or sooner than the rules' move notice: it stays
	PlannedAnew PutBack = "anew"    // the day that it had will not do any more, and planning chose
)

// PutBacks lists them.
var PutBacks = []PutBack{WentBack, Touched, TooNear, PlannedAnew}

// PlanBack plans c by its rules, which held before others that made moves: each
// visit that these moved, and nobody touched since, is planned from the day
// that it had, where planning holds it as it holds any. The moves are those
// made since, of each visit the last first. One that does not come out on its
// day is planned from where it stands instead. PlanBack changes nothing in c.
func PlanBack(c *Club, moves []VisitMove, today Date, plan func(*Club) *Plan) (*Plan, map[int64]PutBack) {
	became := map[int64]PutBack{}
	to := map[int64]VisitStand{}
	of := map[int64][]VisitMove{}
	for _, m := range moves {
		of[m.VisitID] = append(of[m.VisitID], m)
	}
	for i := range c.Visits {
		v := &c.Visits[i]
		if was, what := v.cameFrom(of[v.ID], today, &c.Rules); what != "" {
			became[v.ID] = what
			if what == WentBack {
				to[v.ID] = was
			}
		}
	}
	for {
		p := plan(c.withVisitsBack(to))
		missed := false
		for id := range to {
			if v := p.visit(id); v == nil || v.On != to[id].On {
				became[id], missed = PlannedAnew, true
				delete(to, id)
			}
		}
		if !missed {
			return p, became
		}
	}
}

// cameFrom follows the moves of v back, the last first, for as long as each
// left it as the next one found it. It returns where it stood before, and
// whether it may stand there again: nothing to say of one that is over, or that
// is where it was.
func (v *Visit) cameFrom(moves []VisitMove, today Date, r *Rules) (was VisitStand, what PutBack) {
	dropped := v.Status == Cancelled && v.OffUntil == 0
	if len(moves) == 0 || !dropped && (!v.Status.Open() || v.On < today) {
		return was, ""
	}
	was = VisitStand{v.On, v.Status, v.Sequence}
	followed := 0
	for _, m := range moves {
		if m.Now.Sequence != was.Sequence || m.Now.On != was.On {
			break
		}
		was = m.Was
		followed++
	}
	untouched := followed > 0 && !v.staysPut()
	switch {
	case untouched && was.Status == v.Status && was.On == v.On:
		return was, ""
	case !untouched && (dropped || moves[len(moves)-1].Was.On == v.On):
		return was, ""
	case !untouched:
		return was, Touched
	case was.On < today, (dropped || was.On < v.On) && was.On < today+Date(r.MoveNotice):
		return was, TooNear
	}
	return was, WentBack
}

// withVisitsBack returns c with visits where they stood before.
func (c *Club) withVisitsBack(to map[int64]VisitStand) *Club {
	out := *c
	out.Visits = slices.Clone(c.Visits)
	for i := range out.Visits {
		if was, ok := to[out.Visits[i].ID]; ok {
			out.Visits[i].stand(was)
		}
	}
	return &out
}

// stand puts v where it stood before.
func (v *Visit) stand(was VisitStand) {
	e := VisitReplanned
	switch {
	case v.Status == Cancelled:
		e, v.OffFrom = VisitReopened, was.Status
	case v.Status == Confirmed && was.Status == Tentative:
		e = VisitRecedes
	case v.Status == Tentative && was.Status == Confirmed:
		e = VisitNears
	}
	v.On = was.On
	v.happen(e)
}

// visit returns the open visit of the plan with an id, or nil.
func (p *Plan) visit(id int64) *Visit {
	for i := range p.Visits {
		if p.Visits[i].ID == id {
			return &p.Visits[i]
		}
	}
	return nil
}
