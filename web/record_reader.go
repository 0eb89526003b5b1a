package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
	"pryday/store"
)

// recorder is one record form: who fills it in, about what, for which day.
type recorder struct {
	p     *apiaryRecords
	who   *visitor
	base  string           // path of the form
	visit *scheduler.Visit // nil for the form of one hive
	hive  *scheduler.Hive  // nil for the form of a visit
	on    scheduler.Date

	ticks  ticking
	opener *scheduler.Opener // of the boxes of the form; nil where it does not say
}

// recorder is the form behind a mailed address: of its visit alone.
func (a *acting) recorder(token string) *recorder {
	return &recorder{p: a.p, who: a.who, base: "/act/" + token, visit: a.v, on: min(a.v.On, a.p.today)}
}

// visitRecorder is the form of a visit for somebody signed in.
func (s *Server) visitRecorder(r *http.Request, who *visitor) (*recorder, error) {
	p, v, err := s.visitRecords(r.Context(), who, r.PathValue("uid"))
	if err != nil {
		return nil, err
	}
	return &recorder{p: p, who: who, base: visitPath(v.UID) + "/record", visit: v, on: min(v.On, p.today)}, nil
}

// hiveRecorder is the form of one hive on a day without a visit.
func (s *Server) hiveRecorder(r *http.Request, who *visitor) (*recorder, error) {
	p, h, err := s.hiveRecords(r, who, nil)
	if err != nil {
		return nil, err
	}
	return &recorder{p: p, who: who, base: fmt.Sprintf("/hive/%d/record", h.ID), hive: h, on: p.today}, nil
}

// hiveRecords reads the hive of an address with its apiary, and what also
// reads of the same moment, if anything.
func (s *Server) hiveRecords(r *http.Request, who *visitor, also func(*store.Tx, *apiaryRecords) error) (p *apiaryRecords, h *scheduler.Hive, err error) {
	id := parseID(r.PathValue("id"))
	err = s.inAnyClub(r.Context(), who, func(tx *store.Tx) error {
		if also == nil {
			tx.Last()
		}
		a, err := tx.RecordsAroundHive(r.Context(), id)
		if err != nil {
			return err
		}
		p = s.apiaryRecords(a, who)
		if also == nil {
			return nil
		}
		return also(tx, p)
	})
	if err == nil {
		h = p.apiary.Hive(id)
	}
	if err == nil && h == nil {
		err = store.ErrNotFound
	}
	return p, h, err
}

// address is where a hive of the form stands, on the form's day.
func (rec *recorder) address(hive int64) string {
	q := url.Values{"on": {rec.on.String()}}
	if hive != 0 {
		q.Set("hive", strconv.FormatInt(hive, 10))
	}
	rec.openerIn(q)
	return rec.base + "?" + q.Encode()
}

// planned reports whether the form asks for a box: the visit opens it, or the
// form is that of its hive.
func (rec *recorder) planned(box int64) bool {
	if rec.visit == nil {
		return true
	}
	return rec.visit.Lists(box)
}

// dayOf takes the day of the form from an address, when it may be recorded.
func (rec *recorder) dayOf(q url.Values) {
	if d, err := scheduler.ParseDate(q.Get("on")); err == nil && d.Recordable(rec.p.today) {
		rec.on = d
	}
}

// visitOf is the visit that the form is about: the planned one, or one that
// opens the whole hive.
func (rec *recorder) visitOf(h *scheduler.Hive) *scheduler.Visit {
	if rec.visit != nil {
		return rec.visit
	}
	v := &scheduler.Visit{ApiaryID: rec.p.apiary.ID, On: rec.on, Who: []int64{rec.who.MemberID}}
	for i := len(h.Boxes) - 1; i >= 0; i-- {
		v.Boxes = append(v.Boxes, scheduler.VisitBox{BoxID: h.Boxes[i].ID})
	}
	return v
}

// gapsWorth says at which places of each box gaps are worth measuring.
func (rec *recorder) gapsWorth(v *scheduler.Visit) map[int64][]scheduler.GapPlace {
	out := map[int64][]scheduler.GapPlace{}
	for _, it := range advice.Checklist(rec.p.club, v, rec.p.season.Stage(rec.on)) {
		if it.Step == scheduler.StepGaps {
			out[it.BoxID] = it.Gaps
		}
	}
	return out
}

func (rec *recorder) units() text.Units {
	if m := rec.p.club.Member(rec.who.MemberID); m != nil && m.Units != "" {
		return m.Units
	}
	return text.Millimetres
}

// pegs says how a gap is measured, and how its length is written.
func (rec *recorder) pegs() text.Text {
	gap := rec.p.club.Rules.GapMM
	key := "page.record.pegs-mm"
	if rec.units() == text.Inches {
		key = "page.record.pegs-in"
	}
	return text.New(key, text.Length(gap.Least), text.Length(gap.Most))
}
