package advice

import (
	"math"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"

	"pgregory.net/rapid"
)

// TestDesignGaps checks the built-in kinds against what Phillips, USDA
// Farmers' Bulletin 447 (1911), says of his hive, and what the verdicts make
// of it.
func TestDesignGaps(t *testing.T) {
	c := &scheduler.Club{Rules: scheduler.DefaultRules()}
	for _, tc := range []struct {
		kind    string
		at      scheduler.GapPlace
		inches  float64
		verdict Verdict
	}{
		{"deep", scheduler.BetweenBoxes, 1.0 / 2, Combed},
		{"deep", scheduler.EndBarToBox, 3.0 / 8, InBeeSpace},
		{"deep", scheduler.FrameLug, 1.0 / 16, TightByDesign},
		{"medium", scheduler.BetweenBoxes, 3.0 / 8, InBeeSpace},
		{"shallow", scheduler.BetweenBoxes, 5.0 / 16, InBeeSpace},
	} {
		kind, ok := c.Kind(tc.kind)
		if !ok {
			t.Fatalf("no kind %q", tc.kind)
		}
		found := false
		for _, g := range kind.DesignGaps() {
			if g.At != tc.at {
				continue
			}
			found = true
			if math.Abs(g.MM-tc.inches*25.4) > 1e-9 {
				t.Errorf("%s, %s: %v mm, in print %v in", tc.kind, tc.at, g.MM, tc.inches)
			}
			if got := JudgeGap(g, c.Rules.GapMM); got != tc.verdict {
				t.Errorf("%s, %s: verdict %q, want %q", tc.kind, tc.at, got, tc.verdict)
			}
		}
		if !found {
			t.Errorf("%s has no design gap %s", tc.kind, tc.at)
		}
	}
}

// TestJudgeGap: the published bands of bee space differ, and each judges by
// its own limits.
func TestJudgeGap(t *testing.T) {
	usual := scheduler.DefaultRules().GapMM                                        // 5/16 to 3/8 in, common practice, no source
	wide := scheduler.GapLimits{Least: inches(1.0 / 4), Most: inches(3.0 / 8)}     // 1/4 to 3/8 in, in print
	kelley := scheduler.GapLimits{Least: inches(3.0 / 16), Most: inches(3.0 / 8)}  // Kelley, How to Keep Bees and Sell Honey
	langstroth := scheduler.GapLimits{Least: inches(3.0 / 8), Most: inches(0.375)} // Langstroth, US reissue RE1,484 of 1863: 3/8 in
	for _, tc := range []struct {
		name   string
		gap    scheduler.Gap
		limits scheduler.GapLimits
		want   Verdict
	}{
		{"least of the band", scheduler.Gap{At: scheduler.AboveFrames, MM: 7.9375}, usual, InBeeSpace},
		{"most of the band", scheduler.Gap{At: scheduler.AboveFrames, MM: 9.525}, usual, InBeeSpace},
		{"a little narrow", scheduler.Gap{At: scheduler.AboveFrames, MM: 7.5}, usual, NearlySealed},
		{"1 mm narrow is still borderline", scheduler.Gap{At: scheduler.AboveFrames, MM: 6.9375}, usual, NearlySealed},
		{"more than 1 mm narrow", scheduler.Gap{At: scheduler.AboveFrames, MM: 6.9}, usual, Sealed},
		{"1 mm wide is still borderline", scheduler.Gap{At: scheduler.AboveFrames, MM: 10.525}, usual, NearlyComb},
		{"more than 1 mm wide", scheduler.Gap{At: scheduler.AboveFrames, MM: 10.6}, usual, Combed},
		{"touching", scheduler.Gap{At: scheduler.EndBarToBox, MM: 0}, usual, Sealed},
		{"1/4 in by the usual band", scheduler.Gap{At: scheduler.AboveFrames, MM: inches(0.25)}, usual, Sealed},
		{"1/4 in by the wide band", scheduler.Gap{At: scheduler.AboveFrames, MM: inches(0.25)}, wide, InBeeSpace},
		{"3/16 in by Kelley", scheduler.Gap{At: scheduler.AboveFrames, MM: inches(3.0 / 16)}, kelley, InBeeSpace},
		{"5/16 in, Kelley's standard", scheduler.Gap{At: scheduler.AboveFrames, MM: inches(5.0 / 16)}, kelley, InBeeSpace},
		{"3/8 in by Langstroth", scheduler.Gap{At: scheduler.AboveFrames, MM: inches(3.0 / 8)}, langstroth, InBeeSpace},
		{"1/2 in by all of them", scheduler.Gap{At: scheduler.BetweenBoxes, MM: inches(0.5)}, kelley, Combed},
		{"a lug is tight by design", scheduler.Gap{At: scheduler.FrameLug, MM: inches(1.0 / 16)}, usual, TightByDesign},
		{"a lug with play is glued", scheduler.Gap{At: scheduler.FrameLug, MM: 5}, usual, Sealed},
		{"a lug that the thin peg won't pass", scheduler.Gap{At: scheduler.FrameLug, Peg: scheduler.ThinWontGo}, usual, TightByDesign},
		{"wide below the lowest frames", scheduler.Gap{At: scheduler.BelowFrames, MM: 22}, usual, WideByDesign},
		{"tight below the lowest frames", scheduler.Gap{At: scheduler.BelowFrames, MM: 3}, usual, Sealed},
		{"an entrance for mice", scheduler.Gap{At: scheduler.Entrance, MM: 15}, usual, MouseWide},
		{"the same at a box is comb", scheduler.Gap{At: scheduler.BetweenFrames, MM: 15}, usual, Combed},
		{"thin peg won't go", scheduler.Gap{At: scheduler.AboveFrames, Peg: scheduler.ThinWontGo}, usual, Sealed},
		{"thin peg goes", scheduler.Gap{At: scheduler.AboveFrames, Peg: scheduler.ThinGoes}, usual, InBeeSpace},
		{"thick peg goes", scheduler.Gap{At: scheduler.AboveFrames, Peg: scheduler.ThickGoes}, usual, Combed},
		{"thick peg at the entrance", scheduler.Gap{At: scheduler.Entrance, Peg: scheduler.ThickGoes}, usual, MouseWide},
		{"a length beside a peg is the better word", scheduler.Gap{At: scheduler.AboveFrames, MM: 8.5, Peg: scheduler.ThickGoes}, usual, InBeeSpace},
		{"an answer nobody knows", scheduler.Gap{At: scheduler.AboveFrames, Peg: "perhaps"}, usual, NotMeasured},
		{"no number", scheduler.Gap{At: scheduler.AboveFrames, MM: math.NaN()}, usual, NotMeasured},
	} {
		if got := JudgeGap(tc.gap, tc.limits); got != tc.want {
			t.Errorf("%s: %q, want %q", tc.name, got, tc.want)
		}
	}
}

// TestWiderIsNeverNarrower: at any place, verdicts go one way as a gap widens.
func TestWiderIsNeverNarrower(t *testing.T) {
	order := map[Verdict]int{
		TightByDesign: 0, Sealed: 0, NearlySealed: 1, InBeeSpace: 2, NearlyComb: 3, Combed: 4, WideByDesign: 4, MouseWide: 4,
	}
	rapid.Check(t, func(t *rapid.T) {
		least := rapid.Float64Range(3, 12).Draw(t, "least")
		limits := scheduler.GapLimits{Least: least, Most: least + rapid.Float64Range(0, 6).Draw(t, "band")}
		at := rapid.SampledFrom(scheduler.GapPlaces).Draw(t, "at")
		a := rapid.Float64Range(0, 40).Draw(t, "a")
		b := a + rapid.Float64Range(0, 20).Draw(t, "more")
		va, vb := JudgeGap(scheduler.Gap{At: at, MM: a}, limits), JudgeGap(scheduler.Gap{At: at, MM: b}, limits)
		if order[va] > order[vb] {
			t.Fatalf("%s: %v mm is %s, and wider %v mm is %s", at, a, va, b, vb)
		}
	})
}

// TestFindGap: causes and cures are common practice, no source.
func TestFindGap(t *testing.T) {
	limits := scheduler.DefaultRules().GapMM
	deep := scheduler.BuiltinKinds[0]
	for _, tc := range []struct {
		name  string
		gap   scheduler.Gap
		found []scheduler.Condition
		hive  scheduler.BeeSpace
		cause string
		cure  string
		part  PartID
	}{
		{"nothing wrong", scheduler.Gap{At: scheduler.AboveFrames, MM: 8.5}, nil, "", "", "", ""},
		{"tight lug", scheduler.Gap{At: scheduler.FrameLug, MM: 1}, nil, "", "", "", ""},
		{"a frame is missing", scheduler.Gap{At: scheduler.BetweenFrames, MM: 30}, []scheduler.Condition{scheduler.FrameMissing}, "", "cause.frame-missing", "cure.add-frame", PartFrame},
		{"frames too few", scheduler.Gap{At: scheduler.FrameToWall, MM: 16}, nil, "", "cause.frames-few", "cure.space-evenly", PartFollower},
		{"frames to one side", scheduler.Gap{At: scheduler.FrameToWall, MM: 2}, nil, "", "cause.frames-off-centre", "cure.centre-frames", ""},
		{"warped", scheduler.Gap{At: scheduler.EndBarToBox, MM: 4}, []scheduler.Condition{scheduler.Warped}, "", "cause.warped", "cure.square-up", PartBox},
		{"swollen", scheduler.Gap{At: scheduler.EndBarToBox, MM: 4}, nil, "", "cause.wood-swollen", "cure.dry-and-plane", ""},
		{"spaces mixed", scheduler.Gap{At: scheduler.BetweenBoxes, MM: 1}, nil, "", "cause.space-mixed", "cure.one-space", PartRim},
		{"bottom space part in a top space hive", scheduler.Gap{At: scheduler.BetweenBoxes, MM: 1}, nil, scheduler.TopSpace, "cause.space-mixed-top", "cure.one-space", PartRim},
		{"cover on its wrong face", scheduler.Gap{At: scheduler.AboveFrames, MM: 1}, nil, scheduler.BottomSpace, "cause.space-mixed-bottom", "cure.turn-cover", PartRim},
		{"two makers", scheduler.Gap{At: scheduler.BetweenBoxes, MM: 20}, []scheduler.Condition{scheduler.MixedMakers}, "", "cause.makers-mixed", "cure.one-maker", PartShim},
		{"two makers, too narrow", scheduler.Gap{At: scheduler.BetweenBoxes, MM: 2}, []scheduler.Condition{scheduler.MixedMakers}, "", "cause.makers-mixed", "cure.one-maker", PartShim},
		{"two makers' frames", scheduler.Gap{At: scheduler.EndBarToBox, MM: 4}, []scheduler.Condition{scheduler.MixedMakers}, "", "cause.makers-mixed", "cure.one-maker-frames", PartFrame},
		{"worn rest", scheduler.Gap{At: scheduler.BetweenBoxes, MM: 2}, []scheduler.Condition{scheduler.RestWorn}, "", "cause.rest-worn", "cure.new-rest", PartRest},
		{"as the kind is drawn", scheduler.Gap{At: scheduler.BetweenBoxes, MM: 13}, nil, "", "cause.design", "cure.design", ""},
		// Drawn 1/2 in, 12.7 mm; three standard deviations of a measurement are 1.5 mm.
		{"as drawn, measured 1.4 mm off", scheduler.Gap{At: scheduler.BetweenBoxes, MM: 14.1}, nil, "", "cause.design", "cure.design", ""},
		{"1.6 mm off is not as drawn", scheduler.Gap{At: scheduler.BetweenBoxes, MM: 14.3}, nil, "", "cause.makers-mixed", "cure.one-maker", PartShim},
		{"mice", scheduler.Gap{At: scheduler.Entrance, MM: 20}, nil, "", "cause.entrance-open", "cure.mouse-guard", PartMouseGuard},
		{"borderline asks for no part", scheduler.Gap{At: scheduler.BetweenFrames, MM: 10}, []scheduler.Condition{scheduler.FrameMissing}, "", "cause.frame-missing", "cure.add-frame", ""},
		{"a peg has no length to hold against the drawing", scheduler.Gap{At: scheduler.BetweenBoxes, Peg: scheduler.ThickGoes}, nil, "", "cause.makers-mixed", "cure.one-maker", PartShim},
	} {
		f := FindGap(tc.gap, limits, tc.found, tc.hive, deep)
		if f.Cause.Key != tc.cause || f.Cure.Key != tc.cure || f.Part != tc.part {
			t.Errorf("%s: %q, %q, part %q; want %q, %q, %q", tc.name, f.Cause.Key, f.Cure.Key, f.Part, tc.cause, tc.cure, tc.part)
		}
	}
}

// A box drawn with almost no gap is one thing, a peg that won't go another: it
// is no length of 0.
func TestPegIsNotHeldAgainstTheDrawing(t *testing.T) {
	tight := scheduler.BoxKind{Name: "tight", DepthMM: 241, FrameMM: 240}
	limits := scheduler.DefaultRules().GapMM
	for gap, cause := range map[scheduler.Gap]string{
		{At: scheduler.BetweenBoxes, MM: 1}:                     "cause.design",
		{At: scheduler.BetweenBoxes, Peg: scheduler.ThinWontGo}: "cause.space-mixed",
	} {
		if f := FindGap(gap, limits, nil, "", tight); f.Cause.Key != cause {
			t.Errorf("%+v: %q, want %q", gap, f.Cause.Key, cause)
		}
	}
}

// TestTrendStandsOut: a line through measured gaps is news only beyond what
// measuring and the scatter around it make by chance, once there are three days
// of measuring over a year or more.
func TestTrendStandsOut(t *testing.T) {
	year := func(y float64) scheduler.Date {
		return scheduler.NewDate(2024, 1, 1) + scheduler.Date(math.Round(y*365.25))
	}
	for _, tc := range []struct {
		name   string
		points []GapPoint
		slope  float64
		out    bool
	}{
		{"one point", []GapPoint{{year(0), 8}}, 0, false},
		{"twice on one day", []GapPoint{{year(0), 8}, {year(0), 5}}, 0, false},
		{"two points, however far apart", []GapPoint{{year(0), 8}, {year(3), 2}}, -2, false},
		{"three points on two days", []GapPoint{{year(0), 8}, {year(2), 2}, {year(2), 2}}, -3, false},
		{"three points within 11 months", []GapPoint{{year(0), 12}, {year(0.45), 8}, {year(0.9), 4}}, -8.89, false},
		// Three points over a year differ by chance by 1.96 x 0.5 x sqrt 2 = 1.386 mm.
		{"1.3 mm in a year is no news", []GapPoint{{year(0), 8}, {year(0.5), 7.35}, {year(1), 6.7}}, -1.3, false},
		{"1.5 mm in a year is", []GapPoint{{year(0), 8}, {year(0.5), 7.25}, {year(1), 6.5}}, -1.5, true},
		// One measurement far off the line: with one degree of freedom 12.7 standard errors are chance.
		{"three that scatter", []GapPoint{{year(0), 12.8}, {year(0.5), 8.7}, {year(1), 4.6}, {year(1), 9}}, -5.81, false},
		{"three on a line but for 0.5 mm", []GapPoint{{year(0), 12}, {year(1), 9.5}, {year(2), 6}}, -3, false},
		{"four steady years", []GapPoint{{year(0), 8.5}, {year(1), 8.2}, {year(2), 8.6}, {year(3), 8.4}}, 0.01, false},
		{"slow but long", []GapPoint{{year(0), 9}, {year(1), 8.4}, {year(2), 8}, {year(3), 7.4}, {year(4), 7}}, -0.5, true},
		{"widening", []GapPoint{{year(2), 11}, {year(0), 8}, {year(1), 9.5}}, 1.5, true},
	} {
		got := Trend(scheduler.AboveFrames, tc.points)
		if got.StandsOut != tc.out || math.Abs(got.MMPerYear-tc.slope) > 0.01 {
			t.Errorf("%s: %+.3f a year, within %.3f, stands out %v; want %+.3f, %v",
				tc.name, got.MMPerYear, got.WithinMM, got.StandsOut, tc.slope, tc.out)
		}
	}
}

func TestGapTrendsStartAtTheLastRepair(t *testing.T) {
	open := func(y int, mm float64) scheduler.Opening {
		return scheduler.Opening{On: scheduler.NewDate(y, 5, 1), Gaps: []scheduler.Gap{{At: scheduler.AboveFrames, MM: mm}, {At: scheduler.EndBarToBox, Peg: scheduler.ThinGoes}}}
	}
	b := &scheduler.Box{Openings: []scheduler.Opening{open(2022, 9), open(2023, 7), open(2024, 5), open(2025, 9), open(2026, 9.2)}}
	until := scheduler.NewDate(2027, 1, 1)
	all := GapTrends(b, until)
	if len(all) != 1 || len(all[0].Points) != 5 {
		t.Fatalf("got %+v, want one trend of five lengths", all)
	}
	b.Repaired = []scheduler.Date{scheduler.NewDate(2024, 12, 1)}
	got := GapTrends(b, until)
	if len(got) != 1 || len(got[0].Points) != 2 || got[0].StandsOut {
		t.Errorf("after the repair: got %+v, want two quiet points", got)
	}
	b.Repaired = []scheduler.Date{until + 1}
	if got := GapTrends(b, until); len(got) != 1 || len(got[0].Points) != 5 {
		t.Errorf("before a repair to come: got %+v, want all five points", got)
	}
	if got := GapTrends(b, scheduler.NewDate(2024, 5, 1)); len(got) != 1 || len(got[0].Points) != 3 {
		t.Errorf("up to the third measurement: got %+v, want three points", got)
	}
}

// inches turns inches into millimetres, for dimensions that are inches in print.
func inches(n float64) float64 { return n * text.MMPerInch }
