package mail

// element is an HTML element with its style inlined, as many readers drop
// style sheets. The classes are what dark.css gives other colours.
type element struct{ start, end string }

func styled(name, class, style string) element {
	if class != "" {
		class = ` class="` + class + `"`
	}
	return element{"<" + name + class + ` style="` + style + `">`, "</" + name + ">"}
}

var (
	bodyElement = styled("body", "page", "margin:0;padding:0;background:#f4eee3;color:#2e2a25;-webkit-text-size-adjust:100%")
	pageElement = styled("div", "page", "max-width:560px;margin:0 auto;padding:20px 12px 28px;font:16px/1.5 -apple-system,'Segoe UI',Roboto,'Helvetica Neue',Arial,sans-serif")
	clubElement = styled("p", "soft", "margin:0 4px 2px;font-size:14px;color:#6f6455")
	h1Element   = styled("h1", "ink", "margin:0 4px 16px;font-size:24px;line-height:1.25;font-weight:700;color:#2e2a25")
	h2Element   = styled("h2", "ink rule", "margin:28px 4px 10px;padding-top:18px;border-top:2px solid #d9cdb8;font-size:20px;line-height:1.3;font-weight:700;color:#2e2a25")
	h3Element   = styled("h3", "warm", "margin:18px 4px 8px;font-size:16px;line-height:1.35;font-weight:700;color:#5f4a1e")

	paraElement    = styled("p", "", "margin:0 4px 12px")
	fineElement    = styled("p", "soft", "margin:0 4px 8px;font-size:13px;line-height:1.45;color:#6f6455")
	cautionElement = styled("p", "caution", "margin:0 0 12px;padding:10px 14px;border-left:4px solid #b4531c;border-radius:0 8px 8px 0;background:#fbe6d6;color:#4a2410")
	factElement    = styled("p", "", "margin:0 4px 8px")
	labelElement   = styled("span", "warm", "font-weight:700;color:#5f4a1e")
	listElement    = styled("ul", "", "margin:0 4px 12px;padding-left:20px")
	itemElement    = styled("li", "", "margin:0 0 6px")

	boxElement    = styled("div", "box", "margin:0 0 8px;padding:10px 14px;border:1px solid #e2d8c6;border-radius:10px;background:#fffcf6")
	orderElement  = styled("span", "order", "display:inline-block;min-width:22px;margin-right:8px;border-radius:11px;background:#5f4a1e;color:#fffcf6;font-size:13px;line-height:22px;text-align:center;font-weight:700")
	markElement   = styled("span", "", "font-weight:700")
	whyElement    = styled("p", "", "margin:2px 0 0")
	detailElement = styled("ul", "soft", "margin:4px 0 0;padding-left:18px;font-size:14px;line-height:1.4;color:#6f6455")
	ticksElement  = styled("p", "ink", "margin:6px 4px 4px;font-size:14px;line-height:1.6")

	letterElement = styled("p", "box", "margin:0 0 12px;padding:10px 14px;border:1px solid #e2d8c6;border-radius:10px;background:#fffcf6;overflow-wrap:anywhere")

	buttonsElement = styled("div", "", "margin:16px 0 18px")
	footElement    = styled("div", "rule", "margin-top:28px;padding-top:14px;border-top:1px solid #d9cdb8")

	mainAnchor   = anchor{"main", "display:block;margin:0 0 10px;padding:13px 16px;border-radius:10px;background:#6b4a0f;border:1px solid #6b4a0f;color:#ffffff;font-weight:700;text-align:center;text-decoration:none"}
	buttonAnchor = anchor{"button", "display:block;margin:0 0 10px;padding:12px 16px;border-radius:10px;background:#fffcf6;border:1px solid #b9a47c;color:#5f4a1e;font-weight:600;text-align:center;text-decoration:none"}
	fineAnchor   = anchor{"warm", "color:#5f4a1e;font-size:13px"}
)

// anchor is a link's class and style; its address comes between them.
type anchor struct{ class, style string }
