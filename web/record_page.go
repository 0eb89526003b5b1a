package web

import (
	"cmp"
	"maps"
	"net/http"
	"slices"
	"strings"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// recordView is the form of one hive of a visit.
type recordView struct {
	visitLine
	Action   string
	OnDay    string
	On       string
	Today    string
	Latest   string // the day of the visit; empty for the form of a hive
	Signed   bool   // in
	Tends    bool   // may change the stack
	HiveID   int64
	Hives    []hiveStep
	Stack    stackView
	Boxes    []recordBox
	Rows     int    // boxes of this hive that its form asks for
	Left     int    // of them that are planned
	Base     string // of the ids that the form of the hive gives
	Scraped  []degree
	Steps    *stepsView    // nil for a hive that has none
	Opener   *openerView   // nil where it is not asked
	Joint    []degree      // what the words for how hard mean
	Doubts   []doubtfulBox // what kept the form from being saved
	Nothing  bool          // was said in it
	wrong    bool          // something of it cannot be saved as it is
	Before   *hiveSaved    // another hive, saved just before
	Next     *hiveStep
	AllDone  bool
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

// doubtfulBox is one box that kept the form of its hive from being saved; without
// a name, it is who opened.
type doubtfulBox struct {
	ID   int64
	Name string
	Says text.Text
}

// hiveSaved is a hive that was saved before the form went on to the next.
type hiveSaved struct {
	Name, Path string
	Lines      []string // when its boxes are due next
}

// steps lists the hives of the form.
func (rec *recorder) steps(here int64) []hiveStep {
	var out []hiveStep
	for i := range rec.p.apiary.Hives {
		h := &rec.p.apiary.Hives[i]
		if rec.hive != nil && h.ID != rec.hive.ID {
			continue
		}
		step := hiveStep{ID: h.ID, Name: rec.p.say.Hive(h.Name), Path: rec.address(h.ID), Here: h.ID == here}
		for j := range h.Boxes {
			done := h.Boxes[j].OpeningOn(rec.on) != nil
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
	if h := rec.p.apiary.Hive(asked); h != nil {
		return h
	}
	steps := rec.steps(0)
	for _, st := range steps {
		if st.Done < st.Total {
			return rec.p.apiary.Hive(st.ID)
		}
	}
	if len(steps) > 0 {
		return rec.p.apiary.Hive(steps[0].ID)
	}
	return nil
}

func (s *Server) showRecord(w http.ResponseWriter, r *http.Request, rec *recorder) error {
	rec.dayOf(r.URL.Query())
	rec.openerFrom(r.URL.Query())
	return s.renderRecord(w, r, rec, parseID(r.URL.Query().Get("hive")), http.StatusOK, nil)
}

// renderRecord shows the form; asked, if any, is what is asked about again.
func (s *Server) renderRecord(w http.ResponseWriter, r *http.Request, rec *recorder, hive int64, status int, asked *askedAgain) error {
	if asked == nil {
		asked = &askedAgain{}
	}
	p := rec.p
	h := rec.pick(hive)
	if h == nil {
		return newProblem(http.StatusNotFound, "problem.no-hive")
	}
	if len(h.Boxes) == 0 {
		return newProblem(http.StatusNotFound, "problem.no-box", h.Name)
	}
	page := recordView{
		Action: rec.base, OnDay: p.say.Day(rec.on), On: rec.on.String(), Today: p.today.String(), HiveID: h.ID, Base: cmp.Or(asked.Base, uuid.NewString()), Nothing: asked.Nothing,
		Hives: rec.steps(h.ID), Stack: p.stack(h, rec.visit, rec.on), Signed: rec.who.person != nil, Tends: rec.who.person != nil && rec.who.mayTend(p.apiary),
	}
	about := rec.visitOf(h)
	if rec.on == p.today && (rec.visit == nil || p.ahead(rec.visit, scheduler.FoundOn(p.club, rec.visit))) { // else all is open and shut again
		page.Cautions, _ = p.cautions(about, p.season.Stage(rec.on), rec.who.MemberID)
	}
	if rec.visit != nil {
		page.visitLine, page.Latest = p.visitLine(rec.visit, rec.who.MemberID), rec.visit.On.String()
	} else {
		page.visitLine = visitLine{Apiary: p.apiary.Name, ApiaryID: p.apiary.ID}
	}
	worth := rec.gapsWorth(about)
	fresh := s.takeSaved(r)
	for i := len(h.Boxes) - 1; i >= 0; i-- {
		b := &h.Boxes[i]
		x := rec.box(h, b, worth[b.ID], fresh)
		if again := asked.Boxes[b.ID]; again != nil {
			x = *again
			x.boxView = p.boxView(b)
			page.doubt(&x)
		}
		if x.InStack() {
			page.Rows++
			if x.Planned {
				page.Left++
			}
		}
		page.Boxes = append(page.Boxes, x)
	}
	page.Joint = degrees(p.say, scheduler.JointWords, scheduler.NotTried)
	page.Steps = rec.stepsOf(h, asked.form)
	page.Opener = rec.askOpener(asked.form)
	if page.Opener != nil && !page.Opener.Problem.IsZero() {
		page.wrong = true
		page.Doubts = append(page.Doubts, doubtfulBox{Says: page.Opener.Problem})
	}
	page.Scraped = scrapes(p.say, cmp.Or(asked.Scraped, scheduler.ScrapedNone))
	page.Before = fresh.before(rec, h)
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
	if status >= http.StatusBadRequest && wantsProblem(r) {
		return tellProblem(w, status, p.say.Say("page.record.not-saved"), page.doubts(p.say))
	}
	return s.showTo(w, r, rec.who, p.club, status, "record", p.say.Say("page.record.title", text.Hive(h.Name)), page)
}

// doubt notes what kept the form of the hive from being saved, if it was the
// box.
func (page *recordView) doubt(x *recordBox) {
	if !x.InStack() {
		return
	}
	add := func(says text.Text) {
		if !says.IsZero() {
			page.Doubts = append(page.Doubts, doubtfulBox{x.ID, x.Name, says})
		}
	}
	add(x.Question)
	for _, field := range slices.Sorted(maps.Keys(x.Problems)) {
		page.wrong = true
		add(x.Problems[field])
	}
}

// doubts says in a line for each what kept the form from being saved.
func (page *recordView) doubts(say *text.Speaker) string {
	var lines []string
	if page.Nothing {
		lines = append(lines, say.Say("page.record.nothing"))
	}
	for _, d := range page.Doubts {
		line := say.Tell(d.Says)
		if d.Name != "" {
			line = d.Name + ": " + line
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}

// MaySave reports whether whoever is sure can have the form saved as it is.
func (page recordView) MaySave() bool { return len(page.Doubts) > 0 && !page.wrong }

func (s *Server) recordVisit(w http.ResponseWriter, r *http.Request, who *visitor) error {
	rec, err := s.visitRecorder(r, who)
	if err != nil {
		return err
	}
	return s.showRecord(w, r, rec)
}

func (s *Server) saveVisitRecord(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readRecordForm(w, r)
	if err != nil {
		return err
	}
	return s.saveRecord(w, r, f, func() (*recorder, error) { return s.visitRecorder(r, who) })
}

func (s *Server) recordHive(w http.ResponseWriter, r *http.Request, who *visitor) error {
	rec, err := s.hiveRecorder(r, who)
	if err != nil {
		return err
	}
	return s.showRecord(w, r, rec)
}

func (s *Server) saveHiveRecord(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readRecordForm(w, r)
	if err != nil {
		return err
	}
	return s.saveRecord(w, r, f, func() (*recorder, error) { return s.hiveRecorder(r, who) })
}
