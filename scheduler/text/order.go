package text

import "golang.org/x/text/collate"

// ByName returns a comparison of names as a reader of the language looks for
// them: whatever their case, and numbers in them by their value, so that M2 comes
// before M10. The order is that of the Unicode Collation Algorithm (UTS 10) with
// CLDR's tailoring. What it returns serves one goroutine.
func (s *Speaker) ByName() func(a, b string) int {
	return collate.New(s.tongue().tag, collate.IgnoreCase, collate.Numeric).CompareString
}
