package advice

import (
	"math"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// Verdict says what bees will do with a gap.
type Verdict string

// The verdicts.
const (
	Sealed        Verdict = "sealed"          // narrower than bee space by more than 1 mm: glued
	NearlySealed  Verdict = "nearly-sealed"   // borderline, narrower by at most 1 mm
	InBeeSpace    Verdict = "bee-space"       // left open
	NearlyComb    Verdict = "nearly-comb"     // borderline, wider by at most 1 mm
	Combed        Verdict = "comb"            // wider by more than 1 mm: filled with comb
	TightByDesign Verdict = "tight-by-design" // frame lugs sit in their rests
	WideByDesign  Verdict = "wide-by-design"  // below the lowest frames bees build little
	MouseWide     Verdict = "mouse-wide"      // an entrance that lets mice in
	NotMeasured   Verdict = "not-measured"    // neither a length nor a peg's answer
	borderlineMM          = 1.0               // on either side of the band
	lugTightMM            = 3.0               // a lug with more play than this has a worn rest; common practice, no source
	sameLengthMM          = 0.005             // lengths nearer than this are equal: inches in binary fractions
	MeasuringSDMM         = 0.5               // standard deviation of one measurement with pegs or a ruler; common practice, from memory
)

// Borderline reports whether a gap is off bee space by no more than 1 mm.
func (v Verdict) Borderline() bool { return v == NearlySealed || v == NearlyComb }

// Wrong reports whether bees will glue or build in the gap, or mice pass it.
func (v Verdict) Wrong() bool { return v == Sealed || v == Combed || v == MouseWide }

// WordKey returns the key of the word for a verdict: "verdict.sealed".
func (v Verdict) WordKey() string { return "verdict." + string(v) }

// JudgeGap returns the verdict on one gap at its place.
func JudgeGap(g scheduler.Gap, limits scheduler.GapLimits) Verdict {
	v := band(g, limits)
	narrow := v == Sealed || v == NearlySealed
	wide := v == Combed || v == NearlyComb
	switch g.At {
	case scheduler.FrameLug:
		// A thin peg that won't go says only that the lug is not loose.
		if narrow && g.MM <= lugTightMM {
			return TightByDesign
		}
	case scheduler.BelowFrames:
		if wide {
			return WideByDesign
		}
	case scheduler.Entrance:
		if wide {
			return MouseWide
		}
	}
	return v
}

// band compares a gap with the limits, whatever its place.
func band(g scheduler.Gap, limits scheduler.GapLimits) Verdict {
	if g.MM == 0 && g.Peg != "" {
		switch g.Peg {
		case scheduler.ThinWontGo:
			return Sealed
		case scheduler.ThinGoes:
			return InBeeSpace
		case scheduler.ThickGoes:
			return Combed
		}
		return NotMeasured
	}
	switch {
	case math.IsNaN(g.MM) || g.MM < 0:
		return NotMeasured
	case g.MM < limits.Least-borderlineMM-sameLengthMM:
		return Sealed
	case g.MM < limits.Least-sameLengthMM:
		return NearlySealed
	case g.MM <= limits.Most+sameLengthMM:
		return InBeeSpace
	case g.MM <= limits.Most+borderlineMM+sameLengthMM:
		return NearlyComb
	}
	return Combed
}

// GapFinding is one gap judged: what bees will do, the likely cause, the cure
// and what to bring for it.
type GapFinding struct {
	Gap     scheduler.Gap
	Verdict Verdict
	Cause   text.Text // zero when nothing is wrong
	Cure    text.Text // zero when nothing is wrong
	Part    PartID    // empty when the cure needs none
}

// FindGap judges a gap of a box with what else is known of it: what was found
// wrong with it, the sides on which its hive keeps the bee space, and the
// kind of box. Borderline gaps get a cause and a cure, but no part.
func FindGap(g scheduler.Gap, limits scheduler.GapLimits, found []scheduler.Condition, hive scheduler.BeeSpace, kind scheduler.BoxKind) GapFinding {
	f := GapFinding{Gap: g, Verdict: JudgeGap(g, limits)}
	if !f.Verdict.Wrong() && !f.Verdict.Borderline() {
		return f
	}
	narrow := f.Verdict == Sealed || f.Verdict == NearlySealed
	cause, cure, part := likely(g.At, narrow, found)
	if byDesign(g, kind) {
		// The box is as drawn and leaves that gap: planing it would be wrong.
		cause, cure, part = "design", "design", ""
	} else if cause == "space-mixed" && hive != "" {
		cause = "space-mixed-" + string(hive)
	}
	f.Cause, f.Cure = text.New("cause."+cause), text.New("cure."+cure)
	if f.Verdict.Wrong() {
		f.Part = part
	}
	return f
}

// likely returns the likely cause of a gap that is wrong, its cure and its
// part. Common practice, no source: what was found on the box comes before
// what usually is the matter at that place.
func likely(at scheduler.GapPlace, narrow bool, found []scheduler.Condition) (cause, cure string, part PartID) {
	has := func(c scheduler.Condition) bool { return slices.Contains(found, c) }
	switch at {
	case scheduler.BetweenFrames, scheduler.FrameToWall:
		switch {
		case !narrow && has(scheduler.FrameMissing):
			return "frame-missing", "add-frame", PartFrame
		case !narrow:
			return "frames-few", "space-evenly", PartFollower
		case has(scheduler.Warped):
			return "warped", "square-up", PartBox
		case at == scheduler.FrameToWall:
			return "frames-off-centre", "centre-frames", ""
		}
		return "bars-glued-thick", "scrape-bars", ""
	case scheduler.AboveFrames, scheduler.BetweenBoxes:
		switch {
		case has(scheduler.RestWorn):
			return "rest-worn", "new-rest", PartRest
		case has(scheduler.MixedMakers):
			return "makers-mixed", "one-maker", PartShim
		case has(scheduler.Warped):
			return "warped", "square-up", PartBox
		case narrow && at == scheduler.AboveFrames:
			return "space-mixed", "turn-cover", PartRim
		case narrow:
			return "space-mixed", "one-space", PartRim
		}
		return "makers-mixed", "one-maker", PartShim
	case scheduler.EndBarToBox:
		switch {
		case has(scheduler.Warped):
			return "warped", "square-up", PartBox
		case narrow && has(scheduler.MixedMakers):
			return "makers-mixed", "one-maker-frames", PartFrame
		case narrow:
			return "wood-swollen", "dry-and-plane", ""
		}
		return "makers-mixed", "one-maker-frames", PartFrame
	case scheduler.BelowFrames:
		if has(scheduler.RestWorn) {
			return "rest-worn", "new-rest", PartRest
		}
		return "floor-shallow", "deeper-floor", PartFloorRim
	case scheduler.Entrance:
		if narrow {
			return "entrance-glued", "clear-entrance", ""
		}
		return "entrance-open", "mouse-guard", PartMouseGuard
	case scheduler.FrameLug:
		return "rest-worn", "new-rest", PartRest
	}
	return "unknown", "measure-again", ""
}

// byDesign reports whether a gap is the one that the kind of box leaves when
// every part is as drawn, within one and a half millimetres: three standard
// deviations of a measurement.
func byDesign(g scheduler.Gap, kind scheduler.BoxKind) bool {
	if g.MM == 0 {
		return false
	}
	for _, d := range kind.DesignGaps() {
		if d.At == g.At && math.Abs(d.MM-g.MM) <= 3*MeasuringSDMM {
			return true
		}
	}
	return false
}
