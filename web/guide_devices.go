package web

import "pryday/scheduler/text"

// guideDevice is a kind of device, and how a calendar is subscribed to on it: a
// few screens that we drew, which are nobody's own.
type guideDevice struct {
	Name, About string
	Screens     []guideScreen
	After       string
}

// guideScreen is a drawn screen with what is on it, and the step that it shows.
type guideScreen struct {
	Step  string
	Desk  bool // a window and not a phone
	Wide  int
	High  int
	Lines []screenLine
}

// screenLine is one line of a screen: a word on it, and whether it is the one to tap.
type screenLine struct {
	Y    int
	Word string
	Hot  bool
	Kind string // row, field, button or code
}

const (
	screenTop  = 34
	screenStep = 36
)

// screen draws lines from the top of a phone or a window.
func screen(say *text.Speaker, step string, desk bool, lines ...screenLine) guideScreen {
	s := guideScreen{Step: say.Say(step), Desk: desk, Wide: 200, High: 196}
	if desk {
		s.Wide = 260
	}
	y := screenTop
	for _, l := range lines {
		l.Y = y
		y += screenStep
		if l.Kind == "code" {
			y += screenStep // it is twice as high
		}
		if l.Word != "" {
			l.Word = say.Say(l.Word)
		}
		s.Lines = append(s.Lines, l)
	}
	return s
}

func guideDevices(say *text.Speaker) []guideDevice {
	row := func(word string) screenLine { return screenLine{Kind: "row", Word: word} }
	hot := func(word string) screenLine { return screenLine{Kind: "row", Word: word, Hot: true} }
	field := screenLine{Kind: "field", Word: "guide.calendars.word-address", Hot: true}
	button := func(word string) screenLine { return screenLine{Kind: "drawn-button", Word: word, Hot: true} }
	blank := screenLine{Kind: "row"}
	return []guideDevice{
		{
			say.Say("guide.calendars.code"), say.Say("guide.calendars.code-about"), []guideScreen{
				screen(say, "guide.calendars.code-show", true, screenLine{Kind: "code"}),
				screen(say, "guide.calendars.code-point", false, screenLine{Kind: "code"}, blank, button("guide.calendars.word-subscribe")),
			}, say.Say("guide.calendars.code-after"),
		},
		{
			say.Say("guide.calendars.phone"), say.Say("guide.calendars.phone-about"), []guideScreen{
				screen(say, "guide.calendars.phone-settings", false, blank, row("guide.calendars.word-mail"), hot("guide.calendars.word-calendar"), blank),
				screen(say, "guide.calendars.phone-add", false, row("guide.calendars.word-account"), hot("guide.calendars.word-subscribed"), blank, blank),
				screen(say, "guide.calendars.phone-paste", false, field, blank, button("guide.calendars.word-save")),
			}, say.Say("guide.calendars.phone-after"),
		},
		{
			say.Say("guide.calendars.web"), say.Say("guide.calendars.web-about"), []guideScreen{
				screen(say, "guide.calendars.web-side", true, row("guide.calendars.word-own"), hot("guide.calendars.word-other"), blank),
				screen(say, "guide.calendars.web-from", true, row("guide.calendars.word-file"), hot("guide.calendars.word-from-web"), blank),
				screen(say, "guide.calendars.web-paste", true, field, blank, button("guide.calendars.word-add")),
			}, say.Say("guide.calendars.web-after"),
		},
		{
			say.Say("guide.calendars.desk"), say.Say("guide.calendars.desk-about"), []guideScreen{
				screen(say, "guide.calendars.desk-new", true, blank, hot("guide.calendars.word-new"), blank),
				screen(say, "guide.calendars.desk-net", true, row("guide.calendars.word-here"), hot("guide.calendars.word-net"), blank),
				screen(say, "guide.calendars.desk-paste", true, field, row("guide.calendars.word-often"), button("guide.calendars.word-save")),
			}, say.Say("guide.calendars.desk-after"),
		},
	}
}
