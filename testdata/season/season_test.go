package season

import (
	"fmt"
	"testing"
)

func TestTry(t *testing.T) {
	for _, p := range []float64{0, 0.5, 1} {
		c, from := demoClub(t)
		w := newTown(t, from, habit{answers: p}, c)
		w.live(60)
		fmt.Println("answers", p, "taps", w.ledger.taps)
		for _, a := range w.addresses() {
			fmt.Println(a)
			for _, m := range w.people[a].letters {
				fmt.Println("  ", m.on, m.subject)
			}
		}
		w.ledger.tell(w)
		for k, v := range w.ledger.remade {
			fmt.Println("remade", k[:4], v)
		}
		for k, v := range w.ledger.returned {
			fmt.Println("returned", k[:4], v)
		}
	}
}
