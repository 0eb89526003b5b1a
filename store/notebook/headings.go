package notebook

import (
	"strings"

	"pryday/scheduler"
)

// headingRows is how far down the headings are looked for, below a title.
const headingRows = 20

// Heading is where a table has its headings.
type Heading struct {
	Row  int // from 1; 0 where it has none
	Rows int // 1, or 2 where a heading above stands for several below
}

// FindHeading finds the row that names the most columns, and of two rows both
// where that names more.
func FindHeading(rows [][]string, today scheduler.Date) Heading {
	best, most := Heading{}, 0
	for n := 1; n <= 2; n++ {
		for i := range min(len(rows), headingRows) {
			h := Heading{i + 1, n}
			if n == 2 && (i+1 >= len(rows) || len(rows[i]) == 0 || hasDay(rows[i+1], today) || hasDay(rows[i], today)) {
				continue
			}
			count := 0
			for _, f := range Match(Headings(rows, h), today) {
				if f != "" {
					count++
				}
			}
			if count > most {
				best, most = h, count
			}
		}
	}
	return best
}

func hasDay(row []string, today scheduler.Date) bool {
	for _, c := range row {
		if _, ok := dayOf(c, today); ok {
			return true
		}
	}
	return false
}

// Headings are the headings of the columns, empty where there is none.
func Headings(rows [][]string, h Heading) []string {
	wide := 0
	for _, row := range rows[min(max(h.Row-1, 0), len(rows)):] {
		wide = max(wide, len(row))
	}
	out := make([]string, wide)
	if h.Row < 1 || h.Row > len(rows) {
		return out
	}
	copy(out, rows[h.Row-1])
	if h.Rows < 2 || h.Row == len(rows) {
		return out
	}
	group := ""
	for i := range out {
		below := ""
		if i < len(rows[h.Row]) {
			below = rows[h.Row][i]
		}
		if out[i] != "" {
			group = out[i]
		}
		switch {
		case below != "":
			out[i] = strings.TrimSpace(group + " " + below)
		case out[i] == "":
			group = ""
		}
	}
	return out
}

// Match says which field each heading names: by its whole name, or without what
// stands in brackets, or by its last word where a group stands before it.
func Match(headings []string, today scheduler.Date) []Field {
	out := make([]Field, len(headings))
	taken := map[Field]bool{}
	for i, name := range headings {
		f := fieldNamed(name)
		if f == "" {
			if _, ok := dayOf(name, today); ok {
				f = OnDay
			}
		}
		if taken[f] && !f.Several() {
			continue
		}
		out[i], taken[f] = f, true
	}
	return out
}

func fieldNamed(name string) Field {
	bare, _, _ := strings.Cut(name, "(")
	names := []string{name, bare}
	if words := strings.Fields(name); len(words) > 1 {
		names = append(names, words[len(words)-1])
	}
	for _, n := range names {
		if f, ok := known().headings[fold(n)]; ok && fold(n) != "" {
			return f
		}
	}
	return ""
}

// Suggest are the choices that a table makes by itself: where its headings stand
// and what its columns are called.
func Suggest(rows [][]string, today scheduler.Date) *Choices {
	h := FindHeading(rows, today)
	return &Choices{Heading: h, Columns: Match(Headings(rows, h), today)}
}
