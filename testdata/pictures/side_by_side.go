package main

import (
	"bytes"
	"cmp"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"maps"
	"slices"
)

const gap = 24 // pixels between two screens

// sideBySide puts screens next to one another on a quiet ground.
func sideBySide(shots [][]byte) ([]byte, error) {
	var screens []image.Image
	var whole image.Point
	for i, shot := range shots {
		screen, err := png.Decode(bytes.NewReader(shot))
		if err != nil {
			return nil, err
		}
		if i > 0 {
			whole.X += gap
		}
		whole.X += screen.Bounds().Dx()
		whole.Y = max(whole.Y, screen.Bounds().Dy())
		screens = append(screens, screen)
	}
	out := image.NewRGBA(image.Rectangle{Max: whole})
	draw.Draw(out, out.Bounds(), image.NewUniform(color.Gray{0x99}), image.Point{}, draw.Src)
	at := image.Point{}
	for _, screen := range screens {
		draw.Draw(out, screen.Bounds().Add(at), screen, image.Point{}, draw.Src)
		at.X += screen.Bounds().Dx() + gap
	}
	var b bytes.Buffer
	err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, fewColours(out))
	return b.Bytes(), err
}

// fewColours draws a picture with its 256 commonest colours, which makes a file
// of half the size: pages have few, and many shades between letters and ground.
func fewColours(from *image.RGBA) *image.Paletted {
	count := map[color.RGBA]int{}
	for y := range from.Rect.Max.Y {
		for x := range from.Rect.Max.X {
			count[from.RGBAAt(x, y)]++
		}
	}
	common := slices.SortedFunc(maps.Keys(count), func(a, b color.RGBA) int {
		return cmp.Or(count[b]-count[a], cmp.Compare(a.R, b.R), cmp.Compare(a.G, b.G), cmp.Compare(a.B, b.B))
	})
	var palette color.Palette
	for _, c := range common[:min(len(common), 256)] {
		palette = append(palette, c)
	}
	out := image.NewPaletted(from.Rect, palette)
	draw.Draw(out, out.Rect, from, image.Point{}, draw.Src)
	return out
}
