package faults

import (
	"slices"
	"syscall"
	"testing"
	"time"

	"pryday/testdata/testrun"
)

const stopFor = 20 * time.Second

// stopRows hold a process up, as a machine does that sleeps or swaps.
func stopRows() (out []row) {
	stopped := []killer{
		{"SIGSTOP of the program, 20 s", killers[0].of},
		{"SIGSTOP of PostgreSQL, 20 s", killers[1].of},
	}
	for _, w := range []work{recording, planning, sending} {
		for _, k := range stopped {
			out = append(out, row{k.fault, w.during, func(t *testing.T, r *result, times int) {
				lots := testrun.Rand(t)
				h := newHouse(t, r, startFrom(t))
				j := w.start(h)
				span := h.unharmed(j)
				for n := range times {
					h.amid(n+1, w, j, lots, span, func(m *moment) { h.holdUp(k.of(h), m.comes) })
				}
				h.stop()
			}})
		}
	}
	return out
}

// holdUp stops a process and its children for a while, which begins when they are
// stopped.
func (h *house) holdUp(pid int, begun func()) {
	h.Helper()
	all := append([]int{pid}, children(pid)...)
	for _, p := range all {
		syscall.Kill(p, syscall.SIGSTOP) // one of them may end meanwhile
	}
	begun()
	time.Sleep(stopFor)
	slices.Reverse(all)
	for _, p := range all {
		syscall.Kill(p, syscall.SIGCONT)
	}
}
