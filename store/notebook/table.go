package notebook

import (
	"cmp"
	"sort"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// Refusal is a row that is not taken, and why.
type Refusal struct {
	Row   int // from 1, as a spreadsheet counts
	Cells []string
	Why   []text.Text
}

// Result is what a table comes to.
type Result struct {
	Asked   Asked
	Rows    int // that say something, below the headings
	Refused []Refusal

	Openings  int // new ones
	Ungraded  int // of them without a word how hard it was
	Known     int // rows that are recorded already
	Repeated  int // rows that say what an earlier one says
	Apiaries  []string
	Hives     int
	Boxes     int
	Begun     int            // of the boxes that count from their first opening on, since nobody knows how long they were in use
	Unmarked  int            // of the boxes without a mark: they are named by hive and place
	NamedAs   []string       // some of those names
	Stacked   int            // hives in which the table does not say for all new boxes which stands below which
	StackedIn []string       // some of them
	First     scheduler.Date // day of the first new opening, and of the last
	Last      scheduler.Date
}

// table is a table being read.
type table struct {
	club     *scheduler.Club
	choices  *Choices
	today    scheduler.Date
	headings []string
	columns  []Field
	orders   map[int]Order // by column: that of its days which can be read in one way only, if they agree
	asked    Asked
	entries  []*entry
	why      map[int][]text.Text
}

// Look says what Read would come to, and changes nothing.
func Look(rows [][]string, choices *Choices, c *scheduler.Club, today scheduler.Date) *Result {
	res, _ := read(rows, choices, c, today)
	return res
}

// Read reads a table into c, which is changed only where nothing is open to be
// asked. Openings that c has already are not added again: those of the same box and
// day with the same answers, and those that such a table brought before, whatever
// became of them since. Keeper, if any, looks after the apiaries that are made.
func Read(rows [][]string, choices *Choices, c *scheduler.Club, keeper int64, today scheduler.Date) *Result {
	res, p := read(rows, choices, c, today)
	if !res.Asked.Open() {
		p.apply(keeper)
	}
	return res
}

func read(rows [][]string, choices *Choices, c *scheduler.Club, today scheduler.Date) (*Result, *placing) {
	t := &table{club: c, choices: choices, today: today, why: map[int][]text.Text{}}
	t.headings = Headings(rows, choices.Heading)
	t.columns = choices.Columns
	res := &Result{}
	t.missing()
	if len(t.asked.Missing) > 0 {
		res.Asked = t.asked
		return res, nil
	}
	res.Rows = t.read(rows)
	p := newPlacing(t)
	p.place()
	p.settle()
	p.lacks()
	p.count(res)
	res.Refused = t.refusals(rows)
	res.Asked = t.asked
	return res, p
}

// missing notes the columns without which nothing can be read.
func (t *table) missing() {
	has := map[Field]bool{}
	for _, f := range t.columns {
		has[f] = true
	}
	if !has[Hive] && !has[Box] && !has[OfBox] {
		t.asked.Missing = append(t.asked.Missing, Hive)
	}
	tells := false
	for f := range has {
		_, gap := f.gapAt()
		tells = tells || gap || f == Gaps || f.degrees() && f != OnDay
	}
	if tells && !has[Day] && !has[OnDay] {
		t.asked.Missing = append(t.asked.Missing, Day)
	}
}

// read reads the rows below the headings and returns how many say something.
func (t *table) read(rows [][]string) (n int) {
	var above [2]string
	first := 0
	if h := t.choices.Heading; h.Row > 0 {
		first = h.Row - 1 + max(h.Rows, 1)
	}
	t.orders = t.clearOrders(rows[min(first, len(rows)):])
	for i := first; i < len(rows); i++ {
		r := &rowReader{table: t, row: i, cells: rows[i]}
		if !r.saysSomething() {
			continue
		}
		n++
		if why := r.noRecord(); why != "" {
			r.bad(why)
			continue
		}
		r.ditto(&above)
		r.read()
		t.entries = append(t.entries, r.entries...)
	}
	return n
}

func (r *rowReader) saysSomething() bool {
	for at, f := range r.columns {
		if f != "" && at < len(r.cells) && r.cells[at] != "" {
			return true
		}
	}
	return false
}

// noRecord says why a row tells of no box, so that nothing is asked about it: it
// counts the others, or is a remark on the whole table.
func (r *rowReader) noRecord() (why string) {
	remark := true
	for at, f := range r.columns {
		remark = remark && (f == "" || f == Note || at >= len(r.cells) || r.cells[at] == "")
	}
	name := fold(cmp.Or(r.cell(Apiary), r.cell(Hive)))
	first, _, _ := strings.Cut(name, " ")
	switch {
	case remark:
		return "sheet.why.no-box"
	case (known().totals[name] || known().totals[first]) && r.cell(Day) == "" && r.cell(Box) == "":
		return "sheet.why.total"
	}
	return ""
}

// ditto fills an empty apiary and hive from the row above, unless it was said that
// they are not known.
// A box alone may be one in store.
func (r *rowReader) ditto(above *[2]string) {
	var now [2]string
	var at [2]int
	for i, f := range []Field{Apiary, Hive} {
		at[i] = -1
		for k, is := range r.columns {
			if is == f {
				at[i] = k
			}
		}
		now[i] = r.cell(f)
	}
	empty := at[0] >= 0 && now[0] == "" && above[0] != "" || at[1] >= 0 && now[1] == "" && above[1] != ""
	spare := now[0] == "" && now[1] == "" && r.cell(Box) != "" && spareBox(r.club, r.cell(Box)) != nil
	if empty && !spare && now[0] != "" && now[0] != above[0] { // another apiary: its hive is not the one above
		empty = false
	}
	if empty && !spare {
		r.asked.Above++
		r.asked.open = r.asked.open || r.choices.Above == ""
		if r.choices.Above != Leave { // until it is answered, so that nothing else is asked for it
			cells := append([]string(nil), r.cells...)
			for len(cells) <= max(at[0], at[1]) {
				cells = append(cells, "")
			}
			for i := range now {
				if at[i] >= 0 && now[i] == "" {
					cells[at[i]], now[i] = above[i], above[i]
				}
			}
			r.cells = cells
		}
	}
	for i := range now {
		if now[i] != "" {
			above[i] = now[i]
		}
	}
	if at[0] >= 0 && now[0] != "" && now[1] == "" {
		above[1] = ""
	}
}

func (t *table) refuse(row int, why text.Text) {
	const kept = 5
	if len(t.why[row]) < kept {
		t.why[row] = append(t.why[row], why)
	}
}

func (t *table) refusals(rows [][]string) (out []Refusal) {
	for row, why := range t.why {
		out = append(out, Refusal{row + 1, rows[row], why})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Row < out[j].Row })
	return out
}
