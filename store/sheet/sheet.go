// Package sheet reads spreadsheets, of whatever kind and however their letters
// are written, into rows of text, and writes them.
//
// What comes in was made by strangers: a file may cost as much as an honest one
// of the largest size that is taken, and no more. Days that the spreadsheet knows
// as days come out as 2027-05-31, whatever it shows.
package sheet

import (
	"bytes"
	"strings"

	"pryday/scheduler/text"
)

// What one file may have. Twenty years of a club of 300 boxes are some 20,000 rows.
const (
	MaxBytes  = 8 << 20
	MaxRows   = 20_000
	MaxCells  = 300_000 // up to the last one of each row that says something
	MaxColumn = 200
	MaxSheets = 40
	maxCell   = 8_000 // bytes of one cell
)

// Sheet is one table of a file: rows of cells, from the first row on. Rows may
// be of different lengths; empty ones at the end are left out.
type Sheet struct {
	Name string
	Rows [][]string
}

// Book is a file that was read.
type Book struct {
	Sheets  []Sheet
	Letters string // the encoding, where the file did not say it and it is no UTF-8
}

// Refused is an error that says to a person why a file cannot be read.
type Refused struct{ Says text.Text }

func (r *Refused) Error() string { return (&text.Speaker{}).Tell(r.Says) }

// Text says why.
func (r *Refused) Text() text.Text { return r.Says }

func refuse(key string, args ...any) error { return &Refused{text.New(key, args...)} }

// Read reads a spreadsheet: XLSX, ODS, or text whose cells are separated by tabs,
// semicolons or commas. Every error is Refused.
func Read(data []byte) (*Book, error) {
	if len(data) > MaxBytes {
		return nil, refuse("sheet.too-large", MaxBytes>>20)
	}
	var book *Book
	var err error
	switch {
	case bytes.HasPrefix(data, []byte("PK\x03\x04")):
		book, err = readArchive(data)
	case bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")):
		err = refuse("sheet.old-format")
	case bytes.HasPrefix(data, []byte("%PDF")), bytes.HasPrefix(data, []byte("\xff\xd8\xff")), bytes.HasPrefix(data, []byte("\x89PNG")):
		err = refuse("sheet.no-table")
	default:
		book, err = readText(data)
	}
	if err != nil {
		return nil, err
	}
	if book.empty() {
		return nil, refuse("sheet.empty")
	}
	return book, nil
}

func (b *Book) empty() bool {
	for i := range b.Sheets {
		if len(b.Sheets[i].Rows) > 0 {
			return false
		}
	}
	return true
}

// filling is a book being read within its bounds.
type filling struct {
	book  Book
	cells int
	rows  int
}

func (f *filling) begin(name string) error {
	if len(f.book.Sheets) == MaxSheets {
		return refuse("sheet.sheets", MaxSheets)
	}
	f.book.Sheets = append(f.book.Sheets, Sheet{Name: clean(name)})
	return nil
}

// row adds the row of a number, from 0, to the last sheet. Rows that say nothing
// are only counted once another one follows.
func (f *filling) row(at int, cells []string) error {
	for len(cells) > 0 && strings.TrimSpace(cells[len(cells)-1]) == "" {
		cells = cells[:len(cells)-1]
	}
	if len(cells) == 0 {
		return nil
	}
	s := &f.book.Sheets[len(f.book.Sheets)-1]
	f.rows += at + 1 - len(s.Rows)
	f.cells += len(cells)
	switch {
	case at >= MaxRows || f.rows > MaxRows:
		return refuse("sheet.rows", MaxRows)
	case len(cells) > MaxColumn:
		return refuse("sheet.columns", at+1, MaxColumn)
	case f.cells > MaxCells:
		return refuse("sheet.cells", MaxCells)
	}
	for len(s.Rows) < at {
		s.Rows = append(s.Rows, nil)
	}
	out := make([]string, len(cells))
	for i, c := range cells {
		if len(c) > maxCell {
			return refuse("sheet.long-cell", at+1, Column(i), maxCell)
		}
		out[i] = clean(c)
	}
	s.Rows = append(s.Rows, out)
	return nil
}

// clean takes away what no cell means: spaces around it, those that do not break
// a line, and what cannot be kept.
func clean(s string) string {
	return strings.Clone(strings.TrimSpace(unwanted.Replace(strings.ToValidUTF8(s, "\ufffd"))))
}

var unwanted = strings.NewReplacer("\u00a0", " ", "\u202f", " ", "\r\n", "\n", "\r", "\n", "\x00", "")

// Column is what a spreadsheet calls the column of a number, from 0: A, B, AA.
func Column(i int) string {
	name := ""
	for i++; i > 0; i = (i - 1) / 26 {
		name = string(rune('A'+(i-1)%26)) + name
	}
	return name
}
