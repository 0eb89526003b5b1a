// Package photo makes of a picture that somebody sent the one that is kept:
// upright, small, and without anything that the camera wrote beside it.
package photo

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"sync"

	"golang.org/x/image/draw"
	"golang.org/x/image/webp"
)

// What is taken, and what is kept of it.
const (
	MaxBytes  = 12 << 20 // of a file that is sent
	MaxPixels = 25e6     // of its picture
	Longest   = 1600     // pixels of the longer side of what is kept
	MaxLarge  = 600_000  // bytes of it

	longestSmall = 320
	maxSmall     = 50_000
)

// Why a file is not taken.
var (
	ErrNoPicture     = errors.New("the file is no picture that can be read")
	ErrApplesFormat  = errors.New("the file is a HEIC or AVIF picture")
	ErrTooLarge      = errors.New("the file is too large")
	ErrTooManyPixels = errors.New("the picture has too many pixels")
)

// Photo is a picture as it is kept: JPEG files that hold pixels alone.
type Photo struct {
	Large, Small  []byte
	Width, Height int // of the large one
}

// oneAtATime bounds the memory: a picture of MaxPixels takes up to 300 MB while
// it is read, most of them a tenth.
var oneAtATime sync.Mutex

// Make reads a JPEG, PNG or WebP file. The errors are those above.
func Make(data []byte) (*Photo, error) {
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("%w: %d bytes", ErrTooLarge, len(data))
	}
	f, err := formatOf(data)
	if err != nil {
		return nil, err
	}
	size, err := f.size(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoPicture, err)
	}
	if float64(size.Width)*float64(size.Height) > MaxPixels {
		return nil, fmt.Errorf("%w: %d x %d", ErrTooManyPixels, size.Width, size.Height)
	}
	if size.Width < 1 || size.Height < 1 {
		return nil, fmt.Errorf("%w: %d x %d", ErrNoPicture, size.Width, size.Height)
	}
	oneAtATime.Lock()
	defer oneAtATime.Unlock()
	read, err := f.decode(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoPicture, err)
	}
	upright := turned(scaled(read, Longest), orientation(data, f.meta))
	out := &Photo{Width: upright.Bounds().Dx(), Height: upright.Bounds().Dy()}
	if out.Large, err = encode(upright, MaxLarge); err != nil {
		return nil, err
	}
	out.Small, err = encode(scaled(upright, longestSmall), maxSmall)
	return out, err
}

// scaled is a picture with sides of at most some pixels, on white where it is
// transparent. It is halved first, which averages all pixels and takes no memory
// beside the picture.
func scaled(m image.Image, longest int) *image.RGBA {
	w, h := m.Bounds().Dx(), m.Bounds().Dy()
	for max(w, h) > 2*longest {
		w, h = max(w/2, 1), max(h/2, 1)
		m = resized(m, w, h)
	}
	if most := max(w, h); most > longest {
		w, h = max(w*longest/most, 1), max(h*longest/most, 1)
	}
	return resized(m, w, h)
}

func resized(m image.Image, w, h int) *image.RGBA {
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(out, out.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	draw.ApproxBiLinear.Scale(out, out.Bounds(), m, m.Bounds(), draw.Over, nil)
	return out
}

// encode writes a JPEG of at most some bytes, the finest that is so small; of
// noise, also the coarsest may be larger.
func encode(m image.Image, most int) ([]byte, error) {
	var b bytes.Buffer
	for _, quality := range []int{82, 70, 55, 40, 25, 10} {
		b.Reset()
		if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: quality}); err != nil {
			return nil, err
		}
		if b.Len() <= most {
			return b.Bytes(), nil
		}
	}
	return nil, fmt.Errorf("%w: %d bytes of JPEG", ErrTooLarge, b.Len())
}

// format is one way to write a picture.
type format struct {
	size   func(*bytes.Reader) (image.Config, error)
	decode func(*bytes.Reader) (image.Image, error)
	meta   metaFormat
}

// formatOf tells by the first bytes, whatever the file is called.
func formatOf(data []byte) (format, error) {
	at := func(n int, text string) bool { return len(data) >= n+len(text) && string(data[n:n+len(text)]) == text }
	switch {
	case at(0, "\xff\xd8\xff"):
		return format{reading(jpeg.DecodeConfig), reading(jpeg.Decode), metaJPEG}, nil
	case at(0, "\x89PNG\r\n\x1a\n"):
		return format{reading(png.DecodeConfig), reading(png.Decode), metaPNG}, nil
	case at(0, "RIFF") && at(8, "WEBP"):
		return format{reading(webp.DecodeConfig), reading(webp.Decode), metaWebP}, nil
	case at(4, "ftyp"):
		return format{}, ErrApplesFormat
	}
	return format{}, ErrNoPicture
}
