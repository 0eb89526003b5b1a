package web

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

// What a camera would read of the drawing, by another program's decoder.
func TestQRCodeIsReadByADecoder(t *testing.T) {
	t.Parallel()
	for _, text := range []string{
		"webcal://bees.example.org/calendar/abcdefghijklmnopqrstuvwxyz234567.ics",
		"webcal://imkerei-am-blütenweg.example/" + strings.Repeat("a", 300) + ".ics",
		"7",
	} {
		svg, err := qrCode(text, "a < b")
		if err != nil {
			t.Fatal(err)
		}
		picture, err := gozxing.NewBinaryBitmapFromImage(paint(t, string(svg)))
		if err != nil {
			t.Fatal(err)
		}
		read, err := qrcode.NewQRCodeReader().Decode(picture, nil)
		if err != nil {
			t.Errorf("%s: %v", text, err)
		} else if read.GetText() != text {
			t.Errorf("read %q, want %q", read.GetText(), text)
		}
	}
}

// The white border is four modules wide (ISO/IEC 18004, from memory), which the finder
// pattern's corner shows, and what is a title stays one.
func TestQRCodeHasItsBorderAndTitle(t *testing.T) {
	t.Parallel()
	svg, err := qrCode("7", "a < b")
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`viewBox="0 0 29 29"`, `"M4 4h1v1h-1z`, `aria-label="a &lt; b"`} { // 21 modules and two borders
		if !strings.Contains(string(svg), want) {
			t.Errorf("no %s in %.200s", want, svg)
		}
	}
	if strings.Contains(string(svg), "style=") {
		t.Errorf("a style, which the pages' policy forbids: %.200s", svg)
	}
}

func TestQRCodeTooLong(t *testing.T) {
	t.Parallel()
	if _, err := qrCode(strings.Repeat("a", 3000), "long"); err == nil {
		t.Error("3000 characters were drawn") // 2331 bytes at most at this level (ISO/IEC 18004, from memory)
	}
}

// paint draws a code's squares as an image, eight pixels each.
func paint(t *testing.T, svg string) image.Image {
	t.Helper()
	const pixels = 8
	var side int
	_, box, _ := strings.Cut(svg, `viewBox="`)
	if _, err := fmt.Sscanf(box, "0 0 %d", &side); err != nil {
		t.Fatalf("no view box: %.200s", svg)
	}
	picture := image.NewGray(image.Rect(0, 0, side*pixels, side*pixels))
	draw.Draw(picture, picture.Bounds(), image.White, image.Point{}, draw.Src)
	for _, m := range regexp.MustCompile(`M(\d+) (\d+)h1v1h-1z`).FindAllStringSubmatch(svg, -1) {
		x, _ := strconv.Atoi(m[1])
		y, _ := strconv.Atoi(m[2])
		square := image.Rect(x, y, x+1, y+1)
		square.Min, square.Max = square.Min.Mul(pixels), square.Max.Mul(pixels)
		draw.Draw(picture, square, image.NewUniform(color.Black), image.Point{}, draw.Src)
	}
	return picture
}
