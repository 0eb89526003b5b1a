package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/store"
)

// recorder is one record form: who fills it in, about what, for which day.
type recorder struct {
	p     *place
	who   *visitor
	base  string           // path of the form
	visit *scheduler.Visit // nil for the form of one hive
	hive  *scheduler.Hive  // nil for the form of a visit
	on    scheduler.Date
}

// recorder is the form behind a mailed address: of its visit alone.
func (a *acting) recorder(token string) *recorder {
	return &recorder{p: a.p, who: a.who, base: "/act/" + token, visit: a.v, on: min(a.v.On, a.p.today)}
}

// visitRecorder is the form of a visit for somebody signed in.
func (s *Server) visitRecorder(r *http.Request, who *visitor) (*recorder, error) {
	p, v, err := s.visitPlace(r.Context(), who, r.PathValue("uid"))
	if err != nil {
		return nil, err
	}
	return &recorder{p: p, who: who, base: visitPath(v.UID) + "/record", visit: v, on: min(v.On, p.today)}, nil
}

// hiveRecorder is the form of one hive on a day without a visit.
func (s *Server) hiveRecorder(r *http.Request, who *visitor) (*recorder, error) {
	p, h, err := s.hivePlace(r, who)
	if err != nil {
		return nil, err
	}
	return &recorder{p: p, who: who, base: fmt.Sprintf("/hive/%d/record", h.ID), hive: h, on: p.today}, nil
}

// hivePlace reads the hive of an address with its apiary.
func (s *Server) hivePlace(r *http.Request, who *visitor) (p *place, h *scheduler.Hive, err error) {
	id := parseID(r.PathValue("id"))
	err = s.inAnyClub(r.Context(), who, func(tx *store.Tx) error {
		apiary, err := tx.ApiaryOfHive(r.Context(), id)
		if err != nil {
			return err
		}
		p, err = s.place(r.Context(), tx, who, apiary)
		return err
	})
	if err == nil {
		h = p.hive(id)
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
	return rec.base + "?" + q.Encode()
}

// recordView is the form of one hive of a visit.
type recordView struct {
	visitLine
	Action   string
	OnDay    string
	On       string
	Today    string
	Signed   bool // in
	HiveID   int64
	Hives    []hiveStep
	Stack    stackView
	Boxes    []recordBox
	Left     int    // boxes of this hive still to be recorded
	Base     string // of the ids that "no trouble" gives
	Next     *hiveStep
	AllDone  bool
	Pegs     pegWords
	UnitHint string
	Cautions []string
	Begun    bool // something is recorded already
}

// hiveStep is one hive in the row of hives on top of the form.
type hiveStep struct {
	ID          int64
	Name        string
	Path        string
	Done, Total int
	Here        bool
}

type pegWords struct{ Least, Most string }

// planned reports whether the form asks for a box: the visit opens it, or the
// form is that of its hive.
func (rec *recorder) planned(box int64) bool {
	if rec.visit == nil {
		return true
	}
	return slices.ContainsFunc(rec.visit.Boxes, func(b scheduler.VisitBox) bool { return b.BoxID == box })
}

// steps lists the hives of the form.
func (rec *recorder) steps(here int64) []hiveStep {
	var out []hiveStep
	for i := range rec.p.apiary.Hives {
		h := &rec.p.apiary.Hives[i]
		if rec.hive != nil && h.ID != rec.hive.ID {
			continue
		}
		step := hiveStep{ID: h.ID, Name: h.Name, Path: rec.address(h.ID), Here: h.ID == here}
		for j := range h.Boxes {
			done := openingOn(&h.Boxes[j], rec.on) != nil
			if done {
				step.Done++
			}
			if done || rec.planned(h.Boxes[j].ID) {
				step.Total++
			}
		}
		if step.Total > 0 || step.Here {
			out = append(out, step)
		}
	}
	return out
}

// pick chooses the hive to show: the one asked for, else the first with
// something left to record, else the first.
func (rec *recorder) pick(asked int64) *scheduler.Hive {
	if rec.hive != nil {
		return rec.hive
	}
	if h := rec.p.hive(asked); h != nil {
		return h
	}
	steps := rec.steps(0)
	for _, st := range steps {
		if st.Done < st.Total {
			return rec.p.hive(st.ID)
		}
	}
	if len(steps) > 0 {
		return rec.p.hive(steps[0].ID)
	}
	return nil
}

// dayOf takes the day of the form from an address, when it is a sensible one.
func (rec *recorder) dayOf(q url.Values) {
	if d, err := scheduler.ParseDate(q.Get("on")); err == nil && d <= rec.p.today && d > rec.p.today-5*scheduler.HorizonDays {
		rec.on = d
	}
}

func (s *Server) showRecord(w http.ResponseWriter, r *http.Request, rec *recorder) error {
	rec.dayOf(r.URL.Query())
	return s.renderRecord(w, r, rec, parseID(r.URL.Query().Get("hive")), http.StatusOK, nil)
}

// renderRecord shows the form; asked, if any, is a box whose answers are asked
// about again.
func (s *Server) renderRecord(w http.ResponseWriter, r *http.Request, rec *recorder, hive int64, status int, asked *recordBox) error {
	p := rec.p
	h := rec.pick(hive)
	if h == nil {
		return &problem{http.StatusNotFound, "No hive here", "This apiary has no hive to record."}
	}
	if len(h.Boxes) == 0 {
		return &problem{http.StatusNotFound, "No box here", "Hive " + h.Name + " has no box. Put its boxes on it first."}
	}
	page := recordView{
		Action: rec.base, OnDay: p.say.Day(rec.on), On: rec.on.String(), Today: p.today.String(), HiveID: h.ID, Base: uuid.NewString(),
		Hives: rec.steps(h.ID), Stack: p.stack(h, rec.visit, rec.on), Signed: rec.who.person != nil,
		Pegs:     pegWords{p.say.Length(p.club.Rules.GapMM.Least), p.say.Length(p.club.Rules.GapMM.Most)},
		UnitHint: rec.unitHint(),
	}
	about := rec.pretend(h)
	page.Cautions, _ = p.cautions(about, p.season.Stage(rec.on))
	if rec.visit != nil {
		page.visitLine = p.line(rec.visit, rec.who.MemberID)
	} else {
		page.visitLine = visitLine{Apiary: p.apiary.Name, ApiaryID: p.apiary.ID}
	}
	worth := rec.gapsWorth(about)
	shown := savedFrom(r.URL.Query())
	for i := len(h.Boxes) - 1; i >= 0; i-- {
		b := &h.Boxes[i]
		if asked != nil && asked.ID == b.ID {
			asked.boxView = p.boxView(b)
			page.Boxes = append(page.Boxes, *asked)
			continue
		}
		x := rec.box(h, b, worth[b.ID], shown)
		if x.Planned && x.Saved == nil {
			page.Left++
		}
		page.Boxes = append(page.Boxes, x)
	}
	page.AllDone = true
	for i := range page.Hives {
		st := &page.Hives[i]
		page.Begun = page.Begun || st.Done > 0
		if st.Done < st.Total {
			page.AllDone = false
			if page.Next == nil && !st.Here {
				page.Next = st
			}
		}
	}
	return s.showTo(w, r, rec.who, p.club, status, "record", "Record "+h.Name, page)
}

// pretend is the visit that the form is about: the planned one, or one that
// opens the whole hive.
func (rec *recorder) pretend(h *scheduler.Hive) *scheduler.Visit {
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
	for _, it := range scheduler.Checklist(rec.p.club, v, rec.p.season.Stage(rec.on)) {
		if it.Step == scheduler.StepGaps {
			out[it.BoxID] = it.Gaps
		}
	}
	return out
}

func (rec *recorder) units() scheduler.Units {
	for _, m := range rec.p.club.Members {
		if m.ID == rec.who.MemberID && m.Units != "" {
			return m.Units
		}
	}
	return scheduler.Millimetres
}

func (rec *recorder) unitHint() string {
	if rec.units() == scheduler.Inches {
		return "inches: 5/16 or 0.31; or 8 mm"
	}
	return "millimetres: 8 or 8.5; or 5/16 in"
}

func (s *Server) recordVisit(w http.ResponseWriter, r *http.Request, who *visitor) error {
	rec, err := s.visitRecorder(r, who)
	if err != nil {
		return err
	}
	return s.showRecord(w, r, rec)
}

func (s *Server) saveVisitRecord(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	rec, err := s.visitRecorder(r, who)
	if err != nil {
		return err
	}
	return s.saveRecord(w, r, rec, f)
}

func (s *Server) recordHive(w http.ResponseWriter, r *http.Request, who *visitor) error {
	rec, err := s.hiveRecorder(r, who)
	if err != nil {
		return err
	}
	return s.showRecord(w, r, rec)
}

func (s *Server) saveHiveRecord(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	rec, err := s.hiveRecorder(r, who)
	if err != nil {
		return err
	}
	return s.saveRecord(w, r, rec, f)
}
