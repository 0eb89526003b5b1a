package notebook

import (
	"archive/zip"
	"bytes"
	"flag"
	"os"
	"reflect"
	"testing"

	"github.com/xuri/excelize/v2"

	"pryday/store/sheet"
)

var update = flag.Bool("update", false, "write the spreadsheets of testdata anew")

// The workbook has a title over all columns, headings in two rows with one that
// stands for two columns, days that the spreadsheet knows as days, and numbers for
// marks. The tables have repeated cells, padded numbers, a note beside a cell, and a
// million empty rows.
func TestSpreadsheetsAreThese(t *testing.T) {
	write := func(name string, data []byte, err error) {
		if err == nil && *update {
			err = os.WriteFile("testdata/"+name, data, 0o644)
		}
		kept, errKept := os.ReadFile("testdata/" + name)
		if err != nil || errKept != nil {
			t.Fatal(err, errKept)
		}
		got, err := sheet.Read(data)
		want, errWant := sheet.Read(kept)
		if err != nil || errWant != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s holds %v, is made as %v (%v, %v)", name, want, got, err, errWant)
		}
	}
	x := excelize.NewFile()
	for cell, v := range map[string]any{
		"A1": "Hive list 2025", "A3": "Apiary", "B3": "Hive", "C3": "Box", "D3": "Date", "E3": "Degree", "F3": "Gaps", "G3": "", "H3": "Place in the stack",
		"F4": "above", "G4": "below",
		"A5": "Orchard", "B5": "Elm", "C5": 7, "D5": 45750, "E5": 2, "F5": "8.5 mm", "G5": "25 mm", "H5": 1,
		"A6": "Orchard", "B6": "Elm", "C6": 8, "D6": 45750, "E6": "stuck", "H6": 2,
		"A7": "Orchard", "B7": "Elm", "C7": 7, "D7": 45809, "E7": 1.0, "H7": 1,
		"A8": "Orchard", "B8": "Elm", "C8": 9, "H8": 3,
	} {
		if err := x.SetCellValue("Sheet1", cell, v); err != nil {
			t.Fatal(err)
		}
	}
	day := `dd"."mm"."yyyy;@`
	style, err := x.NewStyle(&excelize.Style{CustomNumFmt: &day})
	for _, err := range []error{
		err, x.SetCellStyle("Sheet1", "D5", "D7", style), x.MergeCell("Sheet1", "A1", "H1"), x.MergeCell("Sheet1", "F3", "G3"), x.MergeCell("Sheet1", "A3", "A4"),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	err = x.Write(&b)
	write("workbook.xlsx", b.Bytes(), err)

	const head = `<?xml version="1.0" encoding="UTF-8"?><office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" office:version="1.3"><office:body><office:spreadsheet><table:table table:name="2025">`
	cell := func(s string) string {
		return `<table:table-cell office:value-type="string"><text:p>` + s + `</text:p></table:table-cell>`
	}
	padded := func(n, shown string) string {
		return `<table:table-cell office:value-type="float" office:value="` + n + `"><text:p>` + shown + `</text:p></table:table-cell>`
	}
	on := `<table:table-cell office:value-type="date" office:date-value="2025-04-03T00:00:00"><office:annotation><text:p>4/3 in the book</text:p></office:annotation><text:p>03.04.25</text:p></table:table-cell>`
	row := func(cells ...string) string {
		return `<table:table-row>` + string(bytes.Join(func() (out [][]byte) {
			for _, c := range cells {
				out = append(out, []byte(c))
			}
			return out
		}(), nil)) + `</table:table-row>`
	}
	orchard := cell("Orchard") + cell("Elm")
	content := head + row(cell("Stand"), cell("Volk"), cell("Zarge"), cell("Datum"), cell("Grad"), cell("Bemerkung")) +
		row(orchard, padded("1", "001"), on, padded("2", "2,0"), cell("zwei<text:line-break/>Zeilen")) +
		row(orchard, padded("2", "002"), on, cell("schwer")) +
		row(orchard, padded("1", "001"), cell("9. Juli 2025"), padded("3", "3,0")) +
		`<table:table-row table:number-rows-repeated="2">` + orchard + padded("2", "002") + cell("9. Juli 2025") + cell("lose") + `</table:table-row>` +
		`<table:table-row table:number-rows-repeated="1048570"><table:table-cell table:number-columns-repeated="16384"/></table:table-row>` +
		`</table:table></office:spreadsheet></office:body></office:document-content>`
	b.Reset()
	z := zip.NewWriter(&b)
	for name, data := range map[string]string{"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": content} {
		w, err := z.Create(name)
		if err == nil {
			_, err = w.Write([]byte(data))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	err = z.Close()
	write("tables.ods", b.Bytes(), err)
}
