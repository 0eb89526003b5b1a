package sheet

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"io"
	"strconv"
	"strings"
)

// odf are the namespaces of OpenDocument 1.3 that a table is written in (OASIS,
// part 3, 9 and 19.385).
const (
	odfTable  = "urn:oasis:names:tc:opendocument:xmlns:table:1.0"
	odfOffice = "urn:oasis:names:tc:opendocument:xmlns:office:1.0"
	odfText   = "urn:oasis:names:tc:opendocument:xmlns:text:1.0"
)

// readODS reads the tables of an OpenDocument spreadsheet. No module for it is
// well kept.
func readODS(part *zip.File) (*Book, error) {
	in, err := part.Open()
	if err != nil {
		return nil, refuse("sheet.archive")
	}
	defer in.Close()
	r := &odsReader{xml: xml.NewDecoder(in)}
	if err := r.read(); err != nil {
		var refused *Refused
		if errors.As(err, &refused) {
			return nil, err
		}
		return nil, refuse("sheet.archive")
	}
	return &r.book, nil
}

type odsReader struct {
	filling
	xml   *xml.Decoder
	depth int // of tables: one within a cell is no table of the book
	at    int // the row to come
	again int // how often the row stands
	cells []string
}

func (r *odsReader) read() error {
	for {
		token, err := r.xml.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		switch el := token.(type) {
		case xml.StartElement:
			err = r.start(el)
		case xml.EndElement:
			err = r.end(el.Name)
		}
		if err != nil {
			return err
		}
	}
}

func (r *odsReader) start(el xml.StartElement) error {
	if el.Name.Space != odfTable {
		return nil
	}
	switch el.Name.Local {
	case "table":
		if r.depth++; r.depth > 1 {
			return refuse("sheet.archive")
		}
		r.at = 0
		return r.begin(attr(el, odfTable, "name"))
	case "table-row":
		r.cells, r.again = r.cells[:0], repeated(el, "number-rows-repeated")
	case "table-cell", "covered-table-cell":
		if r.depth == 0 {
			return nil
		}
		return r.cell(el)
	}
	return nil
}

func (r *odsReader) end(name xml.Name) error {
	if name.Space != odfTable {
		return nil
	}
	switch name.Local {
	case "table":
		r.depth--
	case "table-row":
		if r.depth == 0 {
			return nil
		}
		if strings.TrimSpace(strings.Join(r.cells, "")) == "" { // a million empty ones end most tables
			r.at = min(r.at+r.again, MaxRows)
			return nil
		}
		for range min(r.again, MaxRows+1) {
			if err := r.row(r.at, r.cells); err != nil {
				return err
			}
			r.at++
		}
	}
	return nil
}

// cell reads one cell, as often as it stands.
func (r *odsReader) cell(el xml.StartElement) error {
	shown, err := r.paragraphs(el.Name)
	if err != nil {
		return err
	}
	value := shown
	switch attr(el, odfOffice, "value-type") {
	case "date":
		value, _, _ = strings.Cut(attr(el, odfOffice, "date-value"), "T")
	case "float":
		value = attr(el, odfOffice, "value")
		if isPadded(shown, value) {
			value = shown
		}
	}
	for range min(repeated(el, "number-columns-repeated"), MaxColumn+1-min(len(r.cells), MaxColumn)) {
		r.cells = append(r.cells, value)
	}
	return nil
}

// isPadded reports whether a number is shown with leading zeros, as marks are.
func isPadded(shown, value string) bool {
	return shown != value && strings.HasPrefix(shown, "0") && strings.TrimLeft(shown, "0") == value
}

// paragraphs reads the text of a cell up to its end, without notes beside it.
func (r *odsReader) paragraphs(end xml.Name) (string, error) {
	var b strings.Builder
	lines, inside, beside := 0, 0, 0
	for {
		token, err := r.xml.Token()
		if err != nil {
			return "", err
		}
		switch el := token.(type) {
		case xml.StartElement:
			switch {
			case el.Name.Space == odfTable:
				return "", refuse("sheet.archive")
			case beside > 0 || el.Name.Space == odfOffice && el.Name.Local == "annotation":
				beside++
			case el.Name.Space == odfText && el.Name.Local == "p":
				if lines++; lines > 1 {
					b.WriteByte('\n')
				}
				inside++
			case el.Name.Space == odfText && (el.Name.Local == "s" || el.Name.Local == "tab"):
				b.WriteByte(' ')
			case el.Name.Space == odfText && el.Name.Local == "line-break":
				b.WriteByte('\n')
			}
		case xml.EndElement:
			switch {
			case beside > 0:
				beside--
			case el.Name == end:
				return b.String(), nil
			case el.Name.Space == odfText && el.Name.Local == "p":
				inside--
			}
		case xml.CharData:
			if inside > 0 && beside == 0 && b.Len() <= maxCell {
				b.Write(el)
			}
		}
	}
}

func attr(el xml.StartElement, space, name string) string {
	for _, a := range el.Attr {
		if a.Name.Space == space && a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func repeated(el xml.StartElement, name string) int {
	n, err := strconv.Atoi(attr(el, odfTable, name))
	if err != nil || n < 1 {
		return 1
	}
	return n
}
