package sheet

import (
	"bytes"
	"strings"

	"github.com/xuri/excelize/v2"
)

// readXLSX reads a workbook whose parts are within bounds. The library panics on
// some that no spreadsheet writes.
func readXLSX(data []byte) (book *Book, err error) {
	defer func() {
		if recover() != nil {
			book, err = nil, refuse("sheet.archive")
		}
	}()
	x, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{UnzipSizeLimit: maxUnpacked, UnzipXMLSizeLimit: maxUnpacked})
	if err != nil {
		return nil, refuse("sheet.archive")
	}
	defer x.Close()
	if err := plainNumbers(x); err != nil {
		return nil, refuse("sheet.archive")
	}
	f := &filling{}
	for _, name := range x.GetSheetList() {
		if err := f.begin(name); err != nil {
			return nil, err
		}
		if err := f.worksheet(x, name); err != nil {
			return nil, err
		}
	}
	return &f.book, nil
}

func (f *filling) worksheet(x *excelize.File, name string) error {
	rows, err := x.Rows(name)
	if err != nil { // a sheet of charts has none
		return nil
	}
	defer rows.Close()
	made := 0
	for at := 0; rows.Next(); at++ {
		cells, err := rows.Columns()
		if err != nil {
			return refuse("sheet.archive")
		}
		if made += len(cells); made > 10*MaxCells { // one cell far to the right in every row
			return refuse("sheet.cells", MaxCells)
		}
		if err := f.row(at, cells); err != nil {
			return err
		}
	}
	return nil
}

// plainNumbers has every day written as 2027-05-31 and every number without
// ornament, whatever the workbook shows: its styles say which numbers are days.
// Numbers with leading zeros, as marks have them, keep these.
func plainNumbers(x *excelize.File) error {
	if _, err := x.GetStyle(0); err != nil || x.Styles == nil || x.Styles.CellXfs == nil || len(x.Styles.CellXfs.Xf) == 0 {
		return nil // all numbers are plain
	}
	iso := "yyyy-mm-dd"
	id, err := x.NewStyle(&excelize.Style{CustomNumFmt: &iso})
	if err != nil {
		return err
	}
	day := x.Styles.CellXfs.Xf[id].NumFmtID
	custom := map[int]string{}
	if x.Styles.NumFmts != nil {
		for _, n := range x.Styles.NumFmts.NumFmt {
			custom[n.NumFmtID] = n.FormatCode
		}
	}
	general := 0
	for i := range x.Styles.CellXfs.Xf {
		xf := &x.Styles.CellXfs.Xf[i]
		if xf.NumFmtID == nil || *xf.NumFmtID == *day {
			continue
		}
		code, own := custom[*xf.NumFmtID]
		switch {
		case own && strings.Trim(code, "0") == "" && len(code) > 1:
		case own && isDay(code), !own && builtinDay(*xf.NumFmtID):
			xf.NumFmtID = day
		default:
			xf.NumFmtID = &general
		}
	}
	return nil
}

// builtinDay reports whether one of the formats that have no code is that of a day
// (ECMA-376 part 1, 18.8.30: 14 to 17 and 22, and by language 27 to 36 and 50 to 58).
func builtinDay(id int) bool {
	return id >= 14 && id <= 17 || id == 22 || id >= 27 && id <= 31 || id == 36 || id >= 50 && id <= 58
}

// isDay reports whether a format shows a day: it has a year or a day in it, outside
// of quotation marks, brackets and what is escaped.
func isDay(code string) bool {
	code, _, _ = strings.Cut(code, ";")
	quoted, bracket := false, false
	for i := 0; i < len(code); i++ {
		switch c := code[i]; {
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '\\' || c == '_' || c == '*':
			i++
		case c == '[':
			bracket = true
		case c == ']':
			bracket = false
		case bracket:
		case c == 'y' || c == 'Y' || c == 'd' || c == 'D':
			return true
		}
	}
	return false
}
