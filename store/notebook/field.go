// Package notebook reads a keeper's own table of openings, in whatever columns and
// words, into the records of a club, and writes such a table.
//
// Nothing is guessed that a reader of the table could not know: what can be
// understood in two ways is asked about once (Asked), answered for all of the table
// (Choices), and only then read. A row is taken whole or refused with its reasons.
package notebook

import (
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// Field is what a column of the table says; empty for nothing that is taken.
type Field string

// The fields. A table may have no column for most of them.
const (
	Apiary    Field = "apiary"
	Hive      Field = "hive"
	Box       Field = "box"      // the painted mark
	Position  Field = "position" // in the stack, 1 the lowest
	Kind      Field = "kind"
	SetUp     Field = "set-up"
	Day       Field = "day"
	HowHard   Field = "how-hard"
	Joint     Field = "joint"
	Frames    Field = "frames"
	Shut      Field = "shut"
	Scraped   Field = "scraped"
	Gaps      Field = "gaps" // each with its place
	Condition Field = "condition"
	Note      Field = "note"
	Opener    Field = "opener"

	OfBox Field = "of-box" // how hard the box was that the heading names
	OnDay Field = "on-day" // how hard the box was on the day that the heading names
)

// gapPrefix begins the field of the gaps at a place.
const gapPrefix = "gap-"

var gapPlaces = []scheduler.GapPlace{
	scheduler.AboveFrames, scheduler.BetweenFrames, scheduler.EndBarToBox, scheduler.FrameToWall,
	scheduler.BetweenBoxes, scheduler.BelowFrames, scheduler.Entrance, scheduler.FrameLug,
}

// Fields lists every field, in the order of a table that Table writes.
func Fields() []Field {
	out := []Field{Apiary, Hive, Box, Position, Kind, SetUp, Day, HowHard, Joint, Frames, Shut, Scraped}
	for _, at := range gapPlaces {
		out = append(out, gapField(at))
	}
	return append(out, Gaps, Condition, Note, Opener, OfBox, OnDay)
}

func gapField(at scheduler.GapPlace) Field { return Field(gapPrefix + string(at)) }

// gapAt is the place of a field of gaps.
func (f Field) gapAt() (scheduler.GapPlace, bool) {
	at, ok := strings.CutPrefix(string(f), gapPrefix)
	return scheduler.GapPlace(at), ok
}

// Text is what the column is called.
func (f Field) Text() text.Text {
	if at, ok := f.gapAt(); ok {
		return text.New("sheet.gap-column", text.New("gap."+string(at)))
	}
	return text.New("sheet.column." + string(f))
}

// says reports whether a column of f says how hard something was.
func (f Field) says() bool {
	return slices.Contains([]Field{HowHard, Joint, Frames, OfBox, OnDay}, f)
}

// Several reports whether a table may have several columns of f.
func (f Field) Several() bool {
	return slices.Contains([]Field{"", Note, Gaps, Condition, OfBox, OnDay}, f)
}

// degrees reports whether the cells of f say how hard something was.
func (f Field) degrees() bool {
	return slices.Contains([]Field{HowHard, Joint, Frames, OfBox, OnDay}, f)
}
