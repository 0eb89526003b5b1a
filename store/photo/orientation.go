package photo

import (
	"bytes"
	"image"
	"io"

	"github.com/bep/imagemeta"
)

type metaFormat = imagemeta.ImageFormat

const (
	metaJPEG = imagemeta.JPEG
	metaPNG  = imagemeta.PNG
	metaWebP = imagemeta.WebP
)

// reading makes the decoders of the standard library one kind of function.
func reading[T any](decode func(io.Reader) (T, error)) func(*bytes.Reader) (T, error) {
	return func(r *bytes.Reader) (T, error) { return decode(r) }
}

// orientation is how a camera was held, as Exif 3.0, section 4.6.5.1.6, counts
// it from 1 to 8; 1 where the file does not say.
func orientation(data []byte, of metaFormat) int {
	held := 1
	_, err := imagemeta.Decode(imagemeta.Options{
		R: bytes.NewReader(data), ImageFormat: of, Sources: imagemeta.EXIF, LimitNumTags: 500,
		ShouldHandleTag: func(tag imagemeta.TagInfo) bool { return tag.Tag == "Orientation" && tag.Namespace == "IFD0" },
		HandleTag: func(tag imagemeta.TagInfo) error {
			if n, ok := tag.Value.(uint16); ok && n >= 1 && n <= 8 {
				held = int(n)
			}
			return nil
		},
	})
	if err != nil { // then nobody knows, and the picture stays as it lies
		return 1
	}
	return held
}

// turned is a picture as it was seen, of one that was held so.
func turned(m *image.RGBA, held int) *image.RGBA {
	if held == 1 {
		return m
	}
	w, h := m.Bounds().Dx(), m.Bounds().Dy()
	size := image.Rect(0, 0, w, h)
	if held >= 5 { // lies on its side
		size = image.Rect(0, 0, h, w)
	}
	out := image.NewRGBA(size)
	for y := range size.Dy() {
		for x := range size.Dx() {
			fromX, fromY := x, y
			switch held {
			case 2:
				fromX = w - 1 - x
			case 3:
				fromX, fromY = w-1-x, h-1-y
			case 4:
				fromY = h - 1 - y
			case 5:
				fromX, fromY = y, x
			case 6:
				fromX, fromY = y, h-1-x
			case 7:
				fromX, fromY = w-1-y, h-1-x
			case 8:
				fromX, fromY = w-1-y, x
			}
			out.SetRGBA(x, y, m.RGBAAt(fromX, fromY))
		}
	}
	return out
}
