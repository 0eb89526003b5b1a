package simulation

import (
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"slices"
	"testing"
	"time"

	"pryday/scheduler"
)

// TestTruthSharesNothingWithThePlanner reads which names of the scheduler the
// truth uses: dates and records, nothing that works anything out.
func TestTruthSharesNothingWithThePlanner(t *testing.T) {
	allowed := []string{
		"Date", "NewDate", "WeekdaySet", "Difficulty", "Loose", "Hard", "Stuck", "NotTried",
		"Scraped", "ScrapedAll", "ScrapedPart", "ScrapedNone", "Opening", "Apiary", "Hive", "Box",
		"Firm", "BoxPlace", "OnHive",
	}
	for _, file := range []string{
		"assumptions.go", "dice.go", "climate.go", "population.go", "opening.go",
		"imperfect.go", "imperfect_troubles.go", "region.go", "weather.go", "colony.go", "gluing.go", "yard.go", "grader.go", "notebook.go", "keep.go",
	} {
		tree, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(tree, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok {
				if pkg, ok := sel.X.(*ast.Ident); ok && pkg.Name == "scheduler" && !slices.Contains(allowed, sel.Sel.Name) {
					t.Errorf("%s uses scheduler.%s", file, sel.Sel.Name)
				}
			}
			return true
		})
	}
}

// TestTruthIsSane holds the truth to what keepers know (common practice, no
// source): a box opened every three months in the season is firm or easier
// more often than not, one left for two years is hard or stuck more often than
// not.
func TestTruthIsSane(t *testing.T) {
	easy, boxes, stiff, left := 0, 0, 0, 0
	for seed := range 30 {
		p := NewPopulation(seed, Size{Apiaries: 2, Hives: 4, Boxes: 3, Years: 3}, DefaultAssumptions())
		for _, s := range p.sites {
			for i := range s.boxes {
				seals := slices.Clone(s.seals)
				for _, month := range []time.Month{time.April, time.July, time.October} {
					if s.open(seals, i, scheduler.NewDate(epoch, month, 10), nil) <= scheduler.Firm {
						easy++
					}
					boxes++
				}
				seals = slices.Clone(s.seals)
				seals[i] = seal{since: scheduler.NewDate(epoch, time.May, 1)}
				if s.open(seals, i, scheduler.NewDate(epoch+2, time.May, 1), nil) >= scheduler.Hard {
					stiff++
				}
				left++
			}
		}
	}
	if 2*easy <= boxes || 2*stiff <= left {
		t.Errorf("%d of %d openings of a season were firm or easier; %d of %d boxes left two years hard or stuck", easy, boxes, stiff, left)
	}
}

func TestClimate(t *testing.T) {
	a := DefaultAssumptions()
	first, last := scheduler.NewDate(epoch, 1, 1), scheduler.NewDate(epoch+5, 12, 31)
	day := func(year int, month time.Month, d int) scheduler.Date { return scheduler.NewDate(epoch+year, month, d) }
	for seed := range dice(20) {
		low := newClimate(seed, &a, 0, 45, 0, first, last)
		for year := range 5 {
			spring := low.sum(day(year, time.April, 1), day(year, time.June, 1))
			summer := low.sum(day(year, time.July, 1), day(year, time.September, 1))
			winter := low.sum(day(year, time.November, 15), day(year+1, time.March, 1))
			if !(winter < spring && spring < summer) {
				t.Errorf("seed %d, year %d: %.1f in winter, %.1f in spring, %.1f in high summer", seed, year, winter, spring, summer)
			}
			whole := low.sum(day(year, 1, 1), day(year+1, 1, 1))
			parts := low.sum(day(year, 1, 1), day(year, 6, 3)) + low.sum(day(year, 6, 3), day(year+1, 1, 1))
			if math.Abs(whole-parts) > 1e-9 {
				t.Errorf("parts add up to %g, the year is %g", parts, whole)
			}
		}
		high := newClimate(seed, &a, 0, 45, 1000, first, last)
		north := newClimate(seed, &a, 0, 55, 0, first, last)
		all := low.sum(first, last)
		if high.sum(first, last) >= all || north.sum(first, last) >= all {
			t.Errorf("seed %d: a higher or a more northern place glues no less", seed)
		}
	}
}

func TestDryDay(t *testing.T) {
	weekends := scheduler.WeekdaySet(1<<0 | 1<<6)
	for _, tc := range []struct {
		name     string
		dry      float64
		weekdays scheduler.WeekdaySet
		most     int // days of waiting
	}{
		{"always dry, any day", 1, 0, 0},
		{"never dry, any day", 0, 0, 7},
		{"always dry, weekends", 1, weekends, 5},
		{"never dry, weekends", 0, weekends, 12},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c := climate{dice: 3, dry: tc.dry, wait: 7}
			longest := 0
			for d := scheduler.Date(730000); d < 730100; d++ {
				on := c.dryDay(d, tc.weekdays)
				if on < d || !tc.weekdays.Has(on.Weekday()) {
					t.Fatalf("%s for %s", on, d)
				}
				longest = max(longest, int(on-d))
			}
			if longest != tc.most {
				t.Errorf("the longest wait is %d days, want %d", longest, tc.most)
			}
		})
	}
}

// TestStrength adds a seal up day by day over a turn of the year.
func TestStrength(t *testing.T) {
	s := NewPopulation(4, Size{Apiaries: 1, Hives: 1, Boxes: 2, Years: 3}, DefaultAssumptions()).sites[0]
	from, to := scheduler.NewDate(epoch, 2, 20), scheduler.NewDate(epoch+2, 6, 15)
	want, year := 12.5, 0
	for d := from; d < to; d++ {
		if d == scheduler.NewDate(epoch+1, 5, 1) || d == scheduler.NewDate(epoch+2, 5, 1) {
			year++
		}
		want += math.Exp(s.boxes[0].lnRate[year]) * s.climate.sum(d, d+1)
	}
	if got := s.strength(seal{since: from, left: 12.5}, 0, to); math.Abs(got-want) > 1e-9 {
		t.Errorf("got %g, day by day %g", got, want)
	}
}
