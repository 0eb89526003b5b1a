package web

import (
	"errors"
	"maps"
	"slices"

	"pryday/scheduler/text"
	"pryday/store"
)

// hiveAgain is a form of a hive that was refused: its page comes back
// with it as it was filled in.
type hiveAgain struct {
	deed string
	form *form
}

// refused notes at a field what the store has against a form, and reports
// whether anything is wrong with what was filled in.
func (f *form) refused(err error) bool {
	for _, x := range []struct {
		field string
		of    error
	}{
		{"name", store.ErrExists},
		{"on", store.ErrBackwards},
		{"name", store.ErrMarkTaken},
		{"to", store.ErrMarkTaken},
		{"box", store.ErrMarkTaken},
	} {
		if errors.Is(err, x.of) && f.values.Has(x.field) {
			f.Problems[x.field] = problemOf(err).text
			break
		}
	}
	return !f.ok()
}

// Is reports whether a form of the page is the refused one: by the last part
// of its address and, where each box has one, by the box.
func (a *hiveAgain) Is(deed string, box int64) bool {
	return a != nil && a.deed == deed && (box == 0 || a.form.id("box") == box)
}

// Was is what a field of a form was filled in with, or else what stands there.
func (a *hiveAgain) Was(deed string, box int64, field, stands string) string {
	if a.Is(deed, box) {
		return a.form.values.Get(field)
	}
	return stands
}

// Wrong is what is wrong with a field of a form; the zero Text for nothing.
func (a *hiveAgain) Wrong(deed string, box int64, field string) text.Text {
	if a.Is(deed, box) {
		return a.form.Problems[field]
	}
	return text.Text{}
}

// OfBox reports whether the refused form is one of those that each box has.
func (a *hiveAgain) OfBox(box int64) bool {
	return a.Is("box-move", box) || a.Is("repaired", box) || a.Is("box-save", box)
}

// All says everything that is wrong, field by field.
func (a *hiveAgain) All() []text.Text {
	var out []text.Text
	for _, field := range slices.Sorted(maps.Keys(a.form.Problems)) {
		out = append(out, text.New("form.named", fieldName(field), a.form.Problems[field]))
	}
	return out
}
