package scheduler

import (
	"math"
	"slices"
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
func JudgeGap(g Gap, limits GapLimits) Verdict {
	v := band(g, limits)
	narrow := v == Sealed || v == NearlySealed
	wide := v == Combed || v == NearlyComb
	switch g.At {
	case FrameLug:
		// A thin peg that won't go says only that the lug is not loose.
		if narrow && g.MM <= lugTightMM {
			return TightByDesign
		}
	case BelowFrames:
		if wide {
			return WideByDesign
		}
	case Entrance:
		if wide {
			return MouseWide
		}
	}
	return v
}

// band compares a gap with the limits, whatever its place.
func band(g Gap, limits GapLimits) Verdict {
	if g.MM == 0 && g.Peg != "" {
		switch g.Peg {
		case ThinWontGo:
			return Sealed
		case ThinGoes:
			return InBeeSpace
		case ThickGoes:
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
	Gap     Gap
	Verdict Verdict
	Cause   Text   // zero when nothing is wrong
	Cure    Text   // zero when nothing is wrong
	Part    PartID // empty when the cure needs none
}

// FindGap judges a gap of a box with what else is known of it: what was found
// wrong with it, the sides on which its hive keeps the bee space, and the
// kind of box. Borderline gaps get a cause and a cure, but no part.
func FindGap(g Gap, limits GapLimits, found []Condition, hive BeeSpace, kind BoxKind) GapFinding {
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
	f.Cause, f.Cure = text("cause."+cause), text("cure."+cure)
	if f.Verdict.Wrong() {
		f.Part = part
	}
	return f
}

// likely returns the likely cause of a gap that is wrong, its cure and its
// part. Common practice, no source: what was found on the box comes before
// what usually is the matter at that place.
func likely(at GapPlace, narrow bool, found []Condition) (cause, cure string, part PartID) {
	has := func(c Condition) bool { return slices.Contains(found, c) }
	switch at {
	case BetweenFrames, FrameToWall:
		switch {
		case !narrow && has(FrameMissing):
			return "frame-missing", "add-frame", PartFrame
		case !narrow:
			return "frames-few", "space-evenly", PartFollower
		case has(Warped):
			return "warped", "square-up", PartBox
		case at == FrameToWall:
			return "frames-off-centre", "centre-frames", ""
		}
		return "bars-glued-thick", "scrape-bars", ""
	case AboveFrames, BetweenBoxes:
		switch {
		case has(RestWorn):
			return "rest-worn", "new-rest", PartRest
		case has(MixedMakers):
			return "makers-mixed", "one-maker", PartShim
		case has(Warped):
			return "warped", "square-up", PartBox
		case narrow && at == AboveFrames:
			return "space-mixed", "turn-cover", PartRim
		case narrow:
			return "space-mixed", "one-space", PartRim
		}
		return "makers-mixed", "one-maker", PartShim
	case EndBarToBox:
		switch {
		case has(Warped):
			return "warped", "square-up", PartBox
		case narrow && has(MixedMakers):
			return "makers-mixed", "one-maker", PartFrame
		case narrow:
			return "wood-swollen", "dry-and-plane", ""
		}
		return "makers-mixed", "one-maker", PartFrame
	case BelowFrames:
		if has(RestWorn) {
			return "rest-worn", "new-rest", PartRest
		}
		return "floor-shallow", "deeper-floor", PartFloorRim
	case Entrance:
		if narrow {
			return "entrance-glued", "clear-entrance", ""
		}
		return "entrance-open", "mouse-guard", PartMouseGuard
	case FrameLug:
		return "rest-worn", "new-rest", PartRest
	}
	return "unknown", "measure-again", ""
}

// byDesign reports whether a gap is the one that the kind of box leaves when
// every part is as drawn, within one and a half millimetres: three standard
// deviations of a measurement.
func byDesign(g Gap, kind BoxKind) bool {
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

// gapEnglish are the verdicts, causes and cures.
var gapEnglish = map[string]string{
	"verdict.sealed":          "sealed: too narrow, bees glue it",
	"verdict.nearly-sealed":   "borderline: a little narrow",
	"verdict.bee-space":       "bee space: bees leave it open",
	"verdict.nearly-comb":     "borderline: a little wide",
	"verdict.comb":            "comb: too wide, bees build in it",
	"verdict.tight-by-design": "tight, as it should be",
	"verdict.wide-by-design":  "wide, as it may be",
	"verdict.mouse-wide":      "wide enough for a mouse",
	"verdict.not-measured":    "not measured",

	"cause.frame-missing":      "a frame is missing",
	"cause.frames-few":         "fewer frames than the box takes, or set unevenly",
	"cause.frames-off-centre":  "the frames stand to one side",
	"cause.bars-glued-thick":   "side bars thick with old propolis, or spacers of two kinds",
	"cause.warped":             "the box is warped",
	"cause.rest-worn":          "the frame rest is worn or bent, so that the frames stand at the wrong height",
	"cause.makers-mixed":       "boxes and frames of two makers, cut to different heights or lengths",
	"cause.space-mixed":        "top and bottom bee space mixed, or the cover lies on its wrong face",
	"cause.space-mixed-top":    "a part made for bottom bee space in a hive with top bee space",
	"cause.space-mixed-bottom": "a part made for top bee space in a hive with bottom bee space",
	"cause.wood-swollen":       "wood swollen by damp",
	"cause.floor-shallow":      "the floor is too shallow or has sagged",
	"cause.entrance-glued":     "bees have narrowed the entrance with propolis",
	"cause.entrance-open":      "no reducer or guard is fitted",
	"cause.design":             "this kind of box leaves that gap even when new",
	"cause.unknown":            "not known",

	"cure.add-frame":      "put the missing frame in",
	"cure.space-evenly":   "space the frames evenly, or fill the box with a follower board",
	"cure.centre-frames":  "push the frames together and centre them, the same space to both walls",
	"cure.scrape-bars":    "scrape the side bars to bare wood and push the frames tight together",
	"cure.square-up":      "take the box in for the winter bench: square it up or replace it",
	"cure.new-rest":       "scrape the frame rest, and renew it if it stays low",
	"cure.one-maker":      "keep boxes and frames of one maker together, or pack the height with a shim",
	"cure.turn-cover":     "turn the inner cover over, or add a rim as deep as a bee space",
	"cure.one-space":      "use one side for the bee space in the whole stack, or put a rim between",
	"cure.dry-and-plane":  "let it dry, measure again, then plane the end bars",
	"cure.deeper-floor":   "put a rim under the lowest box, or change the floor",
	"cure.clear-entrance": "clear the entrance",
	"cure.mouse-guard":    "fit a mouse guard or a reducer before the nights turn cold",
	"cure.design":         "leave it and scrape it clean at each opening; other frames would close it",
	"cure.check-corners":  "look for corners and edges that the prying split",
	"cure.check-frames":   "look for lugs and top bars that came away, and swap those frames",
	"cure.measure-again":  "measure it again",
}
