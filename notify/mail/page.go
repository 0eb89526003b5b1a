package mail

// page is what a mail says, before it is text or HTML: both are rendered from
// the same blocks, so that they cannot say different things.
type page struct {
	Language string
	Eyebrow  string // the club
	Title    string
	Blocks   []block
	Footer   []block
}

// block is one piece of a page. At most one field is set.
type block struct {
	Heading *heading
	Para    *para
	Caution *caution
	Facts   []fact
	List    []string
	Boxes   []boxLines
	Ticks   []string // steps of the checklist; none writes nothing
	Letter  []string // a person's words, line by line
	Buttons []button
}

// heading is level 2 for a visit and level 3 for a hive or a part of it.
type heading struct {
	Level int
	Text  string
}

type para struct {
	Text string
	Fine bool // small print
}

// caution is a warning that stands out.
type caution struct{ Text string }

// fact is a short label with its text.
type fact struct{ Label, Text string }

// boxLines is one box of a hive, in the order in which they come off.
type boxLines struct {
	Order string // "1" for the one that comes off first; empty where none is opened
	Mark  string // the painted mark and the kind
	Why   string
	Lines []string // what was found last time
	Ticks []string // the steps of the checklist
}

// button is a link to a page; following it changes nothing by itself.
type button struct {
	Label, URL string
	Main       bool
}

func (p *page) add(b ...block) { p.Blocks = append(p.Blocks, b...) }

func h(level int, text string) block    { return block{Heading: &heading{level, text}} }
func say(text string) block             { return block{Para: &para{Text: text}} }
func fine(text string) block            { return block{Para: &para{Text: text, Fine: true}} }
func warn(text string) block            { return block{Caution: &caution{text}} }
func buttons(b ...button) block         { return block{Buttons: b} }
func link(label, url string) button     { return button{Label: label, URL: url} }
func mainLink(label, url string) button { return button{Label: label, URL: url, Main: true} }
