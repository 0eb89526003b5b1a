package web

import (
	"fmt"
	"html/template"
	"strings"

	"github.com/yeqown/go-qrcode/v2"
)

// quietZone is the white border that a reader needs, in modules (ISO/IEC
// 18004: four).
const quietZone = 4

// svgWriter draws a code as one path of squares.
type svgWriter struct {
	title string
	out   strings.Builder
}

// Write draws m.
func (w *svgWriter) Write(m qrcode.Matrix) error {
	fmt.Fprintf(&w.out, `<svg class="qr" role="img" aria-label="%s" viewBox="0 0 %d %d" shape-rendering="crispEdges"><path fill="#000" d="`,
		template.HTMLEscapeString(w.title), m.Width()+2*quietZone, m.Height()+2*quietZone)
	for y, row := range m.Bitmap() {
		for x, dark := range row {
			if dark {
				fmt.Fprintf(&w.out, "M%d %dh1v1h-1z", x+quietZone, y+quietZone)
			}
		}
	}
	w.out.WriteString(`"/></svg>`)
	return nil
}

// Close does nothing.
func (w *svgWriter) Close() error { return nil }

// qrCode draws text as a QR code, for a camera beside the screen.
func qrCode(text, title string) (template.HTML, error) {
	code, err := qrcode.NewWith(text, qrcode.WithErrorCorrectionLevel(qrcode.ErrorCorrectionMedium))
	if err != nil {
		return "", fmt.Errorf("draw a QR code: %w", err)
	}
	w := &svgWriter{title: title}
	if err := code.Save(w); err != nil {
		return "", fmt.Errorf("draw a QR code: %w", err)
	}
	return template.HTML(w.out.String()), nil // digits and an escaped title
}
