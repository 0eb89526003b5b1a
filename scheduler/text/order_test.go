package text

import (
	"slices"
	"testing"
)

func TestByName(t *testing.T) {
	for _, c := range []struct {
		language string
		want     []string
	}{
		{"en", []string{"A9", "a10", "M2", "m02b", "M10", "M100", "Zinnia"}},
		{"de", []string{"Ähre 2", "Ähre 11", "Amsel", "Öd 1", "Ost 3", "Zaun"}},
	} {
		got := slices.Clone(c.want)
		slices.Reverse(got)
		slices.SortFunc(got, In(c.language, Millimetres).ByName())
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.language, got, c.want)
		}
	}
}
