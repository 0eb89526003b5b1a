package sheet

import (
	"bytes"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// letters decodes the text of a file into UTF-8. Where the file does not say how
// it is written and is no UTF-8 either, named is what it was taken for.
func letters(data []byte) (plain []byte, named string, err error) {
	wide := func(order unicode.Endianness, bom unicode.BOMPolicy) encoding.Encoding {
		return unicode.UTF16(order, bom)
	}
	var by encoding.Encoding
	switch {
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		data = data[3:]
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		by = wide(unicode.LittleEndian, unicode.ExpectBOM)
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
		by = wide(unicode.BigEndian, unicode.ExpectBOM)
	case zeros(data, 1):
		by, named = wide(unicode.LittleEndian, unicode.IgnoreBOM), "UTF-16"
	case zeros(data, 0):
		by, named = wide(unicode.BigEndian, unicode.IgnoreBOM), "UTF-16"
	case !utf8.Valid(data):
		by, named = charmap.Windows1252, "Windows-1252"
	}
	if by == nil {
		return data, "", nil
	}
	plain, err = by.NewDecoder().Bytes(data)
	if err != nil {
		return nil, "", refuse("sheet.letters")
	}
	return plain, named, nil
}

// zeros reports whether of every two bytes that at the given place is mostly 0,
// and the other is not: Latin letters as UTF-16.
func zeros(data []byte, at int) bool {
	n, other := 0, 0
	data = data[:min(len(data), 2000)&^1]
	for i := 0; i < len(data); i += 2 {
		if data[i+at] == 0 {
			n++
		}
		if data[i+1-at] == 0 {
			other++
		}
	}
	return len(data) >= 4 && n > len(data)/4 && other == 0
}
