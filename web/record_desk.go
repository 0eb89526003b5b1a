package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// deskView is the grid for writing down a whole sheet at a desk: every box of an
// apiary, a row each, in the order and with the columns of the printed sheet.
type deskView struct {
	Apiary  string
	Back    string // path of the visit, or of the apiary
	Visit   bool
	Sheet   string // path of the visit on paper; empty without a visit
	Action  string
	On      string
	Today   string
	OnWrong text.Text
	Base    string // of the ids that it gives
	Scraped []degree
	Opener  *openerView
	Joint   []degree // what the words for how hard mean
	Frames  []degree
	Hives   []deskHive
	Doubts  []doubtfulBox // what kept it from being saved
	Nothing bool          // was said in it
	Wrong   bool          // something of it cannot be saved as it is
}

// deskHive is one hive of the grid.
type deskHive struct {
	ID         int64
	Name       string
	RecordPath string // of its form
	Rows       []deskRow
}

// deskRow is one box of the grid, with what was typed.
type deskRow struct {
	boxView
	Prefix         string // of its fields
	Planned        bool
	Says           []string // what is recorded of it on the day; it has no fields then
	Joint, Frames  string
	Scraped        string
	Note           string
	Supersedes     string
	Problems       map[string]text.Text
	Question       text.Text
	Words          []degree // for what was scraped
	FocusHere      bool     // what is wrong comes first here
	FocusFrames    bool     // in its frames
	FocusNote      bool     // in its note
	ProblemsInLine []text.Text
}

// sheetOrder lists the hives of an apiary as a sheet does: those that a visit
// opens come first. Without a visit they stand as in the apiary. Hives that are
// retired by a day are left out.
func (p *apiaryRecords) sheetOrder(v *scheduler.Visit, on scheduler.Date) []*scheduler.Hive {
	var out []*scheduler.Hive
	for i := range p.apiary.Hives {
		if h := &p.apiary.Hives[i]; h.RetiredOn == 0 || h.RetiredOn > on {
			out = append(out, h)
		}
	}
	opens := func(h *scheduler.Hive) int {
		if v != nil && slices.ContainsFunc(h.Boxes, func(b scheduler.Box) bool { return v.Lists(b.ID) }) {
			return 1
		}
		return 0
	}
	slices.SortStableFunc(out, func(a, b *scheduler.Hive) int { return cmp.Compare(opens(b), opens(a)) })
	return out
}

// visitDesk is the grid of a visit.
func (s *Server) visitDesk(r *http.Request, who *visitor) (*recorder, error) {
	rec, err := s.visitRecorder(r, who)
	if err == nil {
		rec.base = visitPath(rec.visit.UID) + "/desk"
	}
	return rec, err
}

// apiaryDesk is the grid of an apiary on a day.
func (s *Server) apiaryDesk(r *http.Request, who *visitor) (*recorder, error) {
	id := parseID(r.PathValue("id"))
	var p *apiaryRecords
	err := s.inAnyClub(r.Context(), who, func(tx *store.Tx) error {
		tx.Last()
		a, err := tx.RecordsAround(r.Context(), id)
		if err == nil {
			p = s.apiaryRecords(a, who)
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	return &recorder{p: p, who: who, base: fmt.Sprintf("/apiary/%d/desk", id), on: p.today}, nil
}

// showDesk shows the grid that read finds.
func (s *Server) showDesk(read func(*http.Request, *visitor) (*recorder, error)) func(http.ResponseWriter, *http.Request, *visitor) error {
	return func(w http.ResponseWriter, r *http.Request, who *visitor) error {
		rec, err := read(r, who)
		if err != nil {
			return err
		}
		rec.dayOf(r.URL.Query())
		rec.openerFrom(r.URL.Query())
		return s.renderDesk(w, r, rec, http.StatusOK, nil, nil)
	}
}

// renderDesk shows the grid; f is what came back, or nil, and answers what was
// read of it.
func (s *Server) renderDesk(w http.ResponseWriter, r *http.Request, rec *recorder, status int, f *form, answers []boxAnswers) error {
	p := rec.p
	page := &deskView{
		Apiary: p.apiary.Name, Back: "/apiary/" + itoa(p.apiary.ID), Action: rec.base, On: rec.on.String(), Today: p.today.String(),
		Base: uuid.NewString(), Scraped: scrapes(p.say, scheduler.ScrapedNone), Opener: rec.askOpener(f),
		Joint: degrees(p.say, scheduler.JointWords, scheduler.NotTried), Frames: degrees(p.say, scheduler.FramesWords, scheduler.NotTried),
	}
	if rec.visit != nil {
		page.Back, page.Visit = visitPath(rec.visit.UID), true
		page.Sheet = page.Back + "/sheet"
	}
	if f != nil {
		page.Base, page.On, page.OnWrong = cmp.Or(f.values.Get("base"), page.Base), f.values.Get("on"), f.Problems["on"]
		page.Scraped = scrapes(p.say, scraped(f))
		for _, says := range []text.Text{page.OnWrong, page.Opener.Problem} {
			if !says.IsZero() {
				page.Wrong = true
				page.Doubts = append(page.Doubts, doubtfulBox{Says: says})
			}
		}
	}
	focused := page.Wrong
	for _, h := range p.sheetOrder(rec.visit, rec.on) {
		hive := deskHive{ID: h.ID, Name: p.say.Hive(h.Name), RecordPath: rec.formOf(h.ID)}
		for i := range slices.Backward(h.Boxes) {
			row := rec.deskRow(&h.Boxes[i], f, answers)
			row.problems(page)
			if !focused && len(row.Problems) > 0 {
				row.focus()
				focused = true
			}
			hive.Rows = append(hive.Rows, row)
		}
		if len(hive.Rows) > 0 {
			page.Hives = append(page.Hives, hive)
		}
	}
	page.Nothing = f != nil && len(page.Doubts) == 0
	return s.showTo(w, r, rec.who, p.club, status, "desk", p.say.Say("page.desk.title", p.apiary.Name), page)
}

// formOf is where a hive of the grid has its form.
func (rec *recorder) formOf(hive int64) string {
	of := *rec
	of.base = "/hive/" + itoa(hive) + "/record"
	if rec.visit != nil {
		of.base = visitPath(rec.visit.UID) + "/record"
	}
	return of.address(hive)
}

// deskRow is the row of a box.
func (rec *recorder) deskRow(b *scheduler.Box, f *form, answers []boxAnswers) deskRow {
	row := deskRow{boxView: rec.p.boxView(b), Prefix: fieldsOf(b.ID), Planned: rec.visit != nil && rec.planned(b.ID), Words: scrapes(rec.p.say, "")}
	if f != nil {
		typed := f.part(row.Prefix)
		row.Joint, row.Frames = typed.values.Get("joint"), typed.values.Get("frames")
		row.Scraped, row.Note = typed.values.Get("scraped"), typed.values.Get("note")
		for i := range row.Words {
			row.Words[i].Checked = row.Words[i].Value == row.Scraped
		}
	}
	for i := range answers {
		if a := &answers[i]; a.box.ID == b.ID {
			row.Problems, row.Question, row.Supersedes = a.form.Problems, a.question, a.opening.Supersedes
			return row
		}
	}
	if o := b.OpeningOn(rec.on); o != nil && row.empty() {
		row.Says = rec.p.openingLines(o)
		if by := rec.byWhom(o); by != "" {
			row.Says = append(row.Says, by)
		}
	}
	return row
}

// empty reports whether nothing was typed in the row.
func (row *deskRow) empty() bool { return row.Joint+row.Frames+row.Scraped+row.Note == "" }

// problems gathers what keeps the row from being saved, in the order of its
// columns.
func (row *deskRow) problems(page *deskView) {
	for _, field := range []string{"joint", "frames", "note", "gap"} {
		if says := row.Problems[field]; !says.IsZero() {
			page.Wrong = true
			row.ProblemsInLine = append(row.ProblemsInLine, says)
		}
	}
	if !row.Question.IsZero() {
		row.ProblemsInLine = append(row.ProblemsInLine, row.Question)
	}
	for _, says := range row.ProblemsInLine {
		page.Doubts = append(page.Doubts, doubtfulBox{row.ID, row.Name, says})
	}
}

// focus puts the cursor where the first thing is wrong.
func (row *deskRow) focus() {
	switch {
	case !row.Problems["joint"].IsZero():
		row.FocusHere = true
	case !row.Problems["frames"].IsZero():
		row.FocusFrames = true
	default:
		row.FocusNote = true
	}
}

// MaySave reports whether whoever is sure can have the grid saved as it is.
func (page *deskView) MaySave() bool { return len(page.Doubts) > 0 && !page.Wrong }
