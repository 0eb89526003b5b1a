package web

import (
	"cmp"
	"maps"
	"net/http"
	"slices"
	"strings"

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

func markField(box int64) string { return "m" + itoa(box) }
func wasField(box int64) string  { return "w" + itoa(box) }

// paste fills the fields of the form in from lines of an old mark, a tab and a
// new one, as two columns of a spreadsheet are pasted. What cannot be filled
// in stays, and so does what was typed for boxes that are not here any more.
func (m *marks) paste(f *form) {
	here, typed := map[string]bool{}, map[int64]bool{}
	m.each(func(_ *hiveMarks, row *markRow) {
		here[wasField(row.ID)] = true
		typed[row.ID] = f.has(markField(row.ID)) && f.values.Get(markField(row.ID)) != f.values.Get(wasField(row.ID))
	})
	lines := strings.Split(f.text("paste", maxForm), "\n")
	for _, field := range slices.Sorted(maps.Keys(f.values)) {
		id := strings.TrimPrefix(field, "w")
		if was, now := f.values.Get(field), f.values.Get("m"+id); parseID(id) != 0 && !here[field] && now != was {
			lines = append(lines, was+"\t"+now)
		}
	}
	var left []string
	for n, line := range lines {
		if strings.TrimSpace(line) == "" {
			continue
		}
		if why := m.pasteLine(f, line, typed); !why.IsZero() {
			left = append(left, line)
			m.view.Unpasted = append(m.view.Unpasted, text.New("page.marks.line", n+1, why))
		}
	}
	m.view.Paste = strings.Join(left, "\n")
}

// pasteLine fills one line in, and says why not; typed has the boxes that
// have a new mark already.
func (m *marks) pasteLine(f *form, line string, typed map[int64]bool) text.Text {
	old, now, two := strings.Cut(strings.Trim(line, "\r"), "\t")
	if old, now = strings.TrimSpace(old), strings.TrimSpace(now); !two || old == "" || now == "" {
		return text.New("page.marks.not-two", cut(strings.TrimSpace(line)))
	}
	var found []*markRow
	m.each(func(_ *hiveMarks, row *markRow) {
		if strings.EqualFold(row.Was, old) {
			found = append(found, row)
		}
	})
	switch {
	case len(found) == 0:
		return text.New("page.marks.not-here", cut(old))
	case len(found) > 1:
		return text.New("page.marks.several", cut(old))
	case typed[found[0].ID] && f.values.Get(markField(found[0].ID)) != now:
		return text.New("page.marks.two-new", cut(old), cut(f.values.Get(markField(found[0].ID))), cut(now))
	}
	f.values.Set(markField(found[0].ID), now)
	typed[found[0].ID] = true
	return text.Text{}
}

// read takes over what was typed, and says what is no mark. A box that somebody
// else gave another mark meanwhile keeps that, unless it was to get one here.
func (m *marks) read(f *form) {
	m.each(func(_ *hiveMarks, row *markRow) {
		field := markField(row.ID)
		typed, was := strings.TrimSpace(f.values.Get(field)), f.values.Get(wasField(row.ID))
		if _, there := f.values[field]; !there || typed == strings.TrimSpace(was) {
			return
		}
		row.Typed = f.name(field, 40)
		if f.values.Has(wasField(row.ID)) && was != row.Was && row.changed() {
			f.bad(field, "page.marks.meanwhile", row.Was)
		}
		if row.changed() {
			row.Wrong = f.Problems[field]
		}
	})
}

// apart refuses marks that two boxes of the list would have.
func (m *marks) apart() {
	type place struct {
		hive *hiveMarks
		row  *markRow
	}
	of := map[string][]place{}
	m.each(func(h *hiveMarks, row *markRow) {
		mark := strings.ToLower(row.Typed)
		of[mark] = append(of[mark], place{h, row})
	})
	for _, same := range of {
		for i, one := range same {
			if !one.row.changed() || !one.row.Wrong.IsZero() || len(same) == 1 {
				continue
			}
			other := same[(i+1)%len(same)]
			one.row.Wrong = text.New("page.marks.twice", one.row.Typed, other.row.Was)
			if m.view.ApiaryID != 0 {
				one.row.Wrong = text.New("page.marks.twice-on", one.row.Typed, other.row.Was, other.hive.Name)
			}
		}
	}
}

// apartFromOthers refuses marks that boxes elsewhere in the club have.
func (m *marks) apartFromOthers(r *http.Request, tx *store.Tx) error {
	var wanted []string
	var listed []int64
	m.each(func(_ *hiveMarks, row *markRow) {
		listed = append(listed, row.ID)
		if row.changed() && row.Wrong.IsZero() {
			wanted = append(wanted, row.Typed)
		}
	})
	if wanted == nil {
		return nil
	}
	others, err := tx.Marked(r.Context(), wanted, listed)
	if err != nil {
		return err
	}
	taken := map[string]store.MarkedBox{}
	for _, b := range others {
		taken[strings.ToLower(b.Name)] = b
	}
	m.each(func(_ *hiveMarks, row *markRow) {
		switch b, is := taken[strings.ToLower(row.Typed)]; {
		case !is || !row.changed() || !row.Wrong.IsZero():
		case b.Hive == "":
			row.Wrong = text.New("page.marks.taken-spare", b.Name)
		default:
			row.Wrong = text.New("page.marks.taken", b.Name, b.Hive, b.Apiary)
		}
	})
	return nil
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
