package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"testing"

	"pryday/testdata/testrun"
)

// quarters is a picture whose quarters are red, green, blue and white, from the
// top left on.
func quarters(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	of := [2][2]color.RGBA{{{255, 0, 0, 255}, {0, 255, 0, 255}}, {{0, 0, 255, 255}, {255, 255, 255, 255}}}
	for y := range h {
		for x := range w {
			m.SetRGBA(x, y, of[2*y/h][2*x/w])
		}
	}
	return m
}

func jpegOf(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pngOf(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// exif is the APP1 segment of Exif 3.0, section 4.5: how the camera was held, and
// in an IFD of its own where that was, as 51 degrees north.
func exif(held uint16) []byte {
	tiff := []byte("II*\x00\x08\x00\x00\x00")
	put := func(v ...any) {
		for _, x := range v {
			tiff, _ = binary.Append(tiff, binary.LittleEndian, x)
		}
	}
	put(uint16(2), uint16(0x0112), uint16(3), uint32(1), uint32(held), uint16(0x8825), uint16(4), uint32(1), uint32(38), uint32(0))
	put(uint16(2), uint16(1), uint16(2), uint32(2), []byte("N\x00\x00\x00"), uint16(2), uint16(5), uint32(3), uint32(68), uint32(0))
	put(uint32(51), uint32(1), uint32(28), uint32(1), uint32(40), uint32(1))
	segment := append([]byte("Exif\x00\x00"), tiff...)
	return append(binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(len(segment)+2)), segment...)
}

// withSegment puts a segment behind the first two bytes of a JPEG.
func withSegment(data, segment []byte) []byte {
	return append(append(append([]byte{}, data[:2]...), segment...), data[2:]...)
}

func decoded(t testing.TB, data []byte) image.Image {
	t.Helper()
	m, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// colour names what is seen in the middle of the top left quarter.
func colour(m image.Image) string {
	r, g, b, _ := m.At(m.Bounds().Dx()/4, m.Bounds().Dy()/4).RGBA()
	switch high := [3]bool{r > 0x8000, g > 0x8000, b > 0x8000}; high {
	case [3]bool{true, false, false}:
		return "red"
	case [3]bool{false, true, false}:
		return "green"
	case [3]bool{false, false, true}:
		return "blue"
	case [3]bool{true, true, true}:
		return "white"
	}
	return "?"
}

// TestPhotosStandUpright: Exif 3.0, section 4.6.5.1.6, says for each number which
// row and column of what was seen come first.
func TestPhotosStandUpright(t *testing.T) {
	_ = testrun.Rand(t)
	topLeft := map[uint16]string{1: "red", 2: "green", 3: "white", 4: "blue", 5: "red", 6: "blue", 7: "white", 8: "green"}
	for held, want := range topLeft {
		p, err := Make(withSegment(jpegOf(t, quarters(64, 32)), exif(held)))
		if err != nil {
			t.Fatal(err)
		}
		if got := colour(decoded(t, p.Large)); got != want {
			t.Errorf("held %d: %s is at the top left, want %s", held, got, want)
		}
		if lies := p.Width < p.Height; lies != (held >= 5) {
			t.Errorf("held %d: %d x %d", held, p.Width, p.Height)
		}
	}
}

// TestPhotosHoldPixelsAlone: not a byte of what stood beside them is kept.
func TestPhotosHoldPixelsAlone(t *testing.T) {
	secret := []byte("gate code 4711 at 51.478 N")
	comment := append(binary.BigEndian.AppendUint16([]byte{0xff, 0xfe}, uint16(len(secret)+2)), secret...)
	data := append(withSegment(withSegment(jpegOf(t, quarters(64, 64)), comment), exif(1)), secret...) // also behind its end
	text := append([]byte("tEXtComment\x00"), secret...)
	chunk := binary.BigEndian.AppendUint32(nil, uint32(len(text)-4))
	chunk = binary.BigEndian.AppendUint32(append(chunk, text...), crc32.ChecksumIEEE(text))
	p := pngOf(t, quarters(64, 64))
	const header = 8 + 25 // signature, and the chunk of sizes
	other := append(append(append([]byte{}, p[:header]...), chunk...), p[header:]...)
	for _, data := range [][]byte{data, other} {
		if !bytes.Contains(data, secret) {
			t.Fatal("there is nothing to strip")
		}
		got, err := Make(data)
		if err != nil {
			t.Fatal(err)
		}
		for _, kept := range [][]byte{got.Large, got.Small} {
			if bytes.Contains(kept, secret) || bytes.Contains(kept, []byte("Exif")) {
				t.Error("something that stood beside the pixels is kept")
			}
			for n := 2; n+4 < len(kept) && kept[n+1] != 0xda; n += 2 + int(binary.BigEndian.Uint16(kept[n+2:])) {
				if marker := kept[n+1]; marker >= 0xe0 && marker <= 0xef || marker == 0xfe {
					t.Errorf("a segment %x is kept", marker)
				}
			}
		}
	}
}

func TestPhotosAreBounded(t *testing.T) {
	lots := testrun.Rand(t)
	noise := image.NewRGBA(image.Rect(0, 0, 1800, 1200))
	for i := range noise.Pix {
		noise.Pix[i] = byte(lots.Uint32())
	}
	for name, m := range map[string]image.Image{"noise": noise, "a strip": quarters(5000, 3), "one pixel": quarters(1, 1), "grey": image.NewGray16(image.Rect(0, 0, 900, 1800))} {
		p, err := Make(pngOf(t, m))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		large, small := decoded(t, p.Large).Bounds(), decoded(t, p.Small).Bounds()
		if max(large.Dx(), large.Dy()) > Longest || len(p.Large) > MaxLarge || max(small.Dx(), small.Dy()) > longestSmall || len(p.Small) > maxSmall {
			t.Errorf("%s: %v in %d bytes, %v in %d", name, large, len(p.Large), small, len(p.Small))
		}
		if p.Width != large.Dx() || p.Height != large.Dy() {
			t.Errorf("%s: says %d x %d, is %v", name, p.Width, p.Height, large)
		}
	}
}

func TestWhatIsNoPhotoIsRefused(t *testing.T) {
	small := pngOf(t, quarters(8, 8))
	// The sizes stand in the first chunk (PNG, section 11.2.1); behind them nothing
	// needs to come: whoever reads them alone takes no memory.
	bomb := append([]byte{}, small...)
	binary.BigEndian.PutUint32(bomb[16:], 100_000)
	binary.BigEndian.PutUint32(bomb[20:], 100_000)
	binary.BigEndian.PutUint32(bomb[29:], crc32.ChecksumIEEE(bomb[12:29]))
	for name, row := range map[string]struct {
		data []byte
		want error
	}{
		"nothing":             {nil, ErrNoPicture},
		"a page":              {[]byte("<html><script>alert(1)</script>"), ErrNoPicture},
		"a drawing":           {[]byte(`<svg xmlns="http://www.w3.org/2000/svg"/>`), ErrNoPicture},
		"a film of pictures":  {[]byte("GIF89a\x01\x00\x01\x00"), ErrNoPicture},
		"a cut off JPEG":      {jpegOf(t, quarters(64, 64))[:200], ErrNoPicture},
		"a cut off PNG":       {small[:50], ErrNoPicture},
		"a phone's own":       {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00"), ErrApplesFormat},
		"a bomb":              {bomb, ErrTooManyPixels},
		"a JPEG of no pixels": {[]byte("\xff\xd8\xff\xd9"), ErrNoPicture},
		"a large file":        {make([]byte, MaxBytes+1), ErrTooLarge},
	} {
		if _, err := Make(row.data); !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %v", name, err, row.want)
		}
	}
}

func FuzzMake(f *testing.F) {
	f.Add(jpegOf(f, quarters(16, 8)))
	f.Add(withSegment(jpegOf(f, quarters(16, 8)), exif(6)))
	f.Add(pngOf(f, quarters(8, 16)))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Make(data)
		if err != nil {
			return
		}
		again, err := Make(p.Large)
		if err != nil || again.Width != p.Width || again.Height != p.Height {
			t.Errorf("what is kept cannot be read again: %v", err)
		}
	})
}
