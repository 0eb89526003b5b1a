package notebook

import (
	"regexp"
	"slices"
	"strings"
	"unicode"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store/records"
)

// answers reads what a row says of an opening beside its day.
func (r *rowReader) answers(e *entry) {
	r.howHard(e)
	r.scraped(e)
	r.gaps(e)
	notes := r.cellsOf(Note)
	for _, cell := range r.cellsOf(Condition) {
		notes = append(notes, r.conditions(e, cell)...)
	}
	e.o.Note = strings.Join(notes, "\n")
	r.check(Note, e.o.Note, maxNote, true)
	if by := r.name(Opener); by != "" {
		opener, why := records.FindOpener(r.club, by)
		if why != "" {
			r.bad(why, by)
		}
		e.o.Opener, e.said.opener = &opener, true
	}
}

// howHard reads one degree for the whole, or one for the joint and one for the
// worst frame, or all three where they agree.
func (r *rowReader) howHard(e *entry) {
	whole, joint, frames := r.degreeIn(HowHard), r.degreeIn(Joint), r.degreeIn(Frames)
	e.said.hard, e.said.joint, e.said.frames = whole.hard != scheduler.NotTried, joint.hard != scheduler.NotTried, frames.hard != scheduler.NotTried
	e.said.shut = whole.shut || joint.shut
	switch s := fold(r.cell(Shut)); {
	case s == "", known().no[s]:
	case known().yes[s], known().degrees[s].shut:
		e.said.shut = true
	default:
		r.bad("sheet.why.yes-or-no", r.called(Shut), short(r.cell(Shut)))
	}
	if e.said.shut {
		e.o.Joint, e.o.LeftShut = scheduler.Stuck, true
		return
	}
	e.o.Joint, e.o.Frames = joint.hard, frames.hard
	switch parts := max(joint.hard, frames.hard); {
	case !e.said.hard:
	case parts == scheduler.NotTried:
		e.o.Joint = whole.hard
	case parts != whole.hard:
		r.bad("sheet.why.three-degrees", whole.hard, parts)
	}
}

func (r *rowReader) degreeIn(f Field) degree { return r.degree(r.called(f), r.cell(f)) }

func (r *rowReader) scraped(e *entry) {
	s := r.cell(Scraped)
	if s == "" {
		return
	}
	word, ok := known().scraped[fold(s)]
	if !ok {
		switch answer := r.explained(r.called(Scraped), &r.asked.Scrapings, r.choices.Scrapings, r.firstYes(s)); answer {
		case Unsaid, "":
			return
		case Refuse:
			r.bad("sheet.why.word", r.called(Scraped), short(s))
			return
		default:
			word = scheduler.Scraped(answer)
		}
	}
	e.o.Scraped, e.said.scraped = word, true
}

// firstYes returns the first word of the column that says yes where another one says so
// too: what yes means is asked once. Digits may be a scale of its own.
func (r *rowReader) firstYes(s string) string {
	yes := func(word string) bool { return known().yes[word] && !unicode.IsDigit([]rune(word)[0]) }
	if !yes(fold(s)) {
		return s
	}
	for _, word := range r.asked.Scrapings {
		if yes(word.Folded) {
			return word.Shown
		}
	}
	return s
}

// measured is a gap in a cell: a length, and perhaps what the pegs said.
var measured = regexp.MustCompile(`^([\d.,/ ]+ ?(?:mm|in|inch|inches|")?)(?:[,: ] *(\pL.*))?$`)

// gaps reads the columns of gaps. Several measurements of a place are separated by
// semicolons.
func (r *rowReader) gaps(e *entry) {
	for _, at := range gapPlaces {
		for _, part := range strings.Split(r.cell(gapField(at)), ";") {
			if part = strings.TrimSpace(part); strings.Trim(part, "-–?") != "" {
				r.gap(e, at, part)
			}
		}
	}
	for _, cell := range r.cellsOf(Gaps) {
		for _, part := range strings.FieldsFunc(cell, func(c rune) bool { return c == ';' || c == '\n' }) {
			at, rest := placeOf(strings.TrimSpace(part))
			if at == "" {
				r.bad("sheet.why.gap-place", r.called(Gaps), short(part))
				continue
			}
			r.gap(e, at, rest)
		}
	}
}

// placeOf takes the place of a gap from the front of a text, the longest that is
// there.
func placeOf(s string) (at scheduler.GapPlace, rest string) {
	longest := 0
	for name, place := range known().places {
		if len(name) > longest && len(s) >= len(name) && strings.EqualFold(s[:len(name)], name) {
			at, rest, longest = place, strings.TrimLeft(s[len(name):], " :="), len(name)
		}
	}
	return at, rest
}

func (r *rowReader) gap(e *entry, at scheduler.GapPlace, s string) {
	g := scheduler.Gap{At: at}
	if peg, ok := known().pegs[fold(s)]; ok {
		g.Peg = peg
		e.o.Gaps = append(e.o.Gaps, g)
		return
	}
	length, word := s, ""
	if m := measured.FindStringSubmatch(s); m != nil {
		length, word = strings.TrimSpace(m[1]), m[2]
	}
	if word != "" {
		if g.Peg = known().pegs[fold(word)]; g.Peg == "" {
			length = s
		}
	}
	if strings.Trim(length, "0123456789.,") == "" {
		example(&r.asked.Units, s)
		r.asked.open = r.asked.open || r.choices.Units == ""
	}
	mm, err := text.ParseLength(length, r.choices.Units)
	if err != nil {
		r.bad("sheet.why.gap", gapField(at).Text(), short(s))
		return
	}
	g.MM = mm
	e.o.Gaps = append(e.o.Gaps, g)
}

// conditions reads what is wrong with a box. Words that are none of ours are kept
// as a note.
func (r *rowReader) conditions(e *entry, cell string) (notes []string) {
	for _, word := range strings.FieldsFunc(cell, func(c rune) bool { return strings.ContainsRune(",;/\n+", c) }) {
		word = strings.TrimSpace(word)
		c, ok := known().conditions[fold(word)]
		switch {
		case word == "":
		case !ok:
			notes = append(notes, word)
		case !slices.Contains(e.o.Condition, c):
			e.o.Condition = append(e.o.Condition, c)
		}
	}
	return notes
}

// unguard takes off what keeps a spreadsheet from running a cell.
func unguard(s string) string { return records.Unguard(s) }
