package notebook

import (
	"pryday/scheduler"
	"pryday/scheduler/text"
)

// Choices are what somebody said about a table, as it is kept between the steps.
type Choices struct {
	Sheet   int     // which one of the file, from 0
	Heading Heading // where its headings stand
	Columns []Field // of the columns from the first on

	Order      Order             `json:",omitempty"` // of days like 03/04/2025
	ClearOrder Order             `json:",omitempty"` // of those in columns whose other days all agree, where that is not so
	Above      string            `json:",omitempty"` // an empty apiary or hive is that of the row above: Fill or Leave
	Units      text.Units        `json:",omitempty"` // of gaps without a unit
	Degrees    map[string]string `json:",omitempty"` // folded word to "0" to "4", Shut, Unsaid or Refuse
	Scrapings  map[string]string `json:",omitempty"` // folded word to all, part, none, Unsaid or Refuse
	Scraped    string            `json:",omitempty"` // where the table does not say it: all, part, none or Unsaid
	Kinds      map[string]string `json:",omitempty"` // folded word to a kind, or Refuse
	Apiaries   map[string]Place  `json:",omitempty"` // by the folded name
	Apiary     string            `json:",omitempty"` // where the table names none: a name, or Refuse
	Unmarked   string            `json:",omitempty"` // a row without a mark means: Lowest or Refuse
	Lowest     string            `json:",omitempty"` // kind of new boxes without one: of the lowest on its hive,
	Upper      string            `json:",omitempty"` // and of those above
	Stack      string            `json:",omitempty"` // new boxes of a hive stand in the table from: BottomUp or TopDown
	SetUp      scheduler.Date    `json:",omitempty"` // of new boxes that the table tells no day of
	GuessedOn  scheduler.Date    `json:",omitempty"` // nobody knows that day: SetUp was guessed, on this one
}

// What may be chosen beside the words of a field.
const (
	LeftShut = "shut"
	Unsaid   = "unsaid"
	Refuse   = "refuse" // rows of it are left out
	Fill     = "fill"
	Leave    = "leave" // as it is
	LowestOf = "lowest"
	BottomUp = "bottom-up"
	TopDown  = "top-down"
)

// Place says which apiary a name of the table is: one that the club has, another
// of the table, or a new one with what no table says.
type Place struct {
	Is     string            `json:",omitempty"` // the name of one that the club has, or Refuse
	Like   string            `json:",omitempty"` // the folded name of another that the club does not have: this one, otherwise written
	Fresh  *scheduler.Apiary `json:",omitempty"`
	Answer map[string]string `json:",omitempty"` // as it was typed
}

// Word is a word of the table that nobody knows, and in how many rows it stands.
type Word struct {
	Folded, Shown string
	Rows          int
}

// Asked is what has to be answered before a table can be read. What was answered
// before is in it as well, to be changed.
type Asked struct {
	Missing   []Field  // columns without which no row says anything
	Days      []string // some that can be read in two ways
	Read      []string // some that were read as the clear days of their column are
	ReadAs    Order    // the order in which they were
	DayFirst  int      // days of the table that fit one order alone
	MonFirst  int
	Above     int // rows with an empty apiary or hive
	Degrees   []Word
	Scrapings []Word
	Unscraped int // new openings without a word what was scraped
	Kinds     []Word
	Apiaries  []Word
	NoApiary  int // rows
	Unmarked  int // rows
	NoKind    []string
	Stack     []string // hives that get several new boxes
	Units     []string // gaps without a unit
	NoSetUp   int      // new boxes without a day

	open bool
}

// Open reports whether anything of it is not answered yet.
func (a *Asked) Open() bool { return a.open || len(a.Missing) > 0 }

// Any reports whether there is something to answer.
func (a *Asked) Any() bool {
	return a.Open() || len(a.Days)+a.Above+len(a.Degrees)+len(a.Scrapings)+a.Unscraped+len(a.Kinds)+len(a.Apiaries)+a.NoApiary+a.Unmarked+
		len(a.NoKind)+len(a.Stack)+len(a.Units)+a.NoSetUp > 0
}

// few are how many examples of a question are kept.
const few = 3

func example(list *[]string, s string) {
	for _, have := range *list {
		if have == s {
			return
		}
	}
	if len(*list) < few {
		*list = append(*list, s)
	}
}
