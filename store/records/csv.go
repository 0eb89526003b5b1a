package records

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"pryday/scheduler"
)

// csvColumns are the columns of a list of openings, in the order of Export.
var csvColumns = []string{"apiary", "hive", "box", "kind", "opened_on", "difficulty", "scraped", "note"}

// csvOptional are the columns that may be left out or empty.
var csvOptional = []string{"kind", "scraped", "note"}

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

func (l *openingList) bad(line, column int, path, value, why, allowed string) {
	if len(l.problems) < keptProblems {
		l.problems = append(l.problems, Problem{Line: line, Column: column, Path: path, Value: value, Why: why, Allowed: allowed})
	}
}

func (l *openingList) read(data []byte) {
	if at := invalidUTF8(data); at >= 0 {
		line := 1 + bytes.Count(data[:at], []byte("\n"))
		l.bad(line, 0, "", fmt.Sprintf("byte 0x%02x", data[at]), "is not UTF-8", "text saved as UTF-8")
		return
	}
	l.reader = csv.NewReader(bytes.NewReader(data))
	l.reader.Comma = separator(data)
	header, err := l.reader.Read()
	if errors.Is(err, io.EOF) {
		l.bad(1, 0, "", "", "the list is empty", "a first line "+strings.Join(csvColumns, ","))
		return
	}
	if err != nil {
		l.unreadable(err)
		return
	}
	if !l.header(header) {
		return
	}
	for {
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
		l.bad(0, 0, "", "", err.Error(), "")
		return
	}
	if errors.Is(err, csv.ErrFieldCount) {
		l.bad(at.StartLine, 0, "", "", "has another number of fields than the first line", fmt.Sprintf("%d fields", len(l.columns)))
		return
	}
	l.bad(at.Line, at.Column, "", "", "is not CSV: "+at.Err.Error(), "")
}

// header reads the first line, which names the columns.
func (l *openingList) header(row []string) bool {
	l.columns = map[string]int{}
	before := len(l.problems)
	for i, name := range row {
		name = strings.ToLower(strings.TrimSpace(name))
		line, column := l.reader.FieldPos(i)
		if !slices.Contains(csvColumns, name) {
			l.bad(line, column, "", clip(strconv.Quote(row[i])), "is not a known column", strings.Join(csvColumns, ", "))
			continue
		}
		if _, twice := l.columns[name]; twice {
			l.bad(line, column, "", strconv.Quote(name), "stands twice", "each column once")
		}
		l.columns[name] = i
	}
	for _, name := range csvColumns {
		if _, ok := l.columns[name]; !ok && !slices.Contains(csvOptional, name) {
			l.bad(1, 0, name, "", "is missing in the first line", strings.Join(csvColumns, ", "))
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
		return unguard(row[i])
	}
	bad := func(name, value, why, allowed string) {
		l.bad(at[0], at[1], name, clip(strconv.Quote(value)), why, allowed)
	}
	text := func(name string, most int, controls string) string {
		s := field(name)
		if why := textProblem(s, most, controls); why != "" {
			bad(name, s, why, fmt.Sprintf("at most %d characters, without control characters", most))
		}
		return s
	}
	key := hiveBox{text("apiary", maxName, ""), text("hive", maxName, ""), text("box", maxName, "")}
	if strings.TrimSpace(key.box) == "" {
		bad("box", key.box, "is blank", nameAllowed)
	}
	kind := text("kind", maxName, "")
	var o listedOpening
	day := strings.TrimSpace(field("opened_on"))
	var err error
	if o.On, err = scheduler.ParseDate(day); err != nil {
		bad("opened_on", day, "is not a day in range", fmt.Sprintf("a day such as 2027-05-31, from %s to %s", scheduler.MinDate, scheduler.MaxDate))
	}
	o.line, o.column = at[0], at[1]
	hard := strings.TrimSpace(field("difficulty"))
	if len(hard) == 1 && hard[0] >= '0' && hard[0] <= '4' {
		o.Joint, o.Frames = scheduler.Difficulty(hard[0]-'0'), scheduler.NotTried
	} else {
		bad("difficulty", hard, "", difficultyAllowed)
	}
	o.Scraped = scheduler.Scraped(strings.TrimSpace(field("scraped")))
	if o.Scraped == "" {
		o.Scraped = scheduler.ScrapedNone
	} else if !slices.Contains(scrapings, o.Scraped) {
		bad("scraped", string(o.Scraped), "", joinWords(scrapings)+", or empty for none")
	}
	o.Note = text("note", maxNote, "\n\r\t")
	if len(l.problems) > before {
		return
	}
	if b := l.find(key, kind, field, bad); b != nil {
		b.rows = append(b.rows, o)
	}
}
