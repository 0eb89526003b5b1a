package advice

import (
	"math"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// Lift is one lift for the revised NIOSH lifting equation (Waters,
// Putz-Anderson and Garg, Applications Manual for the Revised NIOSH Lifting
// Equation, DHHS (NIOSH) Publication No. 94-110, revised 2021). Lengths are
// centimetres, angles degrees.
type Lift struct {
	H float64 // hands in front of the ankles, 25 and less count as 25, beyond 63 no lift is recommended
	V float64 // height of the hands above the ground, 0 to 175
	D float64 // vertical travel of the hands, 25 and less count as 25, up to 175
	A float64 // turn of the body, 0 to 135
	F float64 // frequency multiplier, 0 to 1; 1 for at most one lift in five minutes for up to an hour
	C float64 // coupling multiplier: 1 good, 0.95 or 1 fair, 0.9 poor
}

// loadConstantKg is the equation's LC.
const loadConstantKg = 23

// RecommendedKg returns the recommended weight limit in kilograms:
// RWL = LC x HM x VM x DM x AM x FM x CM. It is 0 where the equation
// recommends no lift at all.
func (l Lift) RecommendedKg() float64 {
	return loadConstantKg * hm(l.H) * vm(l.V) * dm(l.D) * am(l.A) * l.F * l.C
}

// Index returns the lifting index, the load over the recommended weight:
// above 1 some, above 3 many people are at risk of low back pain. It is
// +Inf where no lift is recommended.
func (l Lift) Index(kg float64) float64 { return kg / l.RecommendedKg() }

func hm(h float64) float64 {
	if h > 63 {
		return 0
	}
	return 25 / max(h, 25)
}

func vm(v float64) float64 {
	if v < 0 || v > 175 {
		return 0
	}
	return 1 - 0.003*math.Abs(v-75)
}

func dm(d float64) float64 {
	if d > 175 {
		return 0
	}
	return 0.82 + 4.5/max(d, 25)
}

func am(a float64) float64 {
	if a > 135 {
		return 0
	}
	return 1 - 0.0032*a
}

// fairCoupling is the coupling multiplier of cut hand holds, table 7.
func fairCoupling(v float64) float64 {
	if v < 75 {
		return 0.95
	}
	return 1
}

// LiftMethod says how a box is best taken off.
type LiftMethod string

// The methods.
const (
	LiftAlone LiftMethod = "alone"
	TwoPeople LiftMethod = "two-people"
	FramesOut LiftMethod = "frames-out" // frame by frame into an empty box
)

// The places and turns that are assumed of every lift; common practice, no
// source. Stand and floor differ, but less than stacks do.
const (
	standCM     = 30.0 // top of a hive stand
	floorCM     = 5.0  // of a floor board
	handHoldCM  = 6.5  // from a box's top edge down to its hand holds
	turnDegrees = 45.0 // to the side, where the box is set down
	twoAbove    = 1.0  // lifting index from which a second person is asked for
	outAbove    = 2.0  // from which frames go out first: half of it is too much for each of two
)

// BoxLift is the rating of taking one box off its stack.
type BoxLift struct {
	BoxID  int64
	Kg     float64 // assumed, from its kind and the season
	Lift   Lift    // at the end of the movement that is worse
	RWL    float64 // kilograms
	Index  float64 // Kg over RWL, +Inf where no lift is recommended
	Method LiftMethod
	Text   text.Text // what to do, with weight and limit
}

// fill is how full of honey a box is assumed to be in a stage, from 0 empty
// to 1 packed: the two lowest boxes are brood. Common practice, no source;
// it leans to the heavy side, since nobody weighs a box before lifting it.
func fill(stage scheduler.Stage, fromBottom int) float64 {
	if fromBottom < scheduler.BroodBoxes {
		return [scheduler.NumStages]float64{scheduler.BuildUp: 0.4, scheduler.Flow: 0.5, scheduler.LateSummer: 0.6, scheduler.Autumn: 0.8, scheduler.Winter: 0.8}[stage]
	}
	return [scheduler.NumStages]float64{scheduler.BuildUp: 0.3, scheduler.Flow: 1, scheduler.LateSummer: 1, scheduler.Autumn: 0.6, scheduler.Winter: 0.5}[stage]
}

// StackLifts rates taking boxes off a hive, in the order given. A box of an
// unknown kind is rated as the club's deepest would be: a deep.
func StackLifts(c *scheduler.Club, h *scheduler.Hive, stage scheduler.Stage, boxes []int64) []BoxLift {
	var out []BoxLift
	for _, id := range boxes {
		bottom := standCM + floorCM
		for i := range h.Boxes {
			b := &h.Boxes[i]
			kind, ok := c.Kind(b.Kind)
			if !ok {
				kind = scheduler.BuiltinKinds[0]
			}
			if b.ID == id {
				out = append(out, rateBox(b, kind, bottom, fill(stage, i)))
				break
			}
			bottom += kind.DepthMM / 10
		}
	}
	return out
}

// rateBox rates lifting a box whose lower edge stands so many centimetres
// above the ground, and setting it down beside the hive on a stand. Bees are
// set down with care, so both ends of the movement count (the manual's
// "significant control"), and the worse one rates it.
func rateBox(b *scheduler.Box, kind scheduler.BoxKind, bottomCM, filled float64) BoxLift {
	kg := kind.EmptyKg + filled*(kind.FullKg-kind.EmptyKg)
	grip := kind.DepthMM/10 - handHoldCM
	if grip < 0 {
		grip = kind.DepthMM / 20
	}
	width := kind.WidthMM
	if width == 0 {
		width = scheduler.BuiltinKinds[0].WidthMM
	}
	from, to := bottomCM+grip, standCM+grip
	lift := func(v float64) Lift {
		h := 20 + width/20 // the manual's 20 + W/2, or 25 + W/2 below 25 cm
		if v < 25 {
			h = 25 + width/20
		}
		return Lift{H: h, V: v, D: math.Abs(from - to), A: turnDegrees, F: 1, C: fairCoupling(v)}
	}
	worse := lift(from)
	if end := lift(to); end.RecommendedKg() < worse.RecommendedKg() {
		worse = end
	}
	out := BoxLift{BoxID: b.ID, Kg: kg, Lift: worse, RWL: worse.RecommendedKg(), Index: worse.Index(kg)}
	switch {
	case out.Index > outAbove:
		out.Method = FramesOut
	case out.Index > twoAbove:
		out.Method = TwoPeople
	default:
		out.Method = LiftAlone
	}
	out.Text = out.says(b.Name)
	return out
}

// says how to lift a box that is called something.
func (l *BoxLift) says(called any) text.Text {
	return text.New("lift."+string(l.Method), called, text.Kilograms(l.Kg), text.Kilograms(l.RWL))
}

// LiftNote is the honest note that belongs under every rating.
var LiftNote = text.New("lift.note")
