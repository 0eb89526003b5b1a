package feed

import (
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"hash/crc32"
	"iter"
	"sync"
)

// packed is a calendar in gzip, and what it was put together from.
type packed struct {
	bytes  []byte
	tag    string // names the text: 128 bits of a SHA-256, in hexadecimal
	pieces pieces
}

// pieces are parts of a calendar in compressed form, within its bytes, by the
// hash of their text. Each is compressed for itself, so that when a few entries
// change, only the pieces in which they stand are compressed anew.
type pieces map[[sha256.Size]byte][]byte

// size is how many bytes they have together.
func (p pieces) size() (n int) {
	for _, compressed := range p {
		n += len(compressed)
	}
	return n
}

// roomForMore is what a calendar in gzip may grow by before its buffer does, in bytes.
const roomForMore = 16 << 10

// perPiece is how many entries a piece has, about. In a piece of fewer there is
// less to refer back to, so that the whole is larger; of more, a change costs more.
const perPiece = 64

// gzipHead begins a gzip member that names neither a file nor a time (RFC 1952, 2.3).
var gzipHead = []byte{0x1f, 0x8b, 8, 0, 0, 0, 0, 0, 4, 0xff}

// lastBlock is an empty last block in a fixed code (RFC 1951, 3.2.3).
var lastBlock = []byte{0x03, 0x00}

// pack compresses a calendar, as far as its pieces are not among those of an
// older one. The pieces end at whole bytes (an empty stored block is put behind
// each) and refer to nothing outside, so that in a row they are one stream.
func pack(text []byte, older pieces) packed {
	out := bytes.NewBuffer(make([]byte, 0, older.size()+roomForMore))
	out.Write(gzipHead)
	names := sha256.New()
	type place struct {
		sum      [sha256.Size]byte
		from, to int
	}
	var places []place
	for piece := range cut(text) {
		at := place{sum: sha256.Sum256(piece), from: out.Len()}
		names.Write(at.sum[:])
		if compressed, ok := older[at.sum]; ok {
			out.Write(compressed)
		} else {
			deflate(out, piece)
		}
		at.to = out.Len()
		places = append(places, at)
	}
	out.Write(lastBlock)
	end := binary.LittleEndian.AppendUint32(nil, crc32.ChecksumIEEE(text))
	out.Write(binary.LittleEndian.AppendUint32(end, uint32(len(text))))
	p := packed{bytes: out.Bytes(), tag: hex.EncodeToString(names.Sum(nil)[:16]), pieces: make(pieces, len(places))}
	for _, at := range places {
		p.pieces[at.sum] = p.bytes[at.from:at.to]
	}
	return p
}

// writers are kept, because each has a megabyte of its own.
var writers = sync.Pool{New: func() any {
	w, err := flate.NewWriter(nil, flate.BestSpeed)
	if err != nil {
		panic(err) // there is this level
	}
	return w
}}

// deflate compresses one piece.
func deflate(out *bytes.Buffer, piece []byte) {
	w := writers.Get().(*flate.Writer)
	defer writers.Put(w)
	w.Reset(out)
	_, err := w.Write(piece)
	if err == nil {
		err = w.Flush()
	}
	if err != nil {
		panic(err) // a buffer takes everything
	}
}

var (
	beginsEntry = []byte("\r\nBEGIN:VEVENT\r\n")
	namesEntry  = []byte("\r\nUID:")
	endsLine    = []byte("\r\n")
)

// cut yields the pieces of a calendar in order. Whether one begins at an entry
// is for the entry's UID to say, so that another entry more or less moves no
// piece but its own.
func cut(text []byte) iter.Seq[[]byte] {
	return func(yield func([]byte) bool) {
		begin, at := 0, 0
		for {
			next := bytes.Index(text[at:], beginsEntry)
			if next < 0 {
				break
			}
			at += next + len(endsLine)
			if beginsPiece(text[at:]) {
				if !yield(text[begin:at]) {
					return
				}
				begin = at
			}
		}
		yield(text[begin:])
	}
}

// beginsPiece reports whether a piece begins at the entry with which text begins.
func beginsPiece(text []byte) bool {
	_, named, found := bytes.Cut(text, namesEntry)
	uid, _, _ := bytes.Cut(named, endsLine)
	return found && crc32.ChecksumIEEE(uid)%perPiece == 0
}
