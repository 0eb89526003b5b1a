package faults

import (
	"syscall"
	"testing"
	"time"

	"pryday/testdata/testrun"
)

// work is something that a fault comes into the midst of.
type work struct {
	during string
	// start makes ready what is done each time. begin begins it and returns what
	// is over when it is acknowledged, however often it must be tried again; check
	// looks at what came of it.
	start func(h *house) (begin func(n int) (done func()), check func())
	// serves: the daemon does it, and is started again by whoever kills it. Else a
	// command does, which begin starts anew itself.
	serves bool
}

// killer ends a process of the house; it returns false where there was none.
type killer struct {
	fault string
	of    func(h *house) int
}

var killers = []killer{
	{"kill -9 of the program", func(h *house) int {
		if p := h.running.Load(); p != nil {
			return p.Process.Pid
		}
		return 0
	}},
	{"kill -9 of PostgreSQL", (*house).postgres},
}

func works() []work {
	return []work{recording, importing, planning, sending, migrating, backingUp, restoring}
}

func killRows() (out []row) {
	for _, w := range works() {
		for _, k := range killers {
			out = append(out, row{k.fault, w.during, func(t *testing.T, r *result, times int) {
				lots := testrun.Rand(t)
				h := newHouse(t, r, startFrom(t))
				begin, check := w.start(h)
				span := h.unharmed(begin, check)
				// A command may be over before there is a PostgreSQL to kill: that does not count.
				for n := 1; r.times < times && n <= 5*times; n++ {
					h.killDuring(n, w, k, begin, time.Duration(lots.Int64N(int64(span))))
					check()
				}
				if r.times < times {
					r.bad("the fault came %d times, not %d", r.times, times)
				}
				h.stop()
			}})
		}
	}
	return out
}

// startFrom is a state directory with the newest schema.
func startFrom(t *testing.T) string {
	t.Helper()
	state, err := empty()
	if err != nil {
		t.Fatal(err)
	}
	return state
}

// unharmed does the work once without a fault, and returns how long it takes.
func (h *house) unharmed(begin func(int) func(), check func()) time.Duration {
	h.Helper()
	began := time.Now()
	begin(0)()
	span := time.Since(began)
	check()
	return span
}

// killDuring kills after a time since the work began.
func (h *house) killDuring(n int, w work, k killer, begin func(int) func(), after time.Duration) {
	h.Helper()
	over := make(chan struct{})
	done := begin(n)
	go func() { done(); close(over) }()
	time.Sleep(after)
	pid := 0
	testrun.Until(h, "there is something to kill", func() bool {
		pid = k.of(h)
		return pid != 0 || isClosed(over)
	})
	if !isClosed(over) {
		h.r.within++
	}
	began := time.Now()
	if pid != 0 {
		h.kill9(pid)
		h.r.times++
	}
	if w.serves {
		if k.fault == killers[0].fault && pid != 0 {
			<-h.running.Load().ended
			h.launch()
		}
		h.ready()
	}
	<-over
	h.r.back(began)
}

func (h *house) kill9(pid int) {
	h.Helper()
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		h.Fatalf("kill %d: %v", pid, err)
	}
	testrun.Until(h, "it is dead", func() bool { return !alive(pid) })
}

func isClosed(c <-chan struct{}) bool {
	select {
	case <-c:
		return true
	default:
		return false
	}
}
