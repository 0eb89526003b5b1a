package simulation

import (
	"math"
	"testing"
)

// TestPromise works out calibration by hand: in the second tenth 0.1 and 0.2
// were said and one of two was hard, in the last 0.9, and it was not.
func TestPromise(t *testing.T) {
	var p, q promise
	p.add(0.1, true)
	p.add(0.2-1e-12, false)
	q.add(0.9, false)
	q.add(1, true)
	if q.openings[9] != 2 {
		t.Errorf("the last tenth has %d openings, want 0.9 and 1 in it", q.openings[9])
	}
	p.join(&q)
	if n, hard := p.count(); n != 4 || hard != 2 {
		t.Errorf("%d openings, %d hard", n, hard)
	}
	// |0.3 - 1| and |1.9 - 1| over 4 openings
	if got := p.gap(); math.Abs(got-(0.7+0.9)/4) > 1e-9 {
		t.Errorf("gap %g", got)
	}
	said, same := p.brier()
	if math.Abs(said-(0.81+0.04+0.81+0)/4) > 1e-9 || same != 0.25 {
		t.Errorf("Brier scores %g and %g", said, same)
	}
	if !math.IsNaN(new(promise).gap()) {
		t.Error("a gap where nothing was said")
	}
}
