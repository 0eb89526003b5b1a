package records

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// csvColumns are the columns of a list of openings, in the order of Export.
var csvColumns = []string{"apiary", "hive", "box", "kind", "opened_on", "difficulty", "scraped", "note", "opened_by", "joint", "frames", "left_shut", "gaps", "condition"}

var columnsAllowed = oneOf(csvColumns)

// csvOptional are the columns that may be left out or empty.
var csvOptional = []string{"kind", "scraped", "note", "opened_by", "joint", "frames", "left_shut", "gaps", "condition"}

// CSVOptions say what a list of openings may do to a club.
type CSVOptions struct {
	// CreateBoxes adds hives and boxes that the club does not have yet, at
	// apiaries that it has. A new box stands on top of its hive in the order of
	// the list, set up on the day of its first opening.
	CreateBoxes bool
}

// ParseOpenings adds a list of openings to c and returns how many it added.
// Columns may stand in any order, separated by commas or semicolons. An
// opening that c has already, the same box on the same day with the same
// answers, is not added again. On an error, which is Problems, c is unchanged.
func ParseOpenings(data []byte, c *scheduler.Club, opt CSVOptions) (added int, err error) {
	l := &openingList{club: c, opt: opt, boxes: map[hiveBox]*listedBox{}, byBox: map[*scheduler.Box]*listedBox{}}
	l.read(bytes.TrimPrefix(data, []byte("\ufeff")))
	l.match()
	if err := l.problems.asError(); err != nil {
		return 0, err
	}
	return l.apply(), nil
}

// openingList is a list being read. Nothing reaches the club before all of it
// is known to be good.
type openingList struct {
	club     *scheduler.Club
	opt      CSVOptions
	problems Problems
	columns  map[string]int
	reader   *csv.Reader
	boxes    map[hiveBox]*listedBox
	byBox    map[*scheduler.Box]*listedBox
	order    []*listedBox // in the order of the list
}

type hiveBox struct{ apiary, hive, box string }

// listedBox is a box of the list with its rows.
type listedBox struct {
	key  hiveBox
	box  *scheduler.Box // nil for one to be made
	kind string
	rows []listedOpening
	add  []scheduler.Opening
}

type listedOpening struct {
	line, column int // of its day
	scheduler.Opening
}

// bad reports a value that may not stand where it does: why is the key of a
// text that takes the value first, and then args.
func (l *openingList) bad(line, column int, path, value, why string, allowed text.Text, args ...any) {
	l.report(Problem{
		Line: line, Column: column, Path: path, Value: value, Why: text.New(why, append([]any{value}, args...)...), Allowed: allowed,
	})
}

func (l *openingList) report(p Problem) {
	if len(l.problems) < keptProblems {
		l.problems = append(l.problems, p)
	}
}

func (l *openingList) read(data []byte) {
	if at := invalidUTF8(data); at >= 0 {
		p := notUTF8(data[at])
		p.Line = 1 + bytes.Count(data[:at], []byte("\n"))
		l.report(p)
		return
	}
	l.reader = csv.NewReader(bytes.NewReader(data))
	l.reader.Comma = separator(data)
	header, err := l.reader.Read()
	if errors.Is(err, io.EOF) {
		l.report(Problem{Line: 1, Why: text.New("records.why.empty-list"), Allowed: text.New("records.allow.first-line", strings.Join(csvColumns, ","))})
		return
	}
	if err != nil {
		l.unreadable(err)
		return
	}
	if !l.header(header) {
		return
	}
	for len(l.problems) < keptProblems {
		row, err := l.reader.Read()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			l.unreadable(err)
			if !errors.Is(err, csv.ErrFieldCount) {
				return
			}
			continue
		}
		l.row(row)
	}
}

// separator guesses what the first line is separated by.
func separator(data []byte) rune {
	first, _, _ := bytes.Cut(data, []byte("\n"))
	if bytes.ContainsRune(first, ';') && !bytes.ContainsRune(first, ',') {
		return ';'
	}
	return ','
}

func (l *openingList) unreadable(err error) {
	var at *csv.ParseError
	if !errors.As(err, &at) {
		l.report(Problem{Why: literal(err.Error())})
		return
	}
	if errors.Is(err, csv.ErrFieldCount) {
		l.report(Problem{Line: at.StartLine, Why: text.New("records.why.fields"), Allowed: text.New("records.allow.fields", len(l.columns))})
		return
	}
	l.report(Problem{Line: at.Line, Column: at.Column, Why: text.New("records.why.csv", at.Err.Error())})
}

// header reads the first line, which names the columns.
func (l *openingList) header(row []string) bool {
	l.columns = map[string]int{}
	before := len(l.problems)
	for i, name := range row {
		name = strings.ToLower(strings.TrimSpace(name))
		line, column := l.reader.FieldPos(i)
		if !slices.Contains(csvColumns, name) {
			l.bad(line, column, "", clip(strconv.Quote(row[i])), "records.why.no-column", columnsAllowed)
			continue
		}
		if _, twice := l.columns[name]; twice {
			l.bad(line, column, "", strconv.Quote(name), "records.why.twice", text.New("records.allow.column-once"))
		}
		l.columns[name] = i
	}
	for _, name := range csvColumns {
		if _, ok := l.columns[name]; !ok && !slices.Contains(csvOptional, name) {
			l.report(Problem{Line: 1, Path: name, Why: text.New("records.why.no-first-line"), Allowed: columnsAllowed})
		}
	}
	return len(l.problems) == before
}

// row reads one opening.
func (l *openingList) row(row []string) {
	before := len(l.problems)
	var at [2]int
	field := func(name string) string {
		i, ok := l.columns[name]
		if !ok {
			return ""
		}
		at[0], at[1] = l.reader.FieldPos(i)
		return Unguard(row[i])
	}
	bad := func(name, value, why string, allowed text.Text, args ...any) {
		l.bad(at[0], at[1], name, clip(strconv.Quote(value)), why, allowed, args...)
	}
	words := func(name string, most int, lines bool) string {
		s := field(name)
		if why, args := textProblem(s, most, lines); why != "" {
			bad(name, s, why, text.New("records.allow.characters", most), args...)
		}
		return s
	}
	key := hiveBox{words("apiary", maxName, false), words("hive", maxName, false), words("box", maxName, false)}
	if scheduler.Invisible(key.box) {
		bad("box", key.box, "records.why.blank", nameAllowed)
	}
	kind := words("kind", maxName, false)
	var o listedOpening
	day := strings.TrimSpace(field("opened_on"))
	var err error
	if o.On, err = scheduler.ParseDate(day); err != nil {
		bad("opened_on", day, "records.why.not-a-day", dayAllowed)
	}
	o.line, o.column = at[0], at[1]
	hard := strings.TrimSpace(field("difficulty"))
	o.Joint, o.Frames = scheduler.NotTried, scheduler.NotTried
	switch {
	case len(hard) == 1 && hard[0] >= '0' && hard[0] <= '4':
		o.Joint = scheduler.Difficulty(hard[0] - '0')
	case hard != csvNotSaid:
		bad("difficulty", hard, "records.why.not-allowed", text.New("records.allow.listed-difficulty", difficultyAllowed))
	}
	if by := strings.TrimSpace(words("opened_by", maxName, false)); by != "" {
		opener, why := FindOpener(l.club, by)
		if why != "" {
			bad("opened_by", by, why, text.New("records.allow.listed-opener"))
		}
		o.Opener = &opener
	}
	o.Scraped = scheduler.Scraped(strings.TrimSpace(field("scraped")))
	if o.Scraped == "" {
		o.Scraped = scheduler.ScrapedNone
	} else if !slices.Contains(scrapings, o.Scraped) {
		bad("scraped", string(o.Scraped), "records.why.not-allowed", text.New("records.allow.or-empty", joinWords(scrapings)))
	}
	o.Note = words("note", maxNote, true)
	o.details(field, bad)
	if len(l.problems) > before {
		return
	}
	if b := l.find(key, kind, field, bad); b != nil {
		b.rows = append(b.rows, o)
	}
}
