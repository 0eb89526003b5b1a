package notebook

import (
	"bytes"
	"encoding/csv"
	"os"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store/records"
	"pryday/store/sheet"
	_ "pryday/testdata/testrun" // one release of time zones, one seed
)

func demo(t *testing.T) *scheduler.Club {
	t.Helper()
	data, err := os.ReadFile("../../testdata/demo.json")
	if err != nil {
		t.Fatal(err)
	}
	c, err := records.Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

var someday = scheduler.NewDate(2027, 6, 1)

// What is taken out as a spreadsheet, in any language and kind of file, comes in
// again as no change, and nothing of it has to be explained.
func TestWhatGoesOutComesInUnchanged(t *testing.T) {
	t.Parallel()
	for _, tag := range []string{"en", "de"} {
		say := text.In(tag, text.Inches)
		rows := Table(demo(t), say)
		asXLSX, err := sheet.WriteXLSX(sheet.Sheet{Name: "x", Rows: rows})
		if err != nil {
			t.Fatal(err)
		}
		var asCSV bytes.Buffer
		if err := csv.NewWriter(&asCSV).WriteAll(rows); err != nil {
			t.Fatal(err)
		}
		for name, file := range map[string][]byte{"XLSX": asXLSX, "CSV": asCSV.Bytes(), "list": records.EncodeOpenings(demo(t))} {
			t.Run(tag+" "+name, func(t *testing.T) {
				book, err := sheet.Read(file)
				if err != nil {
					t.Fatal(err)
				}
				unchanged(t, book.Sheets[0].Rows)
			})
		}
	}
}

func unchanged(t *testing.T, rows [][]string) {
	t.Helper()
	c := demo(t)
	before, err := records.Encode(c)
	if err != nil {
		t.Fatal(err)
	}
	got := Read(rows, Suggest(rows, someday), c, 0, someday)
	if len(rows) < 500 || got.Rows != len(rows)-1 || got.Known != got.Rows || len(got.Refused) > 0 || got.Asked.Any() {
		t.Errorf("of %d rows %d are known, asked %+v", got.Rows, got.Known, got.Asked)
		for i := range min(len(got.Refused), 5) {
			t.Errorf("row %d: %s", got.Refused[i].Row, (&text.Speaker{}).Tell(got.Refused[i].Why[0]))
		}
	}
	if after, err := records.Encode(c); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the records changed: %v", err)
	}
}
