package records

import (
	"reflect"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

func TestRulesBase(t *testing.T) {
	r := scheduler.DefaultRules()
	r.OddsLimit = 0.15
	file := EncodeRulesFrom(12, r, english)
	if got, err := ParseRules(file); err != nil || !reflect.DeepEqual(got, r) {
		t.Errorf("read back %+v: %v", got, err)
	}
	for name, tc := range map[string]struct {
		file string
		want int
	}{
		"as it was written":          {string(file), 12},
		"as it is written in German": {string(EncodeRulesFrom(12, r, text.In("de", ""))), 12},
		"no word of it":              {string(EncodeRules(r, english)), 0},
		"empty":                      {"", 0},
		"with a mark and CRLF":       {"\ufeff# Made from version 3. Over\r\nodds_limit = 0.1\r\n", 3},
		"below other comments":       {"# ours\n\r\n\t# and mine\n#Made from version 4\nodds_limit = 0.1\n", 4},
		"below a rule":               {"odds_limit = 0.1\n# Made from version 4.\n", 0},
		"behind a rule":              {"odds_limit = 0.1 # Made from version 4.\n", 0},
		"more than there can be":     {"# Made from version 12345678901.\n", 0},
		"version nought":             {"# Made from version 0.\n", 0},
		"the word of somebody else":  {"# made of version 4\n", 0},
	} {
		if got := RulesBase([]byte(tc.file)); got != tc.want {
			t.Errorf("%s: made from version %d, want %d", name, got, tc.want)
		}
	}
}
