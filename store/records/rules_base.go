package records

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"

	"pryday/scheduler"
)

// EncodeRulesFrom is EncodeRules with a comment on top that says which version
// of the club's rules these are, for RulesBase to find when the file comes
// back changed.
func EncodeRulesFrom(version int, r scheduler.Rules) []byte {
	return append(fmt.Appendf(nil, "# Made from version %d. Over a newer one it is not applied; without this line it is.\n", version), EncodeRules(r)...)
}

// madeFrom finds the comment among those that a file begins with.
var madeFrom = regexp.MustCompile(`\A(?:[ \t]*(?:#[^\n]*)?\r?\n)*?[ \t]*# ?Made from version ([1-9][0-9]{0,8})\b`)

// RulesBase returns the version that a rules file was made from, or 0 when it
// does not say.
func RulesBase(file []byte) int {
	m := madeFrom.FindSubmatch(bytes.TrimPrefix(file, []byte("\ufeff")))
	if m == nil {
		return 0
	}
	version, err := strconv.Atoi(string(m[1]))
	if err != nil {
		return 0
	}
	return version
}
