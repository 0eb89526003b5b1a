package web

import (
	"cmp"
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// marksView is a list of boxes whose painted marks are given anew together: of
// an apiary, hive by hive, or of the boxes on no hive.
type marksView struct {
	ApiaryID int64 // 0 for the boxes on no hive
	Apiary   string
	Action   string
	Hives    []hiveMarks
	Paste    string      // what was pasted and could not be filled in
	Unpasted []text.Text // why, line by line
	Filled   int         // boxes whose new mark was filled in, to be saved
	Wrong    int         // boxes whose mark is refused
}

// hiveMarks are the boxes of a hive from the top down; without a hive, those
// on none.
type hiveMarks struct {
	ID    int64
	Name  string
	Boxes []markRow
}

// markRow is a box with the mark that it has, and what was typed.
type markRow struct {
	ID        int64
	Was, What string // What is its kind, or where it is
	Typed     string
	Wrong     text.Text
}

func (row *markRow) changed() bool { return row.Typed != row.Was }

// marks is a list of marks under way.
type marks struct {
	p    *apiaryRecords
	view marksView
}

// each goes through the rows.
func (m *marks) each(do func(*hiveMarks, *markRow)) {
	for i := range m.view.Hives {
		for j := range m.view.Hives[i].Boxes {
			do(&m.view.Hives[i], &m.view.Hives[i].Boxes[j])
		}
	}
}

// marksOf reads the boxes of the apiary of the address.
func (s *Server) marksOf(r *http.Request, who *visitor) (*marks, error) {
	p, _, err := s.apiaryAndOpenings(r, who)
	if err != nil {
		return nil, err
	}
	if !who.mayTend(p.apiary) {
		return nil, errNotYours
	}
	m := &marks{p, marksView{ApiaryID: p.apiary.ID, Apiary: p.apiary.Name, Action: "/apiary/" + itoa(p.apiary.ID) + "/marks"}}
	for i := range p.apiary.Hives {
		h := &p.apiary.Hives[i]
		if len(h.Boxes) == 0 {
			continue
		}
		of := hiveMarks{ID: h.ID, Name: h.Name}
		for _, b := range slices.Backward(h.Boxes) {
			of.Boxes = append(of.Boxes, markRow{ID: b.ID, Was: b.Name, What: p.say.Kind(b.Kind), Typed: b.Name})
		}
		m.view.Hives = append(m.view.Hives, of)
	}
	return m, nil
}

// spareMarks reads the boxes on no hive.
func (s *Server) spareMarks(r *http.Request, who *visitor) (*marks, error) {
	var club *scheduler.Club
	var spare []store.SpareBox
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Outline(r.Context()); err != nil {
			return err
		}
		tx.Last()
		spare, err = tx.SpareBoxes(r.Context())
		return err
	})
	if err != nil {
		return nil, err
	}
	m := &marks{&apiaryRecords{club: club, say: speaker(club, who.MemberID)}, marksView{Action: "/boxes/marks"}}
	var of hiveMarks
	for _, b := range m.p.spareLines(spare) {
		of.Boxes = append(of.Boxes, markRow{ID: b.ID, Was: b.Name, What: b.Where, Typed: b.Name})
	}
	if of.Boxes != nil {
		m.view.Hives = []hiveMarks{of}
	}
	return m, nil
}

func (s *Server) askMarks(list func(*http.Request, *visitor) (*marks, error)) memberHandler {
	return func(w http.ResponseWriter, r *http.Request, who *visitor) error {
		m, err := list(r, who)
		if err != nil {
			return err
		}
		return s.showMarks(w, r, who, http.StatusOK, m)
	}
}

func (s *Server) showMarks(w http.ResponseWriter, r *http.Request, who *visitor, status int, m *marks) error {
	title := m.p.say.Say("page.marks.title-spare")
	if m.view.ApiaryID != 0 {
		title = m.p.say.Say("page.marks.title", m.view.Apiary)
	}
	return s.showTo(w, r, who, m.p.club, status, "marks", title, m.view)
}

// saveMarks saves the marks that were changed, all of them or none.
func (s *Server) saveMarks(list func(*http.Request, *visitor) (*marks, error)) memberHandler {
	return func(w http.ResponseWriter, r *http.Request, who *visitor) error {
		f, err := readForm(w, r)
		if err != nil {
			return err
		}
		m, err := list(r, who)
		if err != nil {
			return err
		}
		m.paste(f)
		m.read(f)
		m.apart()
		refused := false
		err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error {
			if err := tx.AwaitMarks(r.Context()); err != nil {
				return err
			}
			if err := m.apartFromOthers(r, tx); err != nil {
				return err
			}
			made := m.made()
			if refused = m.count() > 0; refused || f.has("fill") || len(made) == 0 {
				return nil
			}
			if err := tx.GiveMarks(r.Context(), m.view.ApiaryID, made); err != nil {
				return err
			}
			return m.note(r, tx, who, made)
		})
		switch {
		case err != nil:
			return err
		case refused:
			return s.showMarks(w, r, who, http.StatusUnprocessableEntity, m)
		case f.has("fill"):
			m.view.Filled = len(m.made())
			return s.showMarks(w, r, who, http.StatusOK, m)
		}
		to := "/apiaries"
		if m.view.ApiaryID != 0 {
			to = "/apiary/" + itoa(m.view.ApiaryID)
		}
		return s.done(w, r, to, m.said())
	}
}

// count says how much is refused.
func (m *marks) count() int {
	m.view.Wrong = 0
	m.each(func(_ *hiveMarks, row *markRow) {
		if !row.Wrong.IsZero() {
			m.view.Wrong++
		}
	})
	return m.view.Wrong + len(m.view.Unpasted)
}

// made lists the boxes with another mark than before.
func (m *marks) made() []store.NewMark {
	var out []store.NewMark
	m.each(func(_ *hiveMarks, row *markRow) {
		if row.changed() {
			out = append(out, store.NewMark{BoxID: row.ID, Was: row.Was, Now: row.Typed})
		}
	})
	return out
}

// notedAtOnce is how many boxes one line of the trail names.
const notedAtOnce = 20

func (m *marks) note(r *http.Request, tx *store.Tx, who *visitor, made []store.NewMark) error {
	place := any(m.view.Apiary)
	if m.view.ApiaryID == 0 {
		place = text.New("page.marks.spare")
	}
	for some := range slices.Chunk(made, notedAtOnce) {
		if err := who.note(r, tx, "rename boxes", text.New("form.named", place, renamed(some))); err != nil {
			return err
		}
	}
	return nil
}

func renamed(made []store.NewMark) []text.Text {
	var out []text.Text
	for _, x := range made {
		out = append(out, text.New("page.marks.from-to", x.Was, x.Now))
	}
	return out
}

// said tells what was saved, and takes it back with the same form.
func (m *marks) said() notice {
	made := m.made()
	if len(made) == 0 {
		return notice{Text: m.p.say.Say("page.marks.said-none")}
	}
	n := notice{
		Text: m.p.say.Say("page.marks.said", len(made), renamed(made[:min(len(made), notedAtOnce)])),
		Undo: &undo{Label: m.p.say.Say("page.visit.said.take-back"), Action: m.view.Action},
	}
	if more := len(made) - notedAtOnce; more > 0 {
		n.Lines = []string{m.p.say.Say("page.rule-preview.and-more", more)}
	}
	slices.SortFunc(made, func(a, b store.NewMark) int { return cmp.Compare(a.BoxID, b.BoxID) })
	for _, x := range made {
		n.Undo.Fields = append(n.Undo.Fields, [2]string{markField(x.BoxID), x.Was}, [2]string{wasField(x.BoxID), x.Now})
	}
	return n
}
