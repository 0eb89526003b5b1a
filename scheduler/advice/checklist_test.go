package advice

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/text"

	"pgregory.net/rapid"

	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares text with a file in testdata.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (write it with -update)", err)
	}
	if got != string(want) {
		t.Errorf("%s has changed (look, then write it anew with -update); got:\n%s", path, got)
	}
}

// handClub is a club with one apiary of three hives: one with a history, one
// new, one left alone.
func handClub() *scheduler.Club {
	d := func(y, m, day int) scheduler.Date { return scheduler.NewDate(y, time.Month(m), day) }
	return &scheduler.Club{
		ID: 1, Rules: scheduler.DefaultRules(),
		Members: []scheduler.Member{{ID: 1, Name: "Ada"}, {ID: 2, Name: "Bo"}},
		Apiaries: []scheduler.Apiary{{
			ID: 10, Name: "Orchard", Latitude: 44.1, Timezone: "America/Toronto", Keepers: []int64{1},
			Hives: []scheduler.Hive{
				{ID: 20, Name: "Larch", BeeSpace: scheduler.TopSpace, Boxes: []scheduler.Box{
					{ID: 31, Name: "R14", Kind: "deep", SetUpOn: d(2025, 5, 1), Openings: []scheduler.Opening{
						{
							ID: "a", On: d(2026, 5, 3), Joint: scheduler.Hard, Frames: scheduler.Firm, Scraped: scheduler.ScrapedPart, Note: "came with a crack",
							Gaps: []scheduler.Gap{{At: scheduler.BelowFrames, MM: 25}, {At: scheduler.EndBarToBox, MM: 4}}, Condition: []scheduler.Condition{scheduler.Warped, scheduler.RestWorn},
						},
					}},
					{ID: 32, Name: "R15", Kind: "medium", SetUpOn: d(2025, 5, 1), Openings: []scheduler.Opening{
						{ID: "b", On: d(2026, 8, 1), Joint: scheduler.Light, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedAll},
					}},
					{ID: 33, Name: "S2", Kind: "shallow", SetUpOn: d(2026, 5, 1), Openings: []scheduler.Opening{
						{ID: "c", On: d(2026, 8, 1), Joint: scheduler.Stuck, Frames: scheduler.NotTried, LeftShut: true},
					}},
				}},
				{ID: 21, Name: "Rowan", Boxes: []scheduler.Box{{ID: 34, Name: "N1", Kind: "deep", SetUpOn: d(2027, 4, 20)}}},
				{
					ID: 22, Name: "Alder", Boxes: []scheduler.Box{{ID: 35, Name: "A1", Kind: "deep", SetUpOn: d(2025, 5, 1)}},
					LeaveAlone: []scheduler.Period{{From: d(2027, 5, 1), Until: d(2027, 6, 20), Reason: "queen cells"}},
				},
			},
		}},
	}
}

// english speaks English in millimetres.
var english = &text.Speaker{}

// render writes a checklist as a plain text, for the goldens.
func render(items []ChecklistItem, say *text.Speaker) string {
	var b strings.Builder
	for _, it := range items {
		fmt.Fprintf(&b, "[%s] %s\n    %s\n", it.Key, say.Tell(it.Do), say.Tell(it.Why))
		for _, l := range it.Last {
			fmt.Fprintf(&b, "    last: %s\n", say.Tell(l))
		}
		if it.Stop {
			fmt.Fprintln(&b, "    (stop)")
		}
	}
	return b.String()
}

func steps(items []ChecklistItem, hive, box int64) []scheduler.Step {
	var out []scheduler.Step
	for _, it := range items {
		if it.HiveID == hive && it.BoxID == box {
			out = append(out, it.Step)
		}
	}
	return out
}

// springVisit opens the lowest box of Larch, for its odds, and the new box.
func springVisit() *scheduler.Visit {
	return &scheduler.Visit{
		ID: 7, UID: "u", ApiaryID: 10, On: scheduler.NewDate(2027, 5, 15), Status: scheduler.Confirmed, Who: []int64{1},
		Boxes: []scheduler.VisitBox{{BoxID: 31, Reason: scheduler.BecauseOdds, Odds: 0.2}, {BoxID: 34, Reason: scheduler.BecauseRequired}},
	}
}

func TestChecklistWords(t *testing.T) {
	for stage := scheduler.BuildUp; stage <= scheduler.Winter; stage++ {
		v := springVisit()
		if stage == scheduler.Winter || stage == scheduler.Autumn {
			v.Boxes, v.For = nil, scheduler.VisitRequired
		}
		golden(t, "checklist-"+stage.String()+".txt", render(Checklist(handClub(), v, stage), english))
	}
	golden(t, "checklist-inches.txt", render(Checklist(handClub(), springVisit(), scheduler.Flow), text.In("en", text.Inches)))
}

// TestNumberedHives: a hive called "35" is said with the word, here as on its page.
func TestNumberedHives(t *testing.T) {
	c := handClub()
	for i := range c.Apiaries[0].Hives {
		c.Apiaries[0].Hives[i].Name = strconv.Itoa(35 + i)
	}
	named := 0
	for _, it := range Checklist(c, springVisit(), scheduler.BuildUp) {
		said := english.Tell(it.Do)
		if strings.Contains(said, "35") && !strings.Contains(said, "Hive 35") || strings.Contains(said, "Hive Hive") {
			t.Errorf("it says %q", said)
		}
		if strings.Contains(said, "Hive 35") {
			named++
		}
	}
	if named < 2 {
		t.Errorf("the hive is named %d times", named)
	}
}

func TestChecklistOrder(t *testing.T) {
	items := Checklist(handClub(), springVisit(), scheduler.BuildUp)
	var heads []string
	for _, it := range items {
		if it.Step == scheduler.StepJoint || it.BoxID == 0 {
			heads = append(heads, it.Key)
		}
	}
	want := []string{
		"apiary/weather", "apiary/outside",
		"hive/20/stack", "hive/20/lid", "hive/20/box/33/joint", "hive/20/box/32/joint", "hive/20/box/31/joint",
		"hive/20/brood", "hive/20/close", "hive/20/entrance",
		"hive/21/stack", "hive/21/lid", "hive/21/box/34/joint", "hive/21/brood", "hive/21/close", "hive/21/entrance",
		"hive/22/leave-alone", "hive/22/entrance",
	}
	if !slices.Equal(heads, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(heads, "\n"), strings.Join(want, "\n"))
	}
	// The lowest box was hard last time, and its frames come out where it stands.
	if got, want := steps(items, 20, 31), []scheduler.Step{scheduler.StepJoint, scheduler.StepEndFrame, scheduler.StepGaps, scheduler.StepRests, scheduler.StepScrape, scheduler.StepCondition}; !slices.Equal(got, want) {
		t.Errorf("lowest box: %v, want %v", got, want)
	}
	// The box above it was light: nothing to measure, but too much for one to lift.
	if got, want := steps(items, 20, 32), []scheduler.Step{scheduler.StepJoint, scheduler.StepLift, scheduler.StepEndFrame, scheduler.StepRests, scheduler.StepScrape, scheduler.StepCondition}; !slices.Equal(got, want) {
		t.Errorf("box above: %v, want %v", got, want)
	}
}

func TestChecklistSays(t *testing.T) {
	find := func(items []ChecklistItem, key string) ChecklistItem {
		for _, it := range items {
			if it.Key == key {
				return it
			}
		}
		return ChecklistItem{}
	}
	for _, tc := range []struct {
		name   string
		change func(*scheduler.Club, *scheduler.Visit)
		key    string
		do     string // part of it; "" when the item must not be there
		last   string // part of what was found last
	}{
		{"hard last time", nil, "hive/20/box/31/joint", "R14", "3 May 2026: joint hard (more than once round, or two people)"},
		{"a note is given back", nil, "hive/20/box/31/joint", "R14", "came with a crack"},
		{"left shut is not forced", nil, "hive/20/box/33/joint", "leave it shut", "left shut"},
		{"gaps after a hard opening", nil, "hive/20/box/31/gaps", "end bar to box", "end bar to box 4 mm (sealed: too narrow, bees glue it)"},
		{"a warped box explains its gap", nil, "hive/20/box/31/gaps", "below the lowest frames", "the box is warped"},
		{"no gaps after a light one", nil, "hive/20/box/32/gaps", "", ""},
		{"gaps at set-up", nil, "hive/21/box/34/gaps", "Bee space is 7.9 mm to 9.5 mm", ""},
		{"gaps after a repair", func(c *scheduler.Club, _ *scheduler.Visit) {
			c.Apiaries[0].Hives[0].Boxes[1].Repaired = []scheduler.Date{scheduler.NewDate(2027, 2, 1)}
		}, "hive/20/box/32/gaps", "Measure", ""},
		{"a repair answers what was found", func(c *scheduler.Club, _ *scheduler.Visit) {
			c.Apiaries[0].Hives[0].Boxes[0].Repaired = []scheduler.Date{scheduler.NewDate(2027, 2, 1)}
		}, "hive/20/box/31/condition", "warped", "repaired since"},
		{"the rest was worn", nil, "hive/20/box/31/rests", "Scrape the frame rests", "renew the frame rest"},
		{"what is recorded on the day itself is not last time", func(c *scheduler.Club, v *scheduler.Visit) {
			b := &c.Apiaries[0].Hives[0].Boxes[1]
			b.Openings = append(b.Openings, scheduler.Opening{ID: "z", On: v.On, Joint: scheduler.Stuck})
		}, "hive/20/box/32/joint", "R15", "joint light"},
		{"a correction is what was found", func(c *scheduler.Club, _ *scheduler.Visit) {
			b := &c.Apiaries[0].Hives[0].Boxes[1]
			b.Openings = append(b.Openings, scheduler.Opening{ID: "z", Supersedes: "b", On: scheduler.NewDate(2026, 8, 1), Joint: scheduler.Firm})
		}, "hive/20/box/32/joint", "R15", "joint firm"},
		{"left alone with its reason and end", nil, "hive/22/leave-alone", "until 20 June 2027: queen cells", ""},
		{"left alone is not opened even when named", func(_ *scheduler.Club, v *scheduler.Visit) {
			v.Boxes = append(v.Boxes, scheduler.VisitBox{BoxID: 35})
		}, "hive/22/box/35/joint", "", ""},
		{"open again after the last day", func(_ *scheduler.Club, v *scheduler.Visit) {
			v.On, v.Boxes = scheduler.NewDate(2027, 6, 21), []scheduler.VisitBox{{BoxID: 35}}
		}, "hive/22/box/35/joint", "A1", "never opened"},
		{"suspicious brood", nil, "hive/20/brood", "move nothing, tell the bee inspector", ""},
		{"no beetle in the far north", func(c *scheduler.Club, _ *scheduler.Visit) { c.Apiaries[0].Latitude = 62 }, "hive/20/pests", "", ""},
		{"unless the club has met it", func(c *scheduler.Club, _ *scheduler.Visit) {
			b := &c.Apiaries[0].Hives[0].Boxes[1]
			b.Openings[0].Condition = []scheduler.Condition{scheduler.HiveBeetle}
		}, "hive/20/pests", "hive beetle", "R15: hive beetle"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c, v := handClub(), springVisit()
			if tc.change != nil {
				tc.change(c, v)
			}
			it := find(Checklist(c, v, scheduler.BuildUp), tc.key)
			var last []string
			for _, l := range it.Last {
				last = append(last, english.Tell(l))
			}
			switch do := english.Tell(it.Do); {
			case tc.do == "" && it.Key != "":
				t.Errorf("%s is on the list: %s", tc.key, do)
			case tc.do != "" && !strings.Contains(do, tc.do) && tc.name != "a repair answers what was found":
				t.Errorf("%s says %q, without %q", tc.key, do, tc.do)
			case !strings.Contains(strings.Join(last, "\n"), tc.last):
				t.Errorf("%s was %q, without %q", tc.key, last, tc.last)
			}
		})
	}
}

func TestChecklistOfAnApiaryAtAStandstill(t *testing.T) {
	c, v := handClub(), springVisit()
	c.Apiaries[0].Standstill = []scheduler.Period{{From: v.On - 3, Reason: "foul brood order"}}
	items := Checklist(c, v, scheduler.BuildUp)
	if len(items) != 1 || !items[0].Stop || !strings.Contains(english.Tell(items[0].Do), "foul brood order") {
		t.Errorf("got %+v, want nothing but the order", items)
	}
	for _, other := range []scheduler.Period{{From: v.On - 9, Until: v.On - 1}, {From: v.On + 1}} {
		c.Apiaries[0].Standstill = []scheduler.Period{other}
		if items := Checklist(c, v, scheduler.BuildUp); len(items) < 10 {
			t.Errorf("%+v is another day's, and the list is %+v", other, items)
		}
	}
}

func TestRetiredHiveIsOffTheList(t *testing.T) {
	for _, later := range []scheduler.Date{0, 1} {
		c, v := handClub(), springVisit()
		c.Apiaries[0].Hives[0].RetiredOn = v.On + later
		on := slices.ContainsFunc(Checklist(c, v, scheduler.Flow), func(it ChecklistItem) bool { return it.HiveID == 20 })
		if on != (later > 0) {
			t.Errorf("a hive that retires %d days after the visit is on the list: %t", later, on)
		}
	}
}

// TestBeetleIsLookedFor: within 50 degrees of the equator, common practice, no
// source.
func TestBeetleIsLookedFor(t *testing.T) {
	for _, tc := range []struct {
		latitude float64
		met      bool // the club has recorded it
		want     string
	}{{44, false, "checklist.do.pests"}, {-44, false, "checklist.do.pests"}, {62, false, "checklist.do.pests-moth"}, {-62, false, "checklist.do.pests-moth"}, {62, true, "checklist.do.pests"}} {
		c := handClub()
		c.Apiaries[0].Latitude = tc.latitude
		if tc.met {
			c.Apiaries[0].Hives[0].Boxes[1].Openings[0].Condition = []scheduler.Condition{scheduler.HiveBeetle}
		}
		for _, it := range Checklist(c, springVisit(), scheduler.LateSummer) {
			if it.Step == scheduler.StepPests && it.Do.Key != tc.want {
				t.Errorf("at %v, met %t: %s, want %s", tc.latitude, tc.met, it.Do.Key, tc.want)
			}
		}
	}
}

// TestRepairAnswersWhatWasFound: a repair counts from the day of the opening
// on which its cause was found up to the visit.
func TestRepairAnswersWhatWasFound(t *testing.T) {
	found := scheduler.NewDate(2026, 5, 3)
	for _, tc := range []struct {
		name     string
		repaired scheduler.Date
		answered bool
	}{
		{"never", 0, false},
		{"the day before it was found", found - 1, false},
		{"the same day", found, true},
		{"on the visit's day", springVisit().On, true},
		{"after the visit", springVisit().On + 1, false},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c, v := handClub(), springVisit()
			box := &c.Apiaries[0].Hives[0].Boxes[0]
			box.Openings[0].Condition = []scheduler.Condition{scheduler.LidDamaged}
			if tc.repaired != 0 {
				box.Repaired = []scheduler.Date{tc.repaired}
			}
			asked := slices.ContainsFunc(PartsToBring(c, v, scheduler.BuildUp), func(n PartNeed) bool { return n.Part == PartLid })
			if asked == tc.answered {
				t.Errorf("a lid is asked for: %t", asked)
			}
			for _, it := range Checklist(c, v, scheduler.BuildUp) {
				if it.HiveID == 20 && it.Step == scheduler.StepLid && (len(it.Last) == 0) != tc.answered {
					t.Errorf("the lid was %v", it.Last)
				}
			}
		})
	}
}

// TestGapsWorthMeasuring: after a hard opening, or where one was wrong.
func TestGapsWorthMeasuring(t *testing.T) {
	for _, tc := range []struct {
		name  string
		joint scheduler.Difficulty
		mm    float64
		want  bool
	}{
		{"firm, and the gap was right", scheduler.Firm, 8.5, false},
		{"firm, and the gap was wrong", scheduler.Firm, 3, true},
		{"hard", scheduler.Hard, 8.5, true},
	} {
		c, v := handClub(), springVisit()
		c.Apiaries[0].Hives[0].Boxes[1].Openings = []scheduler.Opening{{
			On: v.On - 200, Joint: tc.joint, Frames: scheduler.NotTried, Gaps: []scheduler.Gap{{At: scheduler.FrameToWall, MM: tc.mm}},
		}}
		if got := slices.Contains(steps(Checklist(c, v, scheduler.BuildUp), 20, 32), scheduler.StepGaps); got != tc.want {
			t.Errorf("%s: measured %t, want %t", tc.name, got, tc.want)
		}
	}
}

func TestTrendIsSaidTheRightWayRound(t *testing.T) {
	for mm, want := range map[float64]string{-1.5: "trend.narrowing", 1.5: "trend.widening"} {
		if got := trendText(GapTrend{At: scheduler.AboveFrames, MMPerYear: mm}); got.Key != want || got.Args[1] != text.Length(1.5) {
			t.Errorf("%v mm a year is said as %+v, want %s", mm, got, want)
		}
	}
}

// TestSuspectedHiveIsOpenedLast: hands and tools carry disease on (common
// practice, no source).
func TestSuspectedHiveIsOpenedLast(t *testing.T) {
	c, v := handClub(), springVisit()
	c.Apiaries[0].Hives[0].Boxes[1].Openings[0].Condition = []scheduler.Condition{scheduler.BroodSuspect}
	items := Checklist(c, v, scheduler.Flow)
	if last := items[len(items)-1]; last.HiveID != 20 {
		t.Errorf("the list ends with hive %d, want 20, whose brood looked wrong", last.HiveID)
	}
}

// randomHands draws a club, a visit and a stage.
func randomHands(t *rapid.T) (*scheduler.Club, *scheduler.Visit, scheduler.Stage) {
	c, v := handClub(), springVisit()
	stage := scheduler.Stage(rapid.IntRange(0, scheduler.NumStages-1).Draw(t, "stage"))
	v.Boxes, v.Who = nil, []int64{1, 2}[:rapid.IntRange(0, 2).Draw(t, "who")]
	a := &c.Apiaries[0]
	a.Latitude = rapid.Float64Range(-60, 60).Draw(t, "latitude")
	id := int64(100)
	a.Hives = nil
	for i := range rapid.IntRange(0, 3).Draw(t, "hives") {
		h := scheduler.Hive{ID: int64(i + 1), Name: fmt.Sprint("hive ", i), BeeSpace: rapid.SampledFrom([]scheduler.BeeSpace{"", scheduler.TopSpace, scheduler.BottomSpace}).Draw(t, "space")}
		if rapid.IntRange(0, 4).Draw(t, "alone") == 0 {
			h.LeaveAlone = []scheduler.Period{{From: v.On - 3, Until: rapid.SampledFrom([]scheduler.Date{0, v.On + 3}).Draw(t, "until"), Reason: rapid.SampledFrom([]string{"", "robbing"}).Draw(t, "reason")}}
		}
		for range rapid.IntRange(1, 5).Draw(t, "boxes") {
			id++
			b := scheduler.Box{ID: id, Name: fmt.Sprint("box ", id), Kind: rapid.SampledFrom([]string{"deep", "medium", "shallow", "odd"}).Draw(t, "kind"), SetUpOn: v.On - 900}
			for range rapid.IntRange(0, 4).Draw(t, "openings") {
				b.Openings = append(b.Openings, scheduler.Opening{
					On:    v.On - scheduler.Date(rapid.IntRange(0, 800).Draw(t, "ago")),
					Joint: scheduler.Difficulty(rapid.IntRange(0, 4).Draw(t, "joint")), Frames: scheduler.Difficulty(rapid.IntRange(-1, 4).Draw(t, "frames")),
					LeftShut: rapid.Bool().Draw(t, "shut"), Scraped: rapid.SampledFrom([]scheduler.Scraped{"", scheduler.ScrapedAll, scheduler.ScrapedPart}).Draw(t, "scraped"),
					Condition: rapid.SliceOfN(rapid.SampledFrom(scheduler.Conditions), 0, 3).Draw(t, "condition"),
					Gaps: rapid.SliceOfN(rapid.Custom(func(t *rapid.T) scheduler.Gap {
						g := scheduler.Gap{At: rapid.SampledFrom(scheduler.GapPlaces).Draw(t, "at")}
						if rapid.Bool().Draw(t, "pegs") {
							g.Peg = rapid.SampledFrom([]scheduler.Peg{scheduler.ThinWontGo, scheduler.ThinGoes, scheduler.ThickGoes}).Draw(t, "peg")
						} else {
							g.MM = rapid.Float64Range(0, 40).Draw(t, "mm")
						}
						return g
					}), 0, 3).Draw(t, "gaps"),
				})
			}
			if rapid.IntRange(0, 4).Draw(t, "repaired") == 0 {
				b.Repaired = []scheduler.Date{v.On - scheduler.Date(rapid.IntRange(-10, 700).Draw(t, "when"))}
			}
			if rapid.Bool().Draw(t, "open") {
				v.Boxes = append(v.Boxes, scheduler.VisitBox{BoxID: id, Reason: rapid.SampledFrom([]scheduler.Reason{"", scheduler.BecauseOdds, scheduler.BecauseLongest, scheduler.BecauseRequired, scheduler.BecauseAbove}).Draw(t, "reason")})
			}
			h.Boxes = append(h.Boxes, b)
		}
		a.Hives = append(a.Hives, h)
	}
	return c, v, stage
}

// TestChecklistProperties: whatever the records, keys are unique, boxes come
// from the top down with all above the named ones, every sentence has its
// format and its arguments, and a second reading says the same.
func TestChecklistProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, v, stage := randomHands(t)
		items := Checklist(c, v, stage)
		if again := Checklist(c, v, stage); render(again, english) != render(items, english) {
			t.Fatal("a second reading differs")
		}
		keys := map[string]bool{}
		for _, it := range items {
			if keys[it.Key] {
				t.Fatalf("two items have the key %s", it.Key)
			}
			keys[it.Key] = true
			if !slices.Contains(scheduler.Steps, it.Step) {
				t.Fatalf("step %s is not among the steps that can be ticked", it.Step)
			}
			sayable(t, append([]text.Text{it.Do, it.Why, text.New("checklist.step." + string(it.Step))}, it.Last...)...)
		}
		for _, h := range c.Apiaries[0].Hives {
			var want, got []int64
			for i := len(h.Boxes) - 1; i >= 0 && h.LeaveAlone == nil; i-- {
				if slices.ContainsFunc(h.Boxes[:i+1], func(b scheduler.Box) bool {
					return slices.ContainsFunc(v.Boxes, func(vb scheduler.VisitBox) bool { return vb.BoxID == b.ID })
				}) {
					want = append(want, h.Boxes[i].ID)
				}
			}
			for _, it := range items {
				if it.HiveID == h.ID && it.Step == scheduler.StepJoint {
					got = append(got, it.BoxID)
				}
			}
			if !slices.Equal(got, want) {
				t.Fatalf("hive %d: boxes %v, want %v", h.ID, got, want)
			}
		}
		for _, n := range PartsToBring(c, v, stage) {
			if n.Count < 1 || len(n.For) < n.Count {
				t.Fatalf("%d of %s for %d boxes", n.Count, n.Part, len(n.For))
			}
			sayable(t, text.Text{Key: n.Part.WordKey()})
			for _, f := range n.For {
				sayable(t, f.Because)
			}
		}
		repairs, _ := RepairList(c, v.On-400, v.On)
		for _, r := range repairs {
			for _, f := range r.Found {
				sayable(t, f.What, f.Cure)
			}
		}
		advice := Cautions(c, v, stage, 0)
		if len(advice.Top) > 2 || len(advice.All) < 10 {
			t.Fatalf("%d cautions on top, %d in all", len(advice.Top), len(advice.All))
		}
		for i, k := range advice.All {
			sayable(t, k.Say)
			if i < len(advice.Top) && advice.Top[i].Key != k.Key {
				t.Fatalf("the list begins with %s, the top with %s", k.Key, advice.Top[i].Key)
			}
		}
	})
}

// sayable fails for a text without a format, or with other arguments than it
// asks for.
func sayable(t *rapid.T, texts ...text.Text) {
	for _, x := range texts {
		if s := english.Tell(x); s == "" || s == x.Key || strings.Contains(s, "%!") || strings.Contains(s, "verdict.") {
			t.Fatalf("%+v is said as %q", x, s)
		}
	}
}
