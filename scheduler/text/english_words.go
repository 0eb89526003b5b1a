package text

// wordsEnglish are the words of the closed lists.
var wordsEnglish = map[string]string{
	"list.comma": ", ",

	"difficulty.-1": "not tried",
	"difficulty.0":  "loose",
	"difficulty.1":  "light",
	"difficulty.2":  "firm",
	"difficulty.3":  "hard",
	"difficulty.4":  "stuck",

	// What the hand felt, as the two questions after an opening ask it.
	"joint.0":   "came up by hand",
	"joint.1":   "one corner, one twist of the hive tool",
	"joint.2":   "two to four corners, once round",
	"joint.3":   "more than once round, or two people",
	"joint.4":   "left shut, or broke by glue",
	"frames.-1": "no frame tried",
	"frames.0":  "slid with fingers",
	"frames.1":  "tool at one end",
	"frames.2":  "tool at both ends",
	"frames.3":  "cut free at the sides",
	"frames.4":  "would not come, or broke by glue",

	"scraped.all":  "all",
	"scraped.part": "part",
	"scraped.none": "none",

	"stage.build-up":    "build-up",
	"stage.flow":        "flow",
	"stage.late-summer": "late summer",
	"stage.autumn":      "autumn",
	"stage.winter":      "winter",

	"gap.above-frames":   "above the frames",
	"gap.between-frames": "between frames",
	"gap.end-bar-to-box": "end bar to box",
	"gap.frame-to-wall":  "outer frame to wall",
	"gap.between-boxes":  "between stacked boxes",
	"gap.below-frames":   "below the lowest frames",
	"gap.entrance":       "entrance",
	"gap.frame-lug":      "frame lug in its rest",

	"peg.thin-wont-go": "the thin peg won't go",
	"peg.thin-goes":    "the thin peg goes, the thick one won't",
	"peg.thick-goes":   "the thick peg goes",

	"condition.warped":        "warped",
	"condition.cracked":       "cracked",
	"condition.rot":           "rot",
	"condition.corner-loose":  "corner loose",
	"condition.rest-worn":     "frame rest worn or bent",
	"condition.lug-broken":    "frame lug broken",
	"condition.frame-broken":  "frame broken",
	"condition.frame-missing": "frame missing",
	"condition.comb-damaged":  "comb damaged",
	"condition.wax-moth":      "wax moth",
	"condition.hive-beetle":   "hive beetle",
	"condition.lid-damaged":   "lid or inner cover damaged",
	"condition.floor-damaged": "floor damaged",
	"condition.excluder-bent": "excluder bent",
	"condition.mixed-makers":  "parts of two makers mixed",
	"condition.brood-suspect": "brood looks wrong",
}
