package scheduler

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestDesignGaps checks the built-in kinds against what Phillips, USDA
// Farmers' Bulletin 447 (1911), says of his hive, and what the verdicts make
// of it.
func TestDesignGaps(t *testing.T) {
	c := &Club{Rules: DefaultRules()}
	for _, tc := range []struct {
		kind    string
		at      GapPlace
		inches  float64
		verdict Verdict
	}{
		{"deep", BetweenBoxes, 1.0 / 2, Combed},
		{"deep", EndBarToBox, 3.0 / 8, InBeeSpace},
		{"deep", FrameLug, 1.0 / 16, TightByDesign},
		{"medium", BetweenBoxes, 3.0 / 8, InBeeSpace},
		{"shallow", BetweenBoxes, 5.0 / 16, InBeeSpace},
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
	usual := DefaultRules().GapMM                                    // 5/16 to 3/8 in, common practice, no source
	wide := GapLimits{Least: inch(1.0 / 4), Most: inch(3.0 / 8)}     // 1/4 to 3/8 in, in print
	kelley := GapLimits{Least: inch(3.0 / 16), Most: inch(3.0 / 8)}  // Kelley, How to Keep Bees and Sell Honey
	langstroth := GapLimits{Least: inch(3.0 / 8), Most: inch(0.375)} // Langstroth, US reissue RE1,484 of 1863: 3/8 in
	for _, tc := range []struct {
		name   string
		gap    Gap
		limits GapLimits
		want   Verdict
	}{
		{"least of the band", Gap{At: AboveFrames, MM: 7.9375}, usual, InBeeSpace},
		{"most of the band", Gap{At: AboveFrames, MM: 9.525}, usual, InBeeSpace},
		{"a little narrow", Gap{At: AboveFrames, MM: 7.5}, usual, NearlySealed},
		{"1 mm narrow is still borderline", Gap{At: AboveFrames, MM: 6.9375}, usual, NearlySealed},
		{"more than 1 mm narrow", Gap{At: AboveFrames, MM: 6.9}, usual, Sealed},
		{"1 mm wide is still borderline", Gap{At: AboveFrames, MM: 10.525}, usual, NearlyComb},
		{"more than 1 mm wide", Gap{At: AboveFrames, MM: 10.6}, usual, Combed},
		{"touching", Gap{At: EndBarToBox, MM: 0}, usual, Sealed},
		{"1/4 in by the usual band", Gap{At: AboveFrames, MM: inch(0.25)}, usual, Sealed},
		{"1/4 in by the wide band", Gap{At: AboveFrames, MM: inch(0.25)}, wide, InBeeSpace},
		{"3/16 in by Kelley", Gap{At: AboveFrames, MM: inch(3.0 / 16)}, kelley, InBeeSpace},
		{"5/16 in, Kelley's standard", Gap{At: AboveFrames, MM: inch(5.0 / 16)}, kelley, InBeeSpace},
		{"3/8 in by Langstroth", Gap{At: AboveFrames, MM: inch(3.0 / 8)}, langstroth, InBeeSpace},
		{"1/2 in by all of them", Gap{At: BetweenBoxes, MM: inch(0.5)}, kelley, Combed},
		{"a lug is tight by design", Gap{At: FrameLug, MM: inch(1.0 / 16)}, usual, TightByDesign},
		{"a lug with play is glued", Gap{At: FrameLug, MM: 5}, usual, Sealed},
		{"a lug that the thin peg won't pass", Gap{At: FrameLug, Peg: ThinWontGo}, usual, TightByDesign},
		{"wide below the lowest frames", Gap{At: BelowFrames, MM: 22}, usual, WideByDesign},
		{"tight below the lowest frames", Gap{At: BelowFrames, MM: 3}, usual, Sealed},
		{"an entrance for mice", Gap{At: Entrance, MM: 15}, usual, MouseWide},
		{"the same at a box is comb", Gap{At: BetweenFrames, MM: 15}, usual, Combed},
		{"thin peg won't go", Gap{At: AboveFrames, Peg: ThinWontGo}, usual, Sealed},
		{"thin peg goes", Gap{At: AboveFrames, Peg: ThinGoes}, usual, InBeeSpace},
		{"thick peg goes", Gap{At: AboveFrames, Peg: ThickGoes}, usual, Combed},
		{"thick peg at the entrance", Gap{At: Entrance, Peg: ThickGoes}, usual, MouseWide},
		{"a length beside a peg is the better word", Gap{At: AboveFrames, MM: 8.5, Peg: ThickGoes}, usual, InBeeSpace},
		{"an answer nobody knows", Gap{At: AboveFrames, Peg: "perhaps"}, usual, NotMeasured},
		{"no number", Gap{At: AboveFrames, MM: math.NaN()}, usual, NotMeasured},
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
		limits := GapLimits{Least: least, Most: least + rapid.Float64Range(0, 6).Draw(t, "band")}
		at := rapid.SampledFrom(GapPlaces).Draw(t, "at")
		a := rapid.Float64Range(0, 40).Draw(t, "a")
		b := a + rapid.Float64Range(0, 20).Draw(t, "more")
		va, vb := JudgeGap(Gap{At: at, MM: a}, limits), JudgeGap(Gap{At: at, MM: b}, limits)
		if order[va] > order[vb] {
			t.Fatalf("%s: %v mm is %s, and wider %v mm is %s", at, a, va, b, vb)
		}
	})
}

// TestFindGap: causes and cures are common practice, no source.
func TestFindGap(t *testing.T) {
	limits := DefaultRules().GapMM
	deep := BuiltinKinds[0]
	for _, tc := range []struct {
		name  string
		gap   Gap
		found []Condition
		hive  BeeSpace
		cause string
		cure  string
		part  PartID
	}{
		{"nothing wrong", Gap{At: AboveFrames, MM: 8.5}, nil, "", "", "", ""},
		{"tight lug", Gap{At: FrameLug, MM: 1}, nil, "", "", "", ""},
		{"a frame is missing", Gap{At: BetweenFrames, MM: 30}, []Condition{FrameMissing}, "", "cause.frame-missing", "cure.add-frame", PartFrame},
		{"frames too few", Gap{At: FrameToWall, MM: 16}, nil, "", "cause.frames-few", "cure.space-evenly", PartFollower},
		{"frames to one side", Gap{At: FrameToWall, MM: 2}, nil, "", "cause.frames-off-centre", "cure.centre-frames", ""},
		{"warped", Gap{At: EndBarToBox, MM: 4}, []Condition{Warped}, "", "cause.warped", "cure.square-up", PartBox},
		{"swollen", Gap{At: EndBarToBox, MM: 4}, nil, "", "cause.wood-swollen", "cure.dry-and-plane", ""},
		{"spaces mixed", Gap{At: BetweenBoxes, MM: 1}, nil, "", "cause.space-mixed", "cure.one-space", PartRim},
		{"bottom space part in a top space hive", Gap{At: BetweenBoxes, MM: 1}, nil, TopSpace, "cause.space-mixed-top", "cure.one-space", PartRim},
		{"cover on its wrong face", Gap{At: AboveFrames, MM: 1}, nil, BottomSpace, "cause.space-mixed-bottom", "cure.turn-cover", PartRim},
		{"two makers", Gap{At: BetweenBoxes, MM: 20}, []Condition{MixedMakers}, "", "cause.makers-mixed", "cure.one-maker", PartShim},
		{"worn rest", Gap{At: BetweenBoxes, MM: 2}, []Condition{RestWorn}, "", "cause.rest-worn", "cure.new-rest", PartRest},
		{"as the kind is drawn", Gap{At: BetweenBoxes, MM: 13}, nil, "", "cause.design", "cure.design", ""},
		{"mice", Gap{At: Entrance, MM: 20}, nil, "", "cause.entrance-open", "cure.mouse-guard", PartMouseGuard},
		{"borderline asks for no part", Gap{At: BetweenFrames, MM: 10}, []Condition{FrameMissing}, "", "cause.frame-missing", "cure.add-frame", ""},
		{"a peg has no length to hold against the drawing", Gap{At: BetweenBoxes, Peg: ThickGoes}, nil, "", "cause.makers-mixed", "cure.one-maker", PartShim},
	} {
		f := FindGap(tc.gap, limits, tc.found, tc.hive, deep)
		if f.Cause.Key != tc.cause || f.Cure.Key != tc.cure || f.Part != tc.part {
			t.Errorf("%s: %q, %q, part %q; want %q, %q, %q", tc.name, f.Cause.Key, f.Cure.Key, f.Part, tc.cause, tc.cure, tc.part)
		}
	}
}

// TestTrendStandsOut: a line through measured gaps is news only beyond the
// measuring error, 0.5 mm (common practice, from memory).
func TestTrendStandsOut(t *testing.T) {
	year := func(y float64) Date { return NewDate(2024, 1, 1) + Date(math.Round(y*365.25)) }
	for _, tc := range []struct {
		name   string
		points []GapPoint
		slope  float64
		out    bool
	}{
		{"one point", []GapPoint{{year(0), 8}}, 0, false},
		{"twice on one day", []GapPoint{{year(0), 8}, {year(0), 5}}, 0, false},
		// Two points a year apart differ by chance by 1.96 x 0.5 x sqrt 2 = 1.386 mm.
		{"1.3 mm in a year is no news", []GapPoint{{year(0), 8}, {year(1), 6.7}}, -1.3, false},
		{"1.5 mm in a year is", []GapPoint{{year(0), 8}, {year(1), 6.5}}, -1.5, true},
		{"four steady years", []GapPoint{{year(0), 8.5}, {year(1), 8.2}, {year(2), 8.6}, {year(3), 8.4}}, 0.01, false},
		{"slow but long", []GapPoint{{year(0), 9}, {year(1), 8.4}, {year(2), 8}, {year(3), 7.4}, {year(4), 7}}, -0.5, true},
		{"widening", []GapPoint{{year(2), 11}, {year(0), 8}, {year(1), 9.5}}, 1.5, true},
	} {
		got := Trend(AboveFrames, tc.points)
		if got.StandsOut != tc.out || math.Abs(got.MMPerYear-tc.slope) > 0.01 {
			t.Errorf("%s: %+.3f a year, error %.3f, stands out %v; want %+.3f, %v",
				tc.name, got.MMPerYear, got.ErrorMM, got.StandsOut, tc.slope, tc.out)
		}
	}
}

func TestGapTrendsStartAtTheLastRepair(t *testing.T) {
	open := func(y int, mm float64) Opening {
		return Opening{On: NewDate(y, 5, 1), Gaps: []Gap{{At: AboveFrames, MM: mm}, {At: EndBarToBox, Peg: ThinGoes}}}
	}
	b := &Box{Openings: []Opening{open(2022, 9), open(2023, 7), open(2024, 5), open(2025, 9), open(2026, 9.2)}}
	until := NewDate(2027, 1, 1)
	all := GapTrends(b, until)
	if len(all) != 1 || len(all[0].Points) != 5 {
		t.Fatalf("got %+v, want one trend of five lengths", all)
	}
	b.Repaired = []Date{NewDate(2024, 12, 1)}
	got := GapTrends(b, until)
	if len(got) != 1 || len(got[0].Points) != 2 || got[0].StandsOut {
		t.Errorf("after the repair: got %+v, want two quiet points", got)
	}
}
