package web

import (
	"fmt"
	"net/http"
	"slices"

	"pryday/scheduler/text"
	"pryday/store/notebook"
	"pryday/store/sheet"
)

// columnsView is the step in which columns get their meaning.
type columnsView struct {
	File    string
	Path    string
	Letters string
	Sheets  []choiceName // where the file has several
	Sheet   string
	Heads   []choiceName // rows that may hold the headings
	Head    string
	Two     bool
	Problem []text.Text
	Columns []columnView
	Fields  []choiceName
	Rows    int
}

// columnView is one column, with what stands in it first.
type columnView struct {
	Name, Heading, Chosen string
	Likes                 []string
	Problem               text.Text
}

// headsOffered is how many rows from the top may be chosen for the headings.
const headsOffered = 30

func (s *Server) showColumns(w http.ResponseWriter, r *http.Request, b *bringing, status int, f *form) error {
	v := columnsView{File: b.title(), Path: b.step("columns"), Letters: b.book.Letters, Sheet: fmt.Sprint(b.choices.Sheet), Two: b.choices.Heading.Rows == 2}
	for i := range b.book.Sheets {
		if len(b.book.Sheets) > 1 && len(b.book.Sheets[i].Rows) > 0 {
			v.Sheets = append(v.Sheets, choiceName{fmt.Sprint(i), b.book.Sheets[i].Name})
		}
	}
	rows := b.rows()
	v.Heads, v.Head = []choiceName{{"0", b.say.Say("page.bring-in.no-heads")}}, fmt.Sprint(b.choices.Heading.Row)
	for i := range min(len(rows), headsOffered) {
		if len(rows[i]) > 0 {
			v.Heads = append(v.Heads, choiceName{fmt.Sprint(i + 1), b.say.Say("page.bring-in.head-row", i+1, firstWords(rows[i]))})
		}
	}
	for _, field := range notebook.Fields() {
		v.Fields = append(v.Fields, choiceName{string(field), b.say.Tell(field.Text())})
	}
	heads := notebook.Headings(rows, b.choices.Heading)
	first := 0
	if h := b.choices.Heading; h.Row > 0 {
		first = min(h.Row-1+h.Rows, len(rows))
	}
	v.Rows = len(rows) - first
	for i, name := range heads {
		c := columnView{Name: fmt.Sprintf("column-%d", i), Heading: name, Likes: likes(rows[first:], i)}
		if c.Heading == "" {
			c.Heading = b.say.Say("page.bring-in.column", sheet.Column(i))
		}
		if i < len(b.choices.Columns) {
			c.Chosen = string(b.choices.Columns[i])
		}
		if f != nil {
			c.Problem = f.Problems[c.Name]
		}
		if name != "" || len(c.Likes) > 0 {
			v.Columns = append(v.Columns, c)
		}
	}
	if f != nil {
		for _, missing := range b.look().Asked.Missing {
			v.Problem = append(v.Problem, text.New("page.bring-in.missing", missing.Text()))
		}
		if slices.ContainsFunc(v.Columns, func(c columnView) bool { return !c.Problem.IsZero() }) {
			v.Problem = append(v.Problem, text.New("page.bring-in.look-below"))
		}
	}
	return s.showTo(w, r, b.who, b.club, status, "bring-in-columns", b.say.Say("page.bring-in.columns"), v)
}

// firstWords are the first cells of a row, to know it by.
func firstWords(row []string) string {
	out := ""
	for _, c := range row {
		if c != "" && len(out) < 30 {
			if out != "" {
				out += " · "
			}
			out += cut(c)
		}
	}
	return cut(out)
}

// likes are some things that stand in a column.
func likes(rows [][]string, at int) (out []string) {
	for _, row := range rows {
		if at < len(row) && row[at] != "" && !slices.Contains(out, cut(row[at])) {
			if out = append(out, cut(row[at])); len(out) == 3 {
				break
			}
		}
	}
	return out
}

func (s *Server) chooseColumns(w http.ResponseWriter, r *http.Request, b *bringing, f *form) error {
	c := &b.choices
	which := c.Sheet
	if f.has("sheet") {
		which = f.whole("sheet", 0, len(b.book.Sheets)-1)
	}
	head := notebook.Heading{Row: f.whole("head", 0, len(b.book.Sheets[which].Rows)), Rows: 1}
	if f.has("two") {
		head.Rows = 2
	}
	if !f.ok() {
		return f.refuse()
	}
	if other := which != c.Sheet; other || head.Row != c.Heading.Row || head.Row > 0 && head.Rows != max(c.Heading.Rows, 1) {
		rows := b.book.Sheets[which].Rows
		*c = notebook.Choices{Sheet: which, Heading: head}
		if other {
			c.Heading = notebook.FindHeading(rows, b.today)
		}
		c.Columns = notebook.Match(notebook.Headings(rows, c.Heading), b.today)
		if err := s.keep(r.Context(), b); err != nil {
			return err
		}
		http.Redirect(w, r, b.step("columns"), http.StatusSeeOther)
		return nil
	}
	c.Columns = readColumns(f, len(notebook.Headings(b.rows(), c.Heading)))
	if err := s.keep(r.Context(), b); err != nil {
		return err
	}
	if !f.ok() || len(b.look().Asked.Missing) > 0 {
		return s.showColumns(w, r, b, http.StatusUnprocessableEntity, f)
	}
	return s.next(w, r, b)
}

// readColumns reads what each column was chosen to mean. But for a few, one column
// alone may mean one thing.
func readColumns(f *form, n int) []notebook.Field {
	out := make([]notebook.Field, n)
	taken := map[notebook.Field]bool{}
	for i := range out {
		name := fmt.Sprintf("column-%d", i)
		field := notebook.Field(f.values.Get(name))
		switch {
		case field == "":
		case !slices.Contains(notebook.Fields(), field):
			f.bad(name, "page.bring-in.no-field")
			continue
		case taken[field] && !field.Several():
			f.bad(name, "page.bring-in.twice", field.Text())
		}
		out[i], taken[field] = field, true
	}
	return out
}
