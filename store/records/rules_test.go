package records

import (
	"errors"
	"flag"
	"os"
	"reflect"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"pgregory.net/rapid"

	"pryday/scheduler"
)

var update = flag.Bool("update", false, "write the golden files anew")

const exampleRules = `# a club's own
odds_limit = 0.25
min_days = 14

[hours]
travel = 1
stuck = 3.5

[gap_mm]
least = 6.35

[stage.build-up]
pace = 0.4
required = "none"
starts = "04-05"

[stage]
autumn = { open = false, required = "" }
flow.starts = "05-20"

[home]
latitude = 44.0
elevation_m = 300

[reminders]
days_before = [14,
  3]
send_at = 06:30:00
`

func TestParseRules(t *testing.T) {
	got, err := ParseRules([]byte("\ufeff" + strings.ReplaceAll(exampleRules, "\n", "\r\n")))
	if err != nil {
		t.Fatal(err)
	}
	want := scheduler.DefaultRules()
	want.OddsLimit, want.MinDays = 0.25, 14
	want.Hours.Travel, want.Hours.Stuck, want.GapMM.Least = 1, 3.5, 6.35
	want.Stages[scheduler.BuildUp] = scheduler.StageRule{Pace: 0.4, Open: true, Starts: scheduler.MonthDay{Month: 4, Day: 5}}
	want.Stages[scheduler.Autumn] = scheduler.StageRule{Pace: 1.2}
	want.Stages[scheduler.Flow].Starts = scheduler.MonthDay{Month: 5, Day: 20}
	want.Home = &scheduler.Home{Latitude: 44, ElevationM: 300}
	want.Reminders.DaysBefore, want.Reminders.SendAt = []int{14, 3}, 6*60+30
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got\n%+v\nwant\n%+v", got, want)
	}
	empty, err := ParseRules(nil)
	if err != nil || !reflect.DeepEqual(empty, scheduler.DefaultRules()) {
		t.Errorf("an empty file gives %+v, %v", empty, err)
	}
}

func TestBrokenRules(t *testing.T) {
	for _, tt := range []struct {
		name     string
		old, new string
		path     string
		value    string
		allowed  string
	}{
		{"unknown key", `odds_limit = 0.25`, `odds_limits = 0.25`, "odds_limits", "0.25", "odds_limit, min_days, max_days"},
		{"unknown key in a table", `travel = 1`, `traveling = 1`, "hours.traveling", "1", "travel, setup, open, lift, hard, stuck"},
		{"dot in quotes", `travel = 1`, `"travel.there" = 1`, "hours.travel.there", "1", "travel, setup, open, lift, hard, stuck"},
		{"dots in quotes", `odds_limit = 0.25`, `"hours.travel" = 1`, "hours.travel", "1", "odds_limit, min_days"},
		{"unknown table", `[gap_mm]`, `[gaps]`, "gaps", "a table", "gap_mm, stage"},
		{"unknown stage", `[stage.build-up]`, `[stage.spring]`, "stage.spring", "a table", "build-up, flow, late-summer, autumn, winter"},
		{"out of range", `odds_limit = 0.25`, `odds_limit = 25`, "odds_limit", "25", "a number, 0.01 to 0.9"},
		{"not a number", `odds_limit = 0.25`, `odds_limit = nan`, "odds_limit", "NaN", "a number, 0.01 to 0.9"},
		{"endless", `travel = 1`, `travel = inf`, "hours.travel", "+Inf", "a number, 0 to 24 h"},
		{"wrong kind", `odds_limit = 0.25`, `odds_limit = "0.25"`, "odds_limit", `"0.25"`, "a number, 0.01 to 0.9"},
		{"fraction of a day", `min_days = 14`, `min_days = 14.5`, "min_days", "14.5", "a whole number, 0 to 200 days"},
		{"huge", `min_days = 14`, `min_days = 9223372036854775807`, "min_days", "9223372036854775807", "0 to 200 days"},
		{"table for a number", `travel = 1`, `travel = { there = 1 }`, "hours.travel", "a table", "a number, 0 to 24 h"},
		{"number for a table", `autumn = { open = false, required = "" }`, `autumn = 3`, "stage.autumn", "3", "a table [stage.autumn] with pace, open, required, starts"},
		{"list of tables", `[gap_mm]`, `[[gap_mm]]`, "gap_mm", "a table", "least, most"},
		{"what a stage asks for", `required = "none"`, `required = "openings"`, "stage.build-up.required", `"openings"`, `"opening", "visit" or "none"`},
		{"truth in words", `open = false`, `open = "no"`, "stage.autumn.open", `"no"`, "true or false"},
		{"day of the year", `"04-05"`, `"5 April"`, "stage.build-up.starts", `"5 April"`, `such as "04-18"`},
		{"no such day of the year", `"04-05"`, `"02-30"`, "stage.build-up.starts", `"02-30"`, `such as "04-18"`},
		{"time of day", `06:30:00`, `"6.30"`, "reminders.send_at", `"6.30"`, `such as "07:00"`},
		{"days before twice", `[14,`, `[3,`, "reminders.days_before", "[3 3]", "different whole numbers, each 0 to 60 days"},
		{"days before in words", `[14,`, `["two weeks",`, "reminders.days_before", "two weeks", "different whole numbers"},
		{"waits that cross", `min_days = 14`, "min_days = 100\nmax_days = 90", "min_days", "100", "fewer days than max_days, which is 90"},
		{"gap limits that cross", `least = 6.35`, `least = 9.6`, "gap_mm.least", "9.6", "less than gap_mm.most, which is 9.525 mm"},
		{"syntax", `min_days = 14`, `min_days 14`, "", "", "is not TOML"},
		{"key twice", `min_days = 14`, `odds_limit = 0.3`, "odds_limit", "", "is not TOML"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			broken := strings.Replace(exampleRules, tt.old, tt.new, 1)
			if broken == exampleRules {
				t.Fatal("the example does not hold what is to be broken")
			}
			_, err := ParseRules([]byte(broken))
			var ps Problems
			if !errors.As(err, &ps) {
				t.Fatalf("got %v", err)
			}
			saidInGerman(t, ps)
			p, line := ps[0], changedLine(exampleRules, broken)
			if len(ps) != 1 || p.Path != tt.path || p.Line != line || !strings.Contains(p.Value, tt.value) || !strings.Contains(p.String(), tt.allowed) {
				t.Errorf("got %v\nwant %s on line %d with %s; allowed: %s", err, tt.path, line, tt.value, tt.allowed)
			}
		})
	}
}

func TestSeveralBrokenRulesComeTogether(t *testing.T) {
	_, err := ParseRules([]byte("odds_limit = 3\nmin_days = -1\n[hours]\nopen = true\nclean = 1\n"))
	var ps Problems
	if !errors.As(err, &ps) || len(ps) != 4 {
		t.Fatalf("got %v", err)
	}
	for i, line := range []int{1, 2, 4, 5} {
		if ps[i].Line != line {
			t.Errorf("problem %d is on line %d, want %d: %v", i, ps[i].Line, line, ps[i])
		}
	}
}

func TestRulesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := drawRules(t)
		file := EncodeRules(want, english)
		got, err := ParseRules(file)
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Fatalf("read %+v (%v), want %+v, from\n%s", got, err, want, file)
		}
	})
}

func TestRulesFileGolden(t *testing.T) {
	got := EncodeRules(scheduler.DefaultRules(), english)
	const golden = "testdata/default-rules.toml"
	if *update {
		if err := os.WriteFile(golden, got, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != string(want) {
		t.Errorf("the file differs from %s:\n%s", golden, got)
	}
	var plain map[string]any // a decoder that knows nothing of rules
	if err := toml.Unmarshal(got, &plain); err != nil {
		t.Fatal(err)
	}
	if plain["stage"].(map[string]any)["late-summer"].(map[string]any)["pace"] != 1.6 {
		t.Errorf("late summer's pace: %v", plain["stage"])
	}
}
