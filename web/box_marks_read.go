package web

import (
	"maps"
	"net/http"
	"slices"
	"strings"

	"pryday/scheduler/text"
	"pryday/store"
)

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
				one.row.Wrong = text.New("page.marks.twice-on", one.row.Typed, other.row.Was, text.Hive(other.hive.Name))
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
