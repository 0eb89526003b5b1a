package records

import (
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// csvShut says that a box was left shut.
const csvShut = "yes"

// details reads what a row of a list may say beside its difficulty: joint and worst
// frame apart, that the box was left shut, gaps, and what was wrong.
func (o *listedOpening) details(field func(string) string, bad func(name, value, why string, allowed text.Text, args ...any)) {
	degree := func(name string, into *scheduler.Difficulty) {
		switch s := strings.TrimSpace(field(name)); {
		case s == "":
		case len(s) == 1 && s[0] >= '0' && s[0] <= '4':
			*into = scheduler.Difficulty(s[0] - '0')
		default:
			bad(name, s, "records.why.not-allowed", text.New("records.allow.or-empty", difficultyAllowed))
		}
	}
	whole, joint, frames := o.Joint, scheduler.NotTried, scheduler.NotTried
	degree("joint", &joint)
	degree("frames", &frames)
	if joint != scheduler.NotTried || frames != scheduler.NotTried {
		if max(joint, frames) != whole {
			bad("difficulty", strings.TrimSpace(field("difficulty")), "records.why.not-allowed", text.New("records.allow.harder-part"))
		}
		o.Joint, o.Frames = joint, frames
	}
	switch s := strings.TrimSpace(field("left_shut")); {
	case s == csvShut:
		if o.LeftShut = true; o.Joint == scheduler.NotTried {
			o.Joint = scheduler.Stuck
		}
	case s != "":
		bad("left_shut", s, "records.why.not-allowed", text.New("records.allow.or-empty", csvShut))
	}
	for _, s := range csvList(field("gaps")) {
		g, ok := ParseGap(s)
		if !ok {
			bad("gaps", s, "records.why.not-allowed", text.New("records.allow.listed-gap", joinWords(gapPlaces), joinWords(pegs)))
		}
		o.Gaps = append(o.Gaps, g)
	}
	for _, s := range csvList(field("condition")) {
		c := scheduler.Condition(s)
		if !slices.Contains(conditions, c) {
			bad("condition", s, "records.why.not-allowed", oneOf(conditions))
		}
		o.Condition = append(o.Condition, c)
	}
}

// otherDetails reports whether a row says other details than a recorded opening; one
// that says none does not.
func (o *listedOpening) otherDetails(old *scheduler.Opening) bool {
	return len(o.Gaps) > 0 && !slices.Equal(o.Gaps, old.Gaps) || len(o.Condition) > 0 && !slices.Equal(o.Condition, old.Condition) ||
		o.LeftShut && !old.LeftShut || o.Frames != scheduler.NotTried && (o.Frames != old.Frames || o.Joint != old.Joint)
}

// csvList are the parts of a cell that holds several.
func csvList(cell string) (out []string) {
	for s := range strings.SplitSeq(cell, ";") {
		if s = strings.TrimSpace(s); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// csvDetails writes what details reads, in that order.
func csvDetails(o *scheduler.Opening) []string {
	out := []string{csvDegree(o.Joint), csvDegree(o.Frames), "", "", ""}
	if o.LeftShut {
		out[2] = csvShut
	}
	var gaps, found []string
	for _, g := range o.Gaps {
		gaps = append(gaps, FormatGap(g))
	}
	for _, c := range o.Condition {
		found = append(found, string(c))
	}
	out[3], out[4] = strings.Join(gaps, "; "), strings.Join(found, "; ")
	return out
}

// ParseGap reads a gap as FormatGap writes it: the place, then millimetres, what the
// pegs said, or both.
func ParseGap(s string) (g scheduler.Gap, ok bool) {
	place, rest, _ := strings.Cut(s, " ")
	g.At = scheduler.GapPlace(place)
	if !slices.Contains(gapPlaces, g.At) {
		return g, false
	}
	length, peg, both := strings.Cut(rest, " mm")
	if !both {
		length, peg = "", rest
	}
	if peg = strings.TrimSpace(peg); peg != "" {
		if g.Peg = scheduler.Peg(peg); !slices.Contains(pegs, g.Peg) {
			return g, false
		}
	}
	if !both {
		return g, g.Peg != ""
	}
	mm, err := text.ParseLength(length+" mm", text.Millimetres)
	g.MM = mm
	return g, err == nil
}

// FormatGap writes a gap exactly: above-frames 8.5 mm thin-goes.
func FormatGap(g scheduler.Gap) string {
	s := string(g.At)
	if g.Peg == "" || g.MM != 0 {
		s += " " + short(g.MM) + " mm"
	}
	if g.Peg != "" {
		s += " " + string(g.Peg)
	}
	return s
}
