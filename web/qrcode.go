package web

import (
	"fmt"
	"html/template"
	"strings"

	qr "github.com/piglig/go-qr"
)

// quietZone is the white border that a reader needs, in modules (ISO/IEC
// 18004: four).
const quietZone = 4

// qrCode draws text as a QR code, for a camera beside the screen: one path of
// squares.
func qrCode(text, title string) (template.HTML, error) {
	code, err := qr.EncodeText(text, qr.Medium)
	if err != nil {
		return "", fmt.Errorf("draw a QR code: %w", err)
	}
	var out strings.Builder
	side := code.Size() + 2*quietZone
	fmt.Fprintf(&out, `<svg class="qr" role="img" aria-label="%s" viewBox="0 0 %d %d" shape-rendering="crispEdges"><path fill="#000" d="`,
		template.HTMLEscapeString(title), side, side)
	for y := range code.Size() {
		for x := range code.Size() {
			if code.Module(x, y) {
				fmt.Fprintf(&out, "M%d %dh1v1h-1z", x+quietZone, y+quietZone)
			}
		}
	}
	out.WriteString(`"/></svg>`)
	return template.HTML(out.String()), nil // digits and an escaped title
}
