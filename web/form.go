package web

import (
	"errors"
	"fmt"
	"maps"
	"mime/multipart"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// maxForm is the size of the largest form in bytes.
const maxForm = 256 << 10

// form is what somebody sent, and what is wrong with it, field by field.
type form struct {
	values   url.Values
	files    map[string][]*multipart.FileHeader
	Problems map[string]text.Text
}

// readForm reads the body of a POST.
func readForm(w http.ResponseWriter, r *http.Request) (*form, error) {
	return readUpTo(w, r, maxForm, r.ParseForm)
}

// readUpTo reads the body of a POST of at most some bytes.
func readUpTo(w http.ResponseWriter, r *http.Request, most int64, parse func() error) (*form, error) {
	r.Body = http.MaxBytesReader(w, r.Body, most)
	err := parse()
	var tooLong *http.MaxBytesError
	switch {
	case errors.As(err, &tooLong):
		return nil, newProblem(http.StatusRequestEntityTooLarge, "problem.form-too-long", int(most>>10))
	case err != nil:
		return nil, newProblem(http.StatusBadRequest, "problem.not-a-form")
	}
	return newForm(r.PostForm)
}

// newForm takes fields that are text.
func newForm(values url.Values) (*form, error) {
	for name, of := range values {
		if !isText(name) || slices.ContainsFunc(of, func(v string) bool { return !isText(v) }) {
			return nil, newProblem(http.StatusBadRequest, "problem.unreadable")
		}
	}
	return &form{values: values, Problems: map[string]text.Text{}}, nil
}

// bad notes what is wrong with a field, by the key of a text; the first word
// counts.
func (f *form) bad(field, key string, args ...any) {
	if f.Problems[field].IsZero() {
		f.Problems[field] = text.New(key, args...)
	}
}

// part is what a form holds of the fields whose names begin so, without that.
func (f *form) part(prefix string) *form {
	out := &form{values: url.Values{}, files: map[string][]*multipart.FileHeader{}, Problems: map[string]text.Text{}}
	for name, values := range f.values {
		if rest, ok := strings.CutPrefix(name, prefix); ok {
			out.values[rest] = values
		}
	}
	for name, files := range f.files {
		if rest, ok := strings.CutPrefix(name, prefix); ok {
			out.files[rest] = files
		}
	}
	return out
}

func (f *form) ok() bool { return len(f.Problems) == 0 }

// only forgets what is wrong with other fields.
func (f *form) only(field string) {
	maps.DeleteFunc(f.Problems, func(name string, _ text.Text) bool { return name != field })
}

// status is that of the form shown again.
func (f *form) status() int {
	if f.ok() {
		return http.StatusOK
	}
	return http.StatusUnprocessableEntity
}

func (f *form) has(field string) bool { return f.values.Get(field) != "" }

// text is a trimmed field of at most max characters; line breaks become \n.
func (f *form) text(field string, max int) string {
	s := strings.ReplaceAll(strings.TrimSpace(f.values.Get(field)), "\r\n", "\n")
	if n := utf8.RuneCountInString(s); n > max {
		f.bad(field, "form.too-long", n, max)
	}
	if r, found := scheduler.Unwritable(s, true); found {
		f.bad(field, "form.unwritable", fmt.Sprintf("U+%04X", r))
	}
	return s
}

// name is a text in one line that may not be empty.
func (f *form) name(field string, max int) string {
	s := strings.Join(strings.Fields(f.text(field, max)), " ")
	switch {
	case s == "":
		f.bad(field, "form.empty")
	case scheduler.Invisible(s):
		f.bad(field, "form.invisible")
	}
	return s
}

// date reads a day; the zero Date when the field is empty.
func (f *form) date(field string) scheduler.Date {
	s := strings.TrimSpace(f.values.Get(field))
	if s == "" {
		return 0
	}
	d, err := scheduler.ParseDate(s)
	if err != nil {
		f.bad(field, "form.not-a-day", cut(s))
	}
	return d
}

// pastDate reads a day that may not be still to come.
func (f *form) pastDate(field string, today scheduler.Date) scheduler.Date {
	d := f.date(field)
	if d > today {
		f.bad(field, "form.to-come", d.String())
	}
	return d
}

// id reads a record's number.
func (f *form) id(field string) int64 { return parseID(f.values.Get(field)) }

func (f *form) ids(field string) []int64 {
	var out []int64
	for _, s := range f.values[field] {
		if id := parseID(s); id != 0 {
			out = append(out, id)
		}
	}
	return out
}

// whole reads a whole number between two bounds.
func (f *form) whole(field string, least, most int) int {
	s := strings.TrimSpace(f.values.Get(field))
	n, err := strconv.Atoi(s)
	if err != nil || n < least || n > most {
		f.bad(field, "form.not-whole", cut(s), least, most)
		return least
	}
	return n
}

// number reads a number between two bounds; a comma may stand for the point.
func (f *form) number(field string, least, most float64) float64 {
	s := strings.Replace(strings.TrimSpace(f.values.Get(field)), ",", ".", 1)
	n, err := strconv.ParseFloat(s, 64)
	if err != nil || !(n >= least && n <= most) {
		f.bad(field, "form.not-a-number", cut(s), fmt.Sprint(least), fmt.Sprint(most))
		return least
	}
	return n
}

func parseID(s string) int64 {
	id, err := strconv.ParseInt(s, 10, 64)
	if err != nil || id < 0 {
		return 0
	}
	return id
}

// cut shortens what is quoted back.
func cut(s string) string {
	if utf8.RuneCountInString(s) > 40 {
		return string([]rune(s)[:40]) + "…"
	}
	return s
}

func itoa(id int64) string { return strconv.FormatInt(id, 10) }

// fieldName is what a field is called, for messages that stand far from it.
func fieldName(field string) any {
	if key := "form.field." + field; text.Has(key) {
		return text.New(key)
	}
	return strings.ReplaceAll(field, "_", " ")
}
