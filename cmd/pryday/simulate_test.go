package main

import (
	"bytes"
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pryday/scheduler/simulation"
)

// TestSimulateRows reads the rows as a program would: their keys are part of
// the command.
func TestSimulateRows(t *testing.T) {
	small := []string{"simulate", "--seeds", "2", "--apiaries", "1", "--hives", "2", "--boxes", "2", "--years", "2"}
	out := mustRun(t, append(small, "--format", "json")...)
	var rows []map[string]any
	if err := json.Unmarshal([]byte(out), &rows); err != nil {
		t.Fatalf("%v in %s", err, out)
	}
	policies := map[string]map[string]any{}
	for _, row := range rows {
		for _, key := range []string{
			"openings_per_box_year", "visits_per_apiary_year", "hard_per_box_year", "stuck_per_box_year", "hours_per_apiary_year",
			"cold_share_of_openings",
		} {
			if v, ok := row[key].(float64); !ok || v < 0 {
				t.Errorf("%v: %s is %v", row["policy"], key, row[key])
			}
		}
		if len(row) != 7 {
			t.Errorf("row %v has %d keys", row, len(row))
		}
		policies[row["policy"].(string)] = row
	}
	for _, name := range []string{
		"fixed-2", "fixed-5", "planner-0.20", "planner-0.20-no-autumn", "true-rates-0.20",
		"imperfect-fixed-1", "imperfect-thumb-120", "imperfect-random-4", "imperfect-planner-0.20", "imperfect-knows-every-seal-0.20",
	} {
		if policies[name] == nil {
			t.Errorf("no row of %s", name)
		}
	}
	two, five := policies["fixed-2"]["openings_per_box_year"].(float64), policies["fixed-5"]["openings_per_box_year"].(float64)
	if !(two <= 2 && two < five && five <= 5) {
		t.Errorf("fixed calendars open each box %g and %g times a year", two, five)
	}
	if again := mustRun(t, append(small, "--format", "json")...); again != out {
		t.Error("a second run says something else")
	}
	brought := mustRun(t, append(small, "--world", "imperfect", "--format", "json", "--notebook", "200")...)
	var begun []map[string]any
	if err := json.Unmarshal([]byte(brought), &begun); err != nil {
		t.Fatalf("%v in %s", err, brought)
	}
	for _, row := range begun {
		name := row["policy"].(string)
		if same := reflect.DeepEqual(row, policies[name]); same && name == "imperfect-planner-0.20" {
			t.Errorf("%s does the same with the notebook of half a year as with that of all years", name)
		}
	}
	if len(begun) == 0 {
		t.Error("no rows of clubs that begin with a notebook")
	}
	text := mustRun(t, small...)
	for _, want := range []string{
		"2 populations", "planner-0.20", "equal hours", "true rates",
		"The imperfect world", "knows-every-seal-0.20", "rule of thumb", "Brier score", "What planner-0.20 said of openings",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the table does not say %q:\n%s", want, text)
		}
	}
	if strings.Contains(text, "wrong dates") {
		t.Errorf("troubles that nobody asked for:\n%s", text)
	}
}

// TestSimulateOneWorld: the tidy world's rows are the same with and without the
// other, and troubles are taken away on request.
func TestSimulateOneWorld(t *testing.T) {
	small := func(args ...string) string {
		return mustRun(t, append([]string{"simulate", "--seeds", "2", "--apiaries", "1", "--hives", "2", "--boxes", "2", "--years", "2"}, args...)...)
	}
	rows := func(args ...string) (out []map[string]any) {
		if err := json.Unmarshal([]byte(small(append(args, "--format", "json")...)), &out); err != nil {
			t.Fatal(err)
		}
		return out
	}
	both, tidy, imperfect := rows(), rows("--world", "tidy"), rows("--world", "imperfect")
	if !reflect.DeepEqual(both, append(slices.Clone(tidy), imperfect...)) || len(tidy) == 0 || len(imperfect) == 0 {
		t.Errorf("%d rows of both worlds, %d of the tidy, %d of the imperfect one", len(both), len(tidy), len(imperfect))
	}
	text := small("--world", "imperfect", "--troubles")
	for _, want := range []string{"(nothing taken away)", "openings not written down", "wrong dates", "any of these"} {
		if !strings.Contains(text, want) {
			t.Errorf("the table does not say %q:\n%s", want, text)
		}
	}
	if strings.Contains(text, "trouble.") || strings.Contains(text, "true-rates") {
		t.Errorf("a trouble without words, or the tidy world:\n%s", text)
	}
	troubled := rows("--world", "imperfect", "--troubles")
	last := troubled[len(troubled)-1]["policy"]
	if len(troubled) != len(imperfect)+len(simulation.Troubles())+1 || last != "imperfect-without-all-planner-0.20" {
		t.Errorf("%d rows, the last of %v", len(troubled), last)
	}
}

func TestSimulateRefusesOddSizes(t *testing.T) {
	for _, tc := range []struct{ flag, value, says string }{
		{"--seeds", "0", "--seeds 0: it must lie between 1 and 1000"},
		{"--boxes", "9", "--boxes 9: it must lie between 1 and 8"},
		{"--years", "41", "--years 41: it must lie between 1 and 40"},
		{"--apiaries", "101", "--apiaries 101: it must lie between 1 and 100"},
		{"--new-colonies", "1.5", "--new-colonies 1.5: it must lie between 0 and 1"},
		{"--first-seed", "-1", "--first-seed -1: it must lie between 0 and"},
	} {
		t.Run(tc.flag, func(t *testing.T) {
			var out, said bytes.Buffer
			code := run(t.Context(), []string{"simulate", tc.flag, tc.value}, &terminal{out: &out, err: &said, now: leapDay})
			if code != 1 || !strings.Contains(said.String(), tc.says) || out.Len() > 0 {
				t.Errorf("exit %d, %q", code, said.String())
			}
		})
	}
}
