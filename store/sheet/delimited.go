package sheet

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"strings"
)

// separators are what may stand between cells, the likelier first where two fit
// as well: a comma is also in numbers.
var separators = []byte{'\t', ';', ',', '|'}

// readText reads cells that are separated by one character.
func readText(data []byte) (*Book, error) {
	plain, named, err := letters(data)
	if err != nil {
		return nil, err
	}
	plain, by := separator(plain)
	if bytes.Count(plain, []byte{by}) > 3*MaxCells { // as many would be made before any is looked at
		return nil, refuse("sheet.cells", MaxCells)
	}
	f := &filling{}
	f.book.Letters = named
	if err := f.begin(""); err != nil {
		return nil, err
	}
	err = f.delimited(plain, by, false)
	var at *csv.ParseError
	if errors.As(err, &at) && errors.Is(err, csv.ErrBareQuote) { // 5" of comb
		f.book.Sheets[0].Rows, f.rows, f.cells = nil, 0, 0
		err = f.delimited(plain, by, true)
	}
	if errors.As(err, &at) {
		return nil, refuse("sheet.quote", at.StartLine)
	}
	return &f.book, err
}

func (f *filling) delimited(plain []byte, by byte, lazy bool) error {
	r := csv.NewReader(bytes.NewReader(plain))
	r.Comma, r.FieldsPerRecord, r.LazyQuotes, r.ReuseRecord = rune(by), -1, lazy, true
	next, line := 0, 1 // the row and the line that the next record would begin
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		begins, _ := r.FieldPos(0)
		next += max(begins-line, 0) // empty lines, which the reader leaves out
		inside := 0
		for _, c := range cells {
			inside += strings.Count(c, "\n")
		}
		if lazy && inside > 50 { // a quotation mark that nobody closed swallows the rest
			return &csv.ParseError{StartLine: begins, Line: begins, Err: csv.ErrQuote}
		}
		if err := f.row(next, cells); err != nil {
			return err
		}
		next, line = next+1, begins+inside+1
	}
}

// separator finds what stands between the cells: what is in the most of the first
// lines. A first line like "sep=;" says it, and is no row.
func separator(data []byte) ([]byte, byte) {
	if first, rest, ok := bytes.Cut(data, []byte("\n")); ok {
		first = bytes.Trim(bytes.TrimSpace(first), `"`)
		if len(first) == 5 && bytes.EqualFold(first[:4], []byte("sep=")) {
			return rest, first[4]
		}
	}
	best, most := byte(','), 0
	for _, by := range separators {
		if n := linesWith(data, by); n > most {
			best, most = by, n
		}
	}
	return data, best
}

// linesWith counts the first lines that have a character outside of quotation
// marks.
func linesWith(data []byte, by byte) (n int) {
	quoted, seen, lines := false, false, 0
	for _, c := range data[:min(len(data), 64<<10)] {
		switch {
		case c == '"':
			quoted = !quoted
		case c == '\n' && !quoted:
			if seen {
				n++
			}
			seen = false
			if lines++; lines == 50 {
				return n
			}
		case c == by && !quoted:
			seen = true
		}
	}
	if seen {
		n++
	}
	return n
}
