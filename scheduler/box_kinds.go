package scheduler

import "pryday/scheduler/text"

// inch turns inches into millimetres, for dimensions that are inches in print.
func inch(n float64) float64 { return n * text.MMPerInch }

// BuiltinKinds are the kinds of box that every club has. Depths, inside
// lengths, frames and rests are those of Phillips, USDA Farmers' Bulletin 447
// (1911); the outside width of a ten-frame box and all weights are common
// practice, no source.
var BuiltinKinds = []BoxKind{
	{
		Name: "deep", DepthMM: inch(9 + 5.0/8), EmptyKg: 9, FullKg: 40, Frames: 10,
		WidthMM: inch(16.25), InsideMM: inch(18 + 3.0/8), FrameMM: inch(9 + 1.0/8),
		FrameLengthMM: inch(17 + 5.0/8), TopBarMM: inch(19), RestMM: inch(3.0 / 8),
	},
	{
		Name: "medium", DepthMM: inch(6 + 5.0/8), EmptyKg: 7, FullKg: 27, Frames: 10,
		WidthMM: inch(16.25), InsideMM: inch(18 + 3.0/8), FrameMM: inch(6.25),
		FrameLengthMM: inch(17 + 5.0/8), TopBarMM: inch(19), RestMM: inch(3.0 / 8),
	},
	{
		Name: "shallow", DepthMM: inch(5 + 11.0/16), EmptyKg: 6, FullKg: 20, Frames: 10,
		WidthMM: inch(16.25), InsideMM: inch(18 + 3.0/8), FrameMM: inch(5 + 3.0/8),
		FrameLengthMM: inch(17 + 5.0/8), TopBarMM: inch(19), RestMM: inch(3.0 / 8),
	},
}

// Kind returns the kind of box of a name: the club's own before the built-in
// one, and whether there is one at all.
func (c *Club) Kind(name string) (BoxKind, bool) {
	for _, kinds := range [][]BoxKind{c.Kinds, BuiltinKinds} {
		for _, k := range kinds {
			if k.Name == name {
				return k, true
			}
		}
	}
	return BoxKind{}, false
}

// DesignGaps returns the gaps that a kind leaves when every part is as drawn:
// between the frames of two stacked boxes of it, at the end bars and at the
// lugs. Only those whose dimensions are known.
func (k BoxKind) DesignGaps() []Gap {
	var out []Gap
	if k.DepthMM > 0 && k.FrameMM > 0 {
		out = append(out, Gap{At: BetweenBoxes, MM: k.DepthMM - k.FrameMM})
	}
	if k.InsideMM > 0 && k.FrameLengthMM > 0 {
		out = append(out, Gap{At: EndBarToBox, MM: (k.InsideMM - k.FrameLengthMM) / 2})
	}
	if k.InsideMM > 0 && k.TopBarMM > 0 && k.RestMM > 0 {
		out = append(out, Gap{At: FrameLug, MM: (k.InsideMM + 2*k.RestMM - k.TopBarMM) / 2})
	}
	return out
}
