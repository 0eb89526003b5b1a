package scheduler

import (
	"strings"
	"unicode"
)

// The bounds of a phone number as people write one.
const (
	MaxPhone    = 40 // characters
	leastDigits = 3
)

// IsPhone reports whether s may be a phone number, or is empty. Whatever a person
// would dial by is taken, with a word beside it: only what holds too few digits, or
// what stands in no number, is not.
func IsPhone(s string) bool {
	digits, count := 0, 0
	for _, r := range s {
		count++
		switch {
		case unicode.IsDigit(r):
			digits++
		case !unicode.IsLetter(r) && !strings.ContainsRune(" +()-–/.,:;#*", r):
			return false
		}
	}
	return s == "" || digits >= leastDigits && count <= MaxPhone
}

// PhoneFor returns the number of a member as a reader may see it beside a visit:
// organisers do, and those who are expected on it together while it is to come or
// waits for word. Empty where there is none to see, or it is the reader's own.
func (c *Club) PhoneFor(reader, member int64, v *Visit) string {
	m, by := c.Member(member), c.Member(reader)
	if m == nil || by == nil || reader == member || !v.Status.Open() && v.Status != Unanswered {
		return ""
	}
	if by.Role == Organiser || has(v.Who, reader) && has(v.Who, member) {
		return m.Phone
	}
	return ""
}
