package simulation

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"pryday/scheduler/text"
)

// TestAgainstItself: a planner is as good as itself, whether in memory or read
// back from a file, and its calendars are the same.
func TestAgainstItself(t *testing.T) {
	size := Size{Apiaries: 1, Hives: 3, Boxes: 2, Years: 3, History: 2, Change: 1}
	seeds := []int{1, 2, 3}
	now := RunImperfect([]Policy{Calendar(2), Planner(0.1), Planner(0.3), Thumb(90), Planner(0.2).Told()}, seeds, size, DefaultImperfect())
	data, err := json.Marshal(Saved{Imperfect: now.Save(size)})
	if err != nil {
		t.Fatal(err)
	}
	saved, err := ReadSaved(data)
	if err != nil || saved.Imperfect.Fits(seeds, size) != nil {
		t.Fatal(err, saved.Imperfect.Fits(seeds, size))
	}
	all := now.Against(saved.Imperfect)
	if len(all) != 2 || all[0].Policy != "planner-0.10" || all[1].Policy != "planner-0.30" {
		t.Fatalf("compared %v", all)
	}
	for _, a := range all {
		if math.Abs(a.EqualHours.Value-1) > 1e-9 || math.Abs(a.EqualOpenings.Value-1) > 1e-9 || !(a.HoursForStuck.Value >= 1-1e-9) {
			t.Errorf("%s against itself: %v", a.Policy, a)
		}
	}
	if !now.SameWorld(saved.Imperfect) {
		t.Error("its own calendars are others")
	}
	saved.Imperfect.Policies[0].Clubs[1].Stuck++
	var out strings.Builder
	if err := now.PrintAgainst(&out, &text.Speaker{}, saved.Imperfect, "FILE"); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"FILE", "planner-0.30", "have changed since"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("the table does not say %q:\n%s", want, &out)
		}
	}
}

// TestAgainst compares by hand: the old planner's two limits stand on a line, and
// those that leave autumn alone are compared with their like.
func TestAgainst(t *testing.T) {
	size := Size{Apiaries: 1, Years: 1}
	policies := []Policy{Calendar(1), Planner(0.1), Planner(0.3), Planner(0.1).WithoutAutumn()}
	results := func(counts ...tally) *Results {
		r := &Results{Policies: policies, Seeds: []int{5}}
		for i, c := range counts {
			r.Scores = append(r.Scores, []Score{c.score(policies[i].Name, 10, 1, 1)})
		}
		return r
	}
	was := results(tally{visits: 1, openings: 10, hard: 0, stuck: 0}, tally{visits: 20, openings: 100, hard: 0, stuck: 10}, tally{visits: 10, openings: 50, hard: 0, stuck: 20}, tally{visits: 1, openings: 1, hard: 0, stuck: 1}).Save(size)
	// hours: 20*2.25+100*.2+10*2 = 85 and 10*2.25+50*.2+20*2 = 72.5
	all := results(tally{visits: 1, openings: 10, hard: 0, stuck: 0}, tally{visits: 20, openings: 75, hard: 0, stuck: 10}, tally{visits: 10, openings: 75, hard: 0, stuck: 10}, tally{visits: 1, openings: 1, hard: 0, stuck: 1}).Against(was)
	if len(all) != 3 {
		t.Fatalf("%d compared", len(all))
	}
	for i, want := range []Against{
		// 20*2.25+75*.2+10*2 = 80 hours, where the line is at 14
		{EqualHours: Ratio{Value: 10. / 14}, EqualOpenings: Ratio{Value: 10. / 15}, HoursForStuck: Ratio{Value: 80. / 85}},
		// 10*2.25+75*.2+10*2 = 57.5 hours, fewer than the line has
		{EqualHours: Ratio{Value: math.NaN()}, EqualOpenings: Ratio{Value: 10. / 15}, HoursForStuck: Ratio{Value: 57.5 / 85}},
		{EqualHours: Ratio{Value: math.NaN()}, EqualOpenings: Ratio{Value: math.NaN()}, HoursForStuck: Ratio{Value: math.NaN()}},
	} {
		for name, pair := range map[string][2]Ratio{
			"equal hours":    {all[i].EqualHours, want.EqualHours},
			"equal openings": {all[i].EqualOpenings, want.EqualOpenings},
			"hours":          {all[i].HoursForStuck, want.HoursForStuck},
		} {
			got, want := pair[0].Value, pair[1].Value
			if math.IsNaN(want) != math.IsNaN(got) || math.Abs(got-want) > 1e-9 {
				t.Errorf("%s, %s: %g, want %g", all[i].Policy, name, got, want)
			}
		}
	}
}

func TestReadSavedRefuses(t *testing.T) {
	for _, data := range []string{
		``, `[]`, `{}`, `{"tidy": 3}`,
		`{"tidy": {"seeds": [1, 2], "policies": [{"policy": "fixed-2", "clubs": [{"boxes": 3}]}]}}`,
	} {
		if _, err := ReadSaved([]byte(data)); !errors.Is(err, ErrNotSaved) {
			t.Errorf("%s: %v", data, err)
		}
	}
	w := &SavedWorld{Seeds: []int{1, 2}, Size: DefaultSize()}
	larger, brings := DefaultSize(), DefaultSize()
	larger.Hives++
	brings.Notebook = 200
	if err := w.Fits([]int{1, 3}, DefaultSize()); !errors.Is(err, ErrOtherClubs) {
		t.Error(err)
	}
	for _, other := range []Size{larger, brings} {
		if err := w.Fits([]int{1, 2}, other); !errors.Is(err, ErrOtherClubs) {
			t.Errorf("%+v: %v", other, err)
		}
	}
	if err := w.Fits([]int{1, 2}, DefaultSize()); err != nil {
		t.Error(err)
	}
}
