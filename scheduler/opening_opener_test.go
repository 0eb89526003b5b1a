package scheduler

import "testing"

// TestOpenedBy: who opened a box is whoever wrote it down, unless another is named.
func TestOpenedBy(t *testing.T) {
	for name, row := range map[string]struct {
		o     Opening
		named *Opener // then
		want  Opener
		apart bool // stands beside who wrote it down
	}{
		"as records of before have it":       {Opening{By: 3}, nil, Opener{Member: 3}, false},
		"nobody known":                       {Opening{}, nil, Opener{}, false},
		"another member":                     {Opening{By: 3}, &Opener{Member: 4}, Opener{Member: 4}, true},
		"whoever wrote it down":              {Opening{By: 3, Opener: &Opener{Name: "Old Tam"}}, &Opener{Member: 3}, Opener{Member: 3}, false},
		"somebody without an account":        {Opening{By: 3}, &Opener{Name: "Old Tam"}, Opener{Name: "Old Tam"}, true},
		"somebody whom nobody knows":         {Opening{By: 3}, &Opener{}, Opener{}, true},
		"nobody, where nobody wrote it down": {Opening{}, &Opener{}, Opener{}, true},
	} {
		if row.named != nil {
			row.o.NameOpener(*row.named)
		}
		if got := row.o.OpenedBy(); got != row.want || (row.o.Opener != nil) != row.apart {
			t.Errorf("%s: opened by %+v, apart %v", name, got, row.o.Opener)
		}
	}
	tam, plain := Opening{By: 3, Opener: &Opener{Name: "Old Tam"}}, Opening{By: 3}
	other, same := Opening{By: 4}, Opening{By: 4, Opener: &Opener{Member: 3}}
	if tam.SameOpener(&plain) || !plain.SameOpener(&other) || !plain.SameOpener(&same) || other.SameOpener(&same) {
		t.Error("who is the same")
	}
}
