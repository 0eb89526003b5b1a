package sheet

import (
	"archive/zip"
	"bytes"
	"io"
	"strings"
)

// What an archive may hold unpacked. Each "<" of a part is at most one element of
// it, and what an element costs in memory does not depend on how it was packed.
const (
	maxParts    = 1_000
	maxUnpacked = 48 << 20
	maxElements = 3_000_000 // of the tables
	maxStrings  = 1_000_000 // of the texts that tables share
	maxOther    = 150_000   // of any other part
)

// readArchive reads a spreadsheet that is a ZIP archive.
func readArchive(data []byte) (*Book, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, refuse("sheet.archive")
	}
	if err := bounded(z); err != nil {
		return nil, err
	}
	for _, part := range z.File {
		switch part.Name {
		case "xl/workbook.xml":
			return readXLSX(data)
		case "content.xml":
			return readODS(part)
		}
	}
	return nil, refuse("sheet.no-table")
}

// bounded unpacks every part once, without keeping anything of it, and counts.
func bounded(z *zip.Reader) error {
	if len(z.File) > maxParts {
		return refuse("sheet.bomb")
	}
	left, elements := int64(maxUnpacked), 0
	buf := make([]byte, 32<<10)
	for _, part := range z.File {
		in, err := part.Open()
		if err != nil {
			return refuse("sheet.archive")
		}
		opened := 0
		most := mostElements(part.Name)
		for err == nil {
			var n int
			n, err = in.Read(buf)
			left -= int64(n)
			opened += bytes.Count(buf[:n], []byte("<"))
			if left < 0 || opened > most || elements+opened > maxElements+maxStrings {
				in.Close()
				return refuse("sheet.bomb")
			}
		}
		in.Close()
		if err != io.EOF {
			return refuse("sheet.archive")
		}
		elements += opened
	}
	return nil
}

func mostElements(part string) int {
	switch {
	case strings.HasPrefix(part, "xl/worksheets/"), part == "content.xml":
		return maxElements
	case part == "xl/sharedStrings.xml":
		return maxStrings
	case strings.HasSuffix(part, ".xml"), strings.HasSuffix(part, ".rels"):
		return maxOther
	}
	return maxUnpacked // pictures and the like, which nobody reads
}
