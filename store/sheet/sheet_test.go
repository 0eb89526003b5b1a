package sheet

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding/unicode"

	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

func TestLettersAndSeparators(t *testing.T) {
	t.Parallel()
	utf16, err := unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewEncoder().String("Volk\tFöhre\n")
	if err != nil {
		t.Fatal(err)
	}
	bare, err := unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM).NewEncoder().String("Volk;Foehre\n")
	if err != nil {
		t.Fatal(err)
	}
	for name, tt := range map[string]struct {
		data, letters string
		want          [][]string
	}{
		"UTF-8 with a mark":       {"\ufeffa;b\r\n1;2,0\r\n", "", [][]string{{"a", "b"}, {"1", "2,0"}}},
		"Windows-1252":            {"F\xf6hre;\x84fest\x93\n", "Windows-1252", [][]string{{"Föhre", "„fest“"}}},
		"UTF-16 with a mark":      {utf16, "", [][]string{{"Volk", "Föhre"}}},
		"UTF-16 without":          {bare, "UTF-16", [][]string{{"Volk", "Foehre"}}},
		"commas in notes":         {"a\tb\n1\tx, y, z\n2\tu, v, w\n", "", [][]string{{"a", "b"}, {"1", "x, y, z"}, {"2", "u, v, w"}}},
		"semicolons in notes":     {"a,b\n1,x; y\n2,z\n", "", [][]string{{"a", "b"}, {"1", "x; y"}, {"2", "z"}}},
		"semicolons in quotes":    {"\"x; y\",1\n\"u; v\",2\n", "", [][]string{{"x; y", "1"}, {"u; v", "2"}}},
		"a line that says it":     {"sep=|\na|b;c\n", "", [][]string{{"a", "b;c"}}},
		"rows keep their numbers": {"a\n\n\n\"b\nc\"\n\nd\n", "", [][]string{{"a"}, nil, nil, {"b\nc"}, nil, {"d"}}},
		"inches":                  {"a,b\n3\" of comb,2\n", "", [][]string{{"a", "b"}, {`3" of comb`, "2"}}},
		"ends of rows":            {"a,,\n,b\u00a0,\n", "", [][]string{{"a"}, {"", "b"}}},
	} {
		t.Run(name, func(t *testing.T) {
			book, err := Read([]byte(tt.data))
			if err != nil || book.Letters != tt.letters || !reflect.DeepEqual(book.Sheets[0].Rows, tt.want) {
				t.Errorf("read %+v, %v", book, err)
			}
		})
	}
}

// archive packs parts into a file.
func archive(t testing.TB, parts map[string]string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, data := range parts {
		w, err := z.Create(name)
		if err == nil {
			_, err = w.Write([]byte(data))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// workbook is a workbook of one sheet, by its XML.
func workbook(t testing.TB, rows, strings string) []byte {
	const main = `xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"`
	return archive(t, map[string]string{
		"[Content_Types].xml":        `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>`,
		"_rels/.rels":                `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
		"xl/workbook.xml":            `<workbook ` + main + ` xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>`,
		"xl/_rels/workbook.xml.rels": `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`,
		"xl/worksheets/sheet1.xml":   `<worksheet ` + main + `><sheetData>` + rows + `</sheetData></worksheet>`,
		"xl/sharedStrings.xml":       `<sst ` + main + `>` + strings + `</sst>`,
	})
}

func tables(t testing.TB, rows string) []byte {
	return archive(t, map[string]string{"content.xml": `<o:document-content xmlns:o="` + odfOffice + `" xmlns:t="` + odfTable + `" xmlns:x="` + odfText + `"><t:table t:name="S">` + rows + `</t:table></o:document-content>`})
}

// An ugly file is refused with a sentence, and costs no more than an honest one of
// the largest size that is taken.
func TestHostileFilesAreRefused(t *testing.T) {
	honest := allocated(func() {
		if _, err := Read(workbook(t, strings.Repeat(`<row>`+strings.Repeat(`<c t="inlineStr"><is><t>some text</t></is></c>`, 14)+`</row>`, MaxRows-1), "")); err != nil {
			t.Fatal(err)
		}
	})
	for name, tt := range map[string]struct {
		data func() []byte
		key  string
	}{
		"too many bytes": {func() []byte { return make([]byte, MaxBytes+1) }, "sheet.too-large"},
		"27 MB":          {func() []byte { return bytes.Repeat([]byte("a;b;c\n"), 27<<20/6) }, "sheet.too-large"},
		"zeros for a bomb": {func() []byte {
			return archive(t, map[string]string{"xl/workbook.xml": strings.Repeat("\x00", maxUnpacked+1)})
		}, "sheet.bomb"},
		"elements for a bomb": {func() []byte { return workbook(t, strings.Repeat("<c/>", maxElements), "") }, "sheet.bomb"},
		"texts for a bomb":    {func() []byte { return workbook(t, "", strings.Repeat("<si/>", maxStrings)) }, "sheet.bomb"},
		"parts for a bomb": {func() []byte {
			parts := map[string]string{}
			for i := range maxParts + 1 {
				parts[fmt.Sprint(i)] = ""
			}
			return archive(t, parts)
		}, "sheet.bomb"},
		"columns far out":     {func() []byte { return workbook(t, strings.Repeat(`<row><c r="XFD1"><v>1</v></c></row>`, 10_000), "") }, "sheet.columns"},
		"rows far down":       {func() []byte { return workbook(t, `<row r="1048576"><c><v>1</v></c></row>`, "") }, "sheet.rows"},
		"empty cells far out": {func() []byte { return workbook(t, strings.Repeat(`<row><c r="XFD1"><f>1</f></c></row>`, 10_000), "") }, "sheet.cells"},
		"rows repeated": {func() []byte {
			return tables(t, `<t:table-row t:number-rows-repeated="1000000"><t:table-cell><x:p>1</x:p></t:table-cell></t:table-row>`)
		}, "sheet.rows"},
		"cells repeated": {func() []byte {
			return tables(t, `<t:table-row><t:table-cell t:number-columns-repeated="999999999"><x:p>1</x:p></t:table-cell></t:table-row>`)
		}, "sheet.columns"},
		"a long cell": {func() []byte {
			return tables(t, `<t:table-row><t:table-cell><x:p>`+strings.Repeat("long", maxCell)+`</x:p></t:table-cell></t:table-row>`)
		}, "sheet.long-cell"},
		"a table in a cell":     {func() []byte { return tables(t, `<t:table-row><t:table-cell><t:table/></t:table-cell></t:table-row>`) }, "sheet.archive"},
		"no XML":                {func() []byte { return tables(t, `<t:table-row></wrong>`) }, "sheet.archive"},
		"semicolons alone":      {func() []byte { return bytes.Repeat([]byte(";"), MaxBytes) }, "sheet.cells"},
		"lines alone":           {func() []byte { return bytes.Repeat([]byte("1\n"), MaxBytes/2) }, "sheet.rows"},
		"cells of text":         {func() []byte { return []byte(strings.Repeat(strings.Repeat("1;", 199)+"1\n", 2000)) }, "sheet.cells"},
		"a quotation mark open": {func() []byte { return []byte("a;b\n\"c;d\ne;f\n") }, "sheet.quote"},
		"one open among inches": {func() []byte { return []byte("a;b\n3\" of comb;d\n\"e;f\n" + strings.Repeat("g;h\n", 60)) }, "sheet.quote"},
		"rows of two tables": {func() []byte {
			const rows = `<t:table-row t:number-rows-repeated="15000"><t:table-cell><x:p>1</x:p></t:table-cell></t:table-row>`
			return tables(t, rows+`</t:table><t:table t:name="T">`+rows)
		}, "sheet.rows"},
		"nothing":                 {func() []byte { return []byte(" \n;;\n") }, "sheet.empty"},
		"the old format":          {func() []byte { return []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1") }, "sheet.old-format"},
		"a picture":               {func() []byte { return []byte("\x89PNG\r\n") }, "sheet.no-table"},
		"an archive of something": {func() []byte { return archive(t, map[string]string{"readme.txt": "x"}) }, "sheet.no-table"},
		"half an archive":         {func() []byte { return workbook(t, "", "")[:200] }, "sheet.archive"},
	} {
		t.Run(name, func(t *testing.T) {
			data := tt.data()
			var err error
			cost := allocated(func() { _, err = Read(data) })
			var refused *Refused
			if !errors.As(err, &refused) || refused.Says.Key != tt.key {
				t.Errorf("read with %v, want %s", err, tt.key)
			}
			if cost > 2*honest {
				t.Errorf("cost %d MB, an honest file %d MB", cost>>20, honest>>20)
			}
		})
	}
}

// Cells of a table are read as they are meant, not as they are shown: days, numbers
// behind ornament, marks with their zeros; what stands beside a cell is none.
func TestCellsAreReadAsTheyAreMeant(t *testing.T) {
	t.Parallel()
	book, err := Read(tables(t, `<t:table-row><t:table-cell o:value-type="float" o:value="7"><x:p>007</x:p></t:table-cell>`+
		`<t:table-cell o:value-type="date" o:date-value="2025-04-03T00:00:00"><x:p>3.4.25</x:p></t:table-cell>`+
		`<t:table-cell o:value-type="float" o:value="2.5"><o:annotation><x:p>why?</x:p></o:annotation><x:p>2,50 mm</x:p></t:table-cell>`+
		`<t:table-cell><x:p>warped<o:annotation><x:p>since when?</x:p></o:annotation></x:p></t:table-cell></t:table-row>`+
		`<t:table-row t:number-rows-repeated="2"><t:table-cell t:number-columns-repeated="2"><x:p>x</x:p></t:table-cell></t:table-row>`+
		`<t:table-row t:number-rows-repeated="1000000"><t:table-cell/></t:table-row>`))
	want := [][]string{{"007", "2025-04-03", "2.5", "warped"}, {"x", "x"}, {"x", "x"}}
	if err != nil || !reflect.DeepEqual(book.Sheets[0].Rows, want) {
		t.Errorf("read %+v, %v; want %v", book, err, want)
	}
}

// A day that was written out is a day for whoever opens the workbook, and read again
// it is the same; the title is no day.
func TestDaysAreWrittenAsDays(t *testing.T) {
	t.Parallel()
	rows := [][]string{{"Day", "2025-04-01"}, {"2025-04-03", "07"}}
	data, err := WriteXLSX(Sheet{Name: "S", Rows: rows})
	if err != nil {
		t.Fatal(err)
	}
	x, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer x.Close()
	for cell, want := range map[string]string{"A2": "45750", "B1": "2025-04-01", "B2": "07"} { // 45,750 days after 30 December 1899
		if got, err := x.GetCellValue("S", cell, excelize.Options{RawCellValue: true}); err != nil || got != want {
			t.Errorf("%s holds %q, %v; want %q", cell, got, err, want)
		}
	}
	if book, err := Read(data); err != nil || !reflect.DeepEqual(book.Sheets[0].Rows, rows) {
		t.Errorf("read again %+v, %v", book, err)
	}
}

func TestColumn(t *testing.T) {
	t.Parallel()
	for i, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 51: "AZ", 52: "BA", 701: "ZZ", 702: "AAA"} {
		if got := Column(i); got != want {
			t.Errorf("column %d is %s, want %s", i, got, want)
		}
	}
}

// allocated is how many bytes a call asks for.
func allocated(do func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	do()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("a;b\n\"1\n2\";3\n"))
	f.Add([]byte("\xff\xfea\x00;\x00b\x00"))
	f.Add(workbook(f, `<row r="2"><c r="B2" t="s"><v>0</v></c><c><v>1.5</v></c></row>`, `<si><t>x</t></si>`))
	f.Add(tables(f, `<t:table-row t:number-rows-repeated="2"><t:table-cell o:value-type="date" o:date-value="2025-01-01T00:00:00"><x:p>1.1.<x:s/>25</x:p></t:table-cell></t:table-row>`))
	f.Fuzz(func(t *testing.T, data []byte) {
		book, err := Read(data)
		if err != nil {
			var refused *Refused
			if !errors.As(err, &refused) || refused.Error() == "" {
				t.Fatalf("no error that a person can act on: %v", err)
			}
			return
		}
		for _, s := range book.Sheets {
			if len(s.Rows) > MaxRows {
				t.Fatalf("%d rows", len(s.Rows))
			}
		}
		out, err := WriteXLSX(Sheet{Name: "x", Rows: book.Sheets[0].Rows})
		if err != nil {
			t.Fatalf("cannot be written: %v", err)
		}
		var refused *Refused
		if again, err := Read(out); err != nil && !errors.As(err, &refused) || err == nil && len(again.Sheets) != 1 {
			t.Fatalf("what was written is read as %v, %v", again, err)
		}
	})
}
