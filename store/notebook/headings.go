package notebook

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

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
// stands in brackets, or by its last word where a group stands before it. Of two
// that name the same, the first is it.
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
	if taken[Frames] && !taken[Joint] && taken[HowHard] { // beside the worst frame stands what is not the frames
		out[slices.Index(out, HowHard)] = Joint
	}
	return out
}

func fieldNamed(name string) Field {
	bare, aside, _ := strings.Cut(name, "(")
	names := []string{name, bare}
	if words := strings.Fields(name); len(words) > 1 && fieldNamed(words[0]) != Gaps { // "gap over frames" is no word of how hard frames were
		names = append(names, words[len(words)-1])
	}
	for _, n := range names {
		f, ok := known().headings[fold(n)]
		switch {
		case !ok || fold(n) == "":
		case f == Box && slices.ContainsFunc(strings.Fields(fold(aside)), func(w string) bool { return known().bottom[w] }):
			return Position // "box (1 = bottom)" counts them
		default:
			return f
		}
	}
	return ""
}

// Suggest are the choices that a table makes by itself: where its headings stand,
// what its columns are called, and of those that matter most, what stands in them
// where no heading names them.
func Suggest(rows [][]string, today scheduler.Date) *Choices {
	h := FindHeading(rows, today)
	headings := Headings(rows, h)
	columns := Match(headings, today)
	below := rows[min(max(h.Row-1, 0)+h.Rows, len(rows)):]
	if !slices.ContainsFunc(columns, func(f Field) bool { return f == Day || f == OnDay }) {
		matchCells(columns, below, Day, func(cell string) bool { _, ok := dayOf(cell, today); return ok })
	}
	if !slices.ContainsFunc(columns, Field.says) {
		matchCells(columns, below, HowHard, gradeWord)
	}
	if !slices.Contains(columns, Position) {
		matchCells(columns, below, Position, placeWord)
	}
	if !slices.Contains(columns, Kind) {
		matchCells(columns, below, Kind, func(cell string) bool { return known().kinds[fold(cell)] != "" })
	}
	tellMarks(columns, headings, below)
	return &Choices{Heading: h, Columns: columns}
}

// tellMarks looks, where two columns are called after boxes, which has their marks: not
// the one that numbers those of each hive, says in words where they stand, or counts them.
func tellMarks(columns []Field, headings []string, below [][]string) {
	counts, marks, named := -1, -1, false
	for i, f := range columns {
		if f != Box && (f != "" || fieldNamed(headings[i]) != Box) {
			continue
		}
		numbers, words, cells := 0, 0, 0
		for _, row := range below[:min(len(below), lookedAt)] {
			if i < len(row) && strings.TrimSpace(row[i]) != "" {
				cells++
				if n, err := strconv.Atoi(strings.TrimSpace(row[i])); err == nil && n >= 1 && n <= mostCounted {
					numbers++
				} else if placeWord(row[i]) {
					words++
				}
			}
		}
		switch {
		case numbers+words >= 3 && (numbers+words)*10 >= cells*9: // all but what a row of totals says
			counts, named = i, words > 0
		case cells >= 3 && marks < 0:
			marks = i
		}
	}
	if counts < 0 || marks < 0 {
		return
	}
	columns[counts], columns[marks] = "", Box
	if !slices.Contains(columns, Position) && (named || placesOf(columns, below, counts, marks)) {
		columns[counts] = Position
	}
}

// placesOf reports whether the numbers of a column are of one box each on its hive: how
// many boxes a hive has is the same for all of them.
func placesOf(columns []Field, below [][]string, number, mark int) bool {
	cell := func(row []string, i int) string {
		if i < 0 || i >= len(row) {
			return ""
		}
		return fold(row[i])
	}
	apiary, hive := slices.Index(columns, Apiary), slices.Index(columns, Hive)
	marks := map[[3]string]string{}
	for _, row := range below[:min(len(below), lookedAt)] {
		at := [3]string{cell(row, apiary), cell(row, hive), cell(row, number)}
		if m, ok := marks[at]; ok && m != cell(row, mark) && m != "" && cell(row, mark) != "" {
			return false
		}
		marks[at] = cell(row, mark)
	}
	return true
}

// mostCounted is how many boxes of one hive are counted: no stack is higher.
const mostCounted = 12

// lookedAt is how many rows below the headings are looked at for what a column
// without a known name says.
const lookedAt = 200

// matchCells gives the field to the first column without one of whose cells
// three and more, and over half, say such a thing.
func matchCells(columns []Field, rows [][]string, f Field, says func(cell string) bool) {
	for i := range columns {
		if columns[i] != "" {
			continue
		}
		filled, such := 0, 0
		for _, row := range rows[:min(lookedAt, len(rows))] {
			if i >= len(row) || row[i] == "" {
				continue
			}
			filled++
			if says(row[i]) {
				such++
			}
		}
		if such >= 3 && 2*such > filled {
			columns[i] = f
			return
		}
	}
}

// placeWord reports whether a cell is a word for a place in a stack, and none for a kind
// of box.
func placeWord(cell string) bool {
	return spotOfMark(cell) != 0 && known().kinds[fold(cell)] == ""
}

// gradeWord reports whether a cell is a word for how hard something was. Digits
// alone may count anything, and "x" may stand for anything.
func gradeWord(cell string) bool {
	d, ok := degreeOf(cell)
	return ok && d.hard != scheduler.NotTried && !d.shut && strings.IndexFunc(cell, unicode.IsLetter) >= 0
}
