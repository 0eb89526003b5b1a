package records

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// EncodeRulesFrom is EncodeRules with a comment on top that says which version
// of the club's rules these are, for RulesBase to find when the file comes
// back changed.
func EncodeRulesFrom(version int, r scheduler.Rules, say *text.Speaker) []byte {
	return append(fmt.Appendf(nil, "# %s\n", say.Say("rule-file.made-from", version)), EncodeRules(r, say)...)
}

// madeFrom finds the comment, in any language, among those that a file begins
// with.
var madeFrom = sync.OnceValue(func() *regexp.Regexp {
	var begins []string
	for _, l := range text.Languages() {
		before, _, _ := strings.Cut(text.In(l.Tag, "").Say("rule-file.made-from", 0), "0")
		begins = append(begins, regexp.QuoteMeta(before))
	}
	return regexp.MustCompile(`\A(?:[ \t]*(?:#[^\n]*)?\r?\n)*?[ \t]*# ?(?:` + strings.Join(begins, "|") + `)([1-9][0-9]{0,8})\b`)
})

// RulesBase returns the version that a rules file was made from, or 0 when it
// does not say.
func RulesBase(file []byte) int {
	m := madeFrom().FindSubmatch(bytes.TrimPrefix(file, []byte("\ufeff")))
	if m == nil {
		return 0
	}
	version, err := strconv.Atoi(string(m[1]))
	if err != nil {
		return 0
	}
	return version
}
