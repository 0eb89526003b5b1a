package mail

import (
	_ "embed"
	"fmt"
	"html/template"
	"regexp"
	"strings"
)

//go:embed page.html
var pageHTML string

var pageTemplate = template.Must(template.New("page").Parse(inlined(pageHTML)))

// styles are inlined where page.html says style="@name", as many readers drop
// style sheets; the sheet in page.html only turns the colours for dark screens.
var styles = map[string]string{
	"body":     "margin:0;padding:0;background:#f4eee3;color:#2e2a25;-webkit-text-size-adjust:100%",
	"wrap":     "max-width:560px;margin:0 auto;padding:20px 12px 28px;font:16px/1.5 -apple-system,'Segoe UI',Roboto,'Helvetica Neue',Arial,sans-serif",
	"eyebrow":  "margin:0 4px 2px;font-size:14px;color:#6f6455",
	"title":    "margin:0 4px 16px;font-size:24px;line-height:1.25;font-weight:700;color:#2e2a25",
	"h2":       "margin:28px 4px 10px;padding-top:18px;border-top:2px solid #d9cdb8;font-size:20px;line-height:1.3;font-weight:700;color:#2e2a25",
	"h3":       "margin:18px 4px 8px;font-size:16px;line-height:1.35;font-weight:700;color:#5f4a1e",
	"p":        "margin:0 4px 12px",
	"fine":     "margin:0 4px 8px;font-size:13px;line-height:1.45;color:#6f6455",
	"caution":  "margin:0 0 12px;padding:10px 14px;border-left:4px solid #b4531c;border-radius:0 8px 8px 0;background:#fbe6d6;color:#4a2410",
	"fact":     "margin:0 4px 8px",
	"label":    "font-weight:700;color:#5f4a1e",
	"ul":       "margin:0 4px 12px;padding-left:20px",
	"li":       "margin:0 0 6px",
	"box":      "margin:0 0 8px;padding:10px 14px;border:1px solid #e2d8c6;border-radius:10px;background:#fffcf6",
	"order":    "display:inline-block;min-width:22px;margin-right:8px;border-radius:11px;background:#5f4a1e;color:#fffcf6;font-size:13px;line-height:22px;text-align:center;font-weight:700",
	"mark":     "font-weight:700",
	"ticks":    "margin:6px 0 4px;font-size:15px;line-height:1.7",
	"tick":     "display:inline-block;margin-right:10px",
	"why":      "margin:2px 0 0",
	"detail":   "margin:2px 0 0;font-size:14px;line-height:1.45;color:#6f6455",
	"buttons":  "margin:16px 0 18px",
	"main":     "display:block;margin:0 0 10px;padding:13px 16px;border-radius:10px;background:#6b4a0f;border:1px solid #6b4a0f;color:#ffffff;font-weight:700;text-align:center;text-decoration:none",
	"button":   "display:block;margin:0 0 10px;padding:12px 16px;border-radius:10px;background:#fffcf6;border:1px solid #b9a47c;color:#5f4a1e;font-weight:600;text-align:center;text-decoration:none",
	"footer":   "margin-top:28px;padding-top:14px;border-top:1px solid #d9cdb8",
	"finelink": "color:#5f4a1e;font-size:13px",
}

var styleName = regexp.MustCompile(`style="@([a-z0-9]+)"`)

func inlined(page string) string {
	return styleName.ReplaceAllStringFunc(page, func(at string) string {
		css, ok := styles[styleName.FindStringSubmatch(at)[1]]
		if !ok {
			panic("no style for " + at)
		}
		return `style="` + css + `"`
	})
}

// webpage writes a page as HTML.
func webpage(p *page) (string, error) {
	var w strings.Builder
	if err := pageTemplate.Execute(&w, p); err != nil {
		return "", fmt.Errorf("render %q as HTML: %w", p.Title, err)
	}
	return w.String(), nil
}
