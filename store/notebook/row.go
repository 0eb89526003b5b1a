package notebook

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// Lengths in characters, as documents bound them.
const (
	maxName = 200
	maxNote = 4000
)

// entry is what a row says of one box.
type entry struct {
	row               int // of the sheet, from 0
	apiary, hive, box string
	place             string // in the stack, as the table writes it
	position          int    // that place counted from 1, the lowest, or
	spot              spot   // as a word says it
	kind              string
	kindAsked         bool // its word is not explained yet
	setUp             scheduler.Date
	opened            bool // the row tells of an opening
	said              said
	o                 scheduler.Opening

	of *placed // the box that it tells of, once that is found
}

// said is what a row says of an opening, beside its day: only that can differ
// from what is recorded.
type said struct {
	hard, joint, frames, shut, scraped, opener bool
}

// rowReader reads the rows of a table, one by one.
type rowReader struct {
	*table
	row     int
	cells   []string
	entries []*entry
}

func (r *rowReader) bad(key string, args ...any) { r.refuse(r.row, text.New(key, args...)) }

// cell is what stands in the first column of a field.
func (r *rowReader) cell(f Field) string {
	if at := slices.Index(r.columns, f); at >= 0 && at < len(r.cells) {
		return unguard(r.cells[at])
	}
	return ""
}

// cellsOf are what stands in all columns of a field.
func (r *rowReader) cellsOf(f Field) (out []string) {
	for at, is := range r.columns {
		if is == f && at < len(r.cells) && r.cells[at] != "" {
			out = append(out, unguard(r.cells[at]))
		}
	}
	return out
}

// read reads the row into an entry for each box and day that it tells of.
func (r *rowReader) read() {
	base := entry{row: r.row, apiary: r.name(Apiary), hive: r.name(Hive), box: r.name(Box), setUp: r.day(r.called(SetUp), slices.Index(r.columns, SetUp), r.cell(SetUp))}
	r.place(&base)
	base.kind, base.kindAsked = r.kind()
	base.o.Joint, base.o.Frames = scheduler.NotTried, scheduler.NotTried
	base.o.On = r.day(r.called(Day), slices.Index(r.columns, Day), r.cell(Day))
	base.opened = base.o.On != 0
	r.answers(&base)
	several := false
	for at, f := range r.columns {
		if f != OfBox && f != OnDay || at >= len(r.cells) || r.cells[at] == "" {
			continue
		}
		e := base
		if f == OfBox {
			e.box = r.headings[at]
		} else {
			e.o.On = r.day(f.Text(), headingDays, r.headings[at])
		}
		if several { // what the row says beside is said once
			e.o.Note, e.o.Gaps, e.o.Condition = "", nil, nil
		}
		d := r.degree(r.headings[at], r.cells[at])
		e.o.Joint, e.o.LeftShut, e.said.hard, e.opened = d.hard, d.shut, d.hard != scheduler.NotTried, true
		e.said.shut = d.shut
		several = true
		r.finish(&e)
	}
	if !several {
		r.finish(&base)
	}
}

// finish checks an entry as a whole and keeps it.
func (r *rowReader) finish(e *entry) {
	tells := e.opened || e.said.hard || e.said.joint || e.said.frames || e.said.shut || len(e.o.Gaps) > 0
	if tells && e.o.On == 0 {
		if len(r.why[r.row]) == 0 { // or what stands there is no day
			r.bad("sheet.why.no-day")
		}
		r.entries = append(r.entries, e) // its place in the table says where the box stands
		return
	}
	if e.apiary == "" && e.hive == "" && e.box == "" {
		if e.opened {
			r.bad("sheet.why.no-box")
		}
		return
	}
	if e.o.On > r.today || e.setUp > r.today {
		r.bad("form.to-come", max(e.o.On, e.setUp))
	}
	if e.o.Scraped == "" && e.said.shut {
		e.o.Scraped = scheduler.ScrapedNone
	}
	r.entries = append(r.entries, e)
}

func (r *rowReader) name(f Field) string {
	s := strings.Join(strings.Fields(r.cell(f)), " ")
	r.check(f, s, maxName, false)
	return s
}

// check refuses text that cannot be kept.
func (r *rowReader) check(f Field, s string, most int, lines bool) {
	if n := utf8.RuneCountInString(s); n > most {
		r.bad("sheet.why.long", r.called(f), n, most)
	}
	if s != "" && !legible(s, lines) {
		r.bad("sheet.why.unreadable", r.called(f))
	}
}

// legible reports whether some text can be kept, whatever its length.
func legible(s string, lines bool) bool {
	_, found := scheduler.Unwritable(s, lines)
	return !found && !strings.ContainsRune(s, utf8.RuneError) && !scheduler.Invisible(s)
}

// called is what the table calls the first column of a field.
func (r *rowReader) called(f Field) any {
	if at := slices.Index(r.columns, f); at >= 0 && at < len(r.headings) && r.headings[at] != "" {
		return short(r.headings[at])
	}
	return f.Text()
}

// place reads where the box stands in its stack, by a number or a word.
func (r *rowReader) place(e *entry) {
	s := r.cell(Position)
	if s == "" {
		return
	}
	r.check(Position, s, maxName, false)
	e.place = strings.Join(strings.Fields(s), " ")
	e.position = number(strings.TrimSuffix(strings.TrimRight(s, "."), ",0"))
	ok := e.position >= 1 && e.position <= 50
	if !ok {
		e.spot, e.position, ok = spotOf(s)
	}
	if !ok {
		r.bad("sheet.why.position", r.called(Position), short(s))
	}
	if e.position > 0 {
		e.place = strconv.Itoa(e.position)
	}
}

// day reads a day, in the order of its column where it needs one, or else in that which
// was chosen.
func (r *rowReader) day(column any, at int, s string) scheduler.Date {
	if s == "" {
		return 0
	}
	got, ok := dayOf(s, r.today)
	if !ok {
		r.bad("sheet.why.not-a-day", column, short(s))
		return 0
	}
	switch {
	case got.order == DayFirst:
		r.asked.DayFirst++
	case got.order == MonthFirst:
		r.asked.MonFirst++
	}
	order, clear := r.choices.Order, r.orders[at] != ""
	if clear {
		order = cmp.Or(r.choices.ClearOrder, r.orders[at])
	}
	switch {
	case got.other != 0:
		if clear {
			r.asked.ReadAs = order
			example(&r.asked.Read, s)
		} else {
			example(&r.asked.Days, s)
			r.asked.open = r.asked.open || order == ""
		}
		if order == MonthFirst {
			return got.other
		}
	case got.order != "" && order != "" && got.order != order:
		r.bad("sheet.why.other-order", column, short(s))
		return 0
	}
	return got.day
}

// degree reads how hard something was, by a word that was explained if need be.
func (r *rowReader) degree(column any, s string) degree {
	if d, ok := degreeOf(s); ok {
		return d
	}
	switch answer := r.explained(column, &r.asked.Degrees, r.choices.Degrees, s); answer {
	case "", Unsaid:
	case Refuse:
		r.bad("sheet.why.word", column, short(s))
	case LeftShut:
		return degree{scheduler.Stuck, true}
	default:
		if d, ok := degreeOf(answer); ok {
			return d
		}
	}
	return degree{hard: scheduler.NotTried}
}

// kind reads the kind of the box: one of the club's, or a word that was explained.
func (r *rowReader) kind() (kind string, asked bool) {
	s := r.cell(Kind)
	if s == "" {
		return "", false
	}
	if _, ok := r.club.Kind(s); ok {
		return s, false
	}
	for _, k := range r.club.Kinds {
		if fold(k.Name) == fold(s) {
			return k.Name, false
		}
	}
	if k, ok := known().kinds[fold(s)]; ok {
		return k, false
	}
	answer := r.explained(r.called(Kind), &r.asked.Kinds, r.choices.Kinds, s)
	if answer == Refuse {
		r.bad("sheet.why.word", r.called(Kind), short(s))
		return "", false
	}
	return answer, answer == ""
}

// explained is what somebody said that a word means; until then it is asked for.
func (r *rowReader) explained(column any, asked *[]Word, answers map[string]string, s string) string {
	folded := key(s)
	answer := answers[folded]
	if answer == "" {
		r.asked.open = true
	}
	for i := range *asked {
		if (*asked)[i].Folded == folded {
			(*asked)[i].Rows++
			return answer
		}
	}
	if len(*asked) >= MaxWords {
		r.bad("sheet.why.words", column, short(s), MaxWords)
		return answer
	}
	*asked = append(*asked, Word{folded, short(s), 1})
	return answer
}

// MaxWords is how many words of one kind are asked about: more are no words of it.
const MaxWords = 40

// key is fold, for words that may consist of signs alone.
func key(s string) string {
	if k := fold(s); k != "" {
		return k
	}
	return strings.TrimSpace(s)
}

func short(s string) string {
	if r := []rune(s); len(r) > 60 {
		return string(r[:60]) + "…"
	}
	return s
}
