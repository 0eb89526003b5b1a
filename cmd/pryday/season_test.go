package main

import (
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

func TestSeasonByRegion(t *testing.T) {
	season := func(args ...string) (code int, said, complained string) {
		var out, errs strings.Builder
		term := &terminal{in: strings.NewReader(""), out: &out, err: &errs, now: leapDay, say: *text.In("en", "")}
		code = run(t.Context(), append([]string{"season", "--year", "2027"}, args...), term)
		return code, out.String(), errs.String()
	}
	tests := []struct {
		args string
		want string
	}{
		{"--latitude 51.5 --longitude -0.1", "for western Europe, at 51.5 degrees north"},
		{"--latitude 51.5 --longitude -0.1 --region continental", "for continental lands, at 51.5"},
		{"--latitude 51.5", "for continental lands, at 51.5"},
		{"--latitude 41.9 --longitude 12.5 --elevation 20", "flow         from 23 April 2027"},
		{"--latitude -36.9 --longitude 174.8", "for the mild lands of the south, at 36.9 degrees south"},
		{"--latitude 4 --longitude 10 --region western-europe", "seasons follow rain"},
	}
	for _, test := range tests {
		if code, said, complained := season(strings.Fields(test.args)...); code != 0 || !strings.Contains(said, test.want) {
			t.Errorf("%s: %d, %q %q; want %q", test.args, code, said, complained, test.want)
		}
	}
	for _, r := range scheduler.Regions {
		if code, _, complained := season("--latitude", "45", "--region", string(r)); code != 0 {
			t.Errorf("--region %s: %s", r, complained)
		}
	}
	for args, want := range map[string]string{
		"--latitude 45 --region moon":   `"southern-maritime" but got "moon"`,
		"--latitude 45 --longitude 181": `--longitude "181": it must be degrees from -180 to 180, with a point`,
		"--latitude 50,5":               `--latitude "50,5": it must be degrees from -90 to 90, with a point, as 50.5`,
		"--latitude NaN":                `--latitude "NaN": it must be degrees`,
		"--latitude 45 --elevation 12m": `--elevation "12m": it must be metres from -430 to 6000`,
	} {
		if code, _, complained := season(strings.Fields(args)...); code == 0 || !strings.Contains(complained, want) {
			t.Errorf("%s: %d, %q; want %q", args, code, complained, want)
		}
	}
}
