package sheet

import (
	"bytes"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// WriteXLSX writes one table, its first row as the headings. Every cell is text,
// but for days, written as 2027-05-31, which the spreadsheet shows as its owner
// likes days.
func WriteXLSX(s Sheet) ([]byte, error) {
	x := excelize.NewFile()
	defer x.Close()
	if err := x.SetSheetName("Sheet1", s.Name); err != nil {
		return nil, err
	}
	bold, err := x.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}})
	if err != nil {
		return nil, err
	}
	day, err := x.NewStyle(&excelize.Style{NumFmt: 14})
	if err != nil {
		return nil, err
	}
	w, err := x.NewStreamWriter(s.Name)
	if err != nil {
		return nil, err
	}
	if err := widths(w, s); err != nil {
		return nil, err
	}
	if err := w.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return nil, err
	}
	for i, row := range s.Rows {
		cells := make([]any, len(row))
		for k, c := range row {
			switch serial, ok := serialOf(c); {
			case i == 0:
				cells[k] = excelize.Cell{StyleID: bold, Value: c}
			case ok:
				cells[k] = excelize.Cell{StyleID: day, Value: serial}
			case c != "":
				cells[k] = c
			}
		}
		at, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			return nil, err
		}
		if err := w.SetRow(at, cells); err != nil {
			return nil, err
		}
	}
	if err := w.Flush(); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = x.Write(&b)
	return b.Bytes(), err
}

// widths makes columns as wide as what stands in them, within reason.
func widths(w *excelize.StreamWriter, s Sheet) error {
	var wide []int
	for _, row := range s.Rows {
		for k, c := range row {
			if k == len(wide) {
				wide = append(wide, 8)
			}
			wide[k] = max(wide[k], min(utf8.RuneCountInString(c)+2, 40))
		}
	}
	for k, n := range wide {
		if err := w.SetColWidth(k+1, k+1, float64(n)); err != nil {
			return err
		}
	}
	return nil
}
