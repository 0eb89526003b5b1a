package faults

import (
	"math/rand/v2"
	"syscall"
	"testing"
	"time"

	"pryday/testdata/testrun"
)

// work is something that a fault comes into the midst of.
type work struct {
	during string
	// start makes ready what is done each time.
	start func(h *house) job
	// serves: the daemon does it, and is started again by whoever kills it. Else a
	// command does, which begin starts anew itself.
	serves bool
	// mayEnd: the daemon may end when PostgreSQL is killed, and is started again
	// by whoever looks after it.
	mayEnd bool
}

// job is work that was made ready.
type job struct {
	// begin begins it for the n-th time. It is not over before the fault has come.
	// amid waits for a moment of it, where it is known by what has become of it;
	// with nil any moment will do. done waits until it is acknowledged, however
	// often it must be tried again.
	begin func(n int, m *moment) (amid, done func())
	// check looks at what came of it.
	check func()
}

// moment is when the fault comes, by lot.
type moment struct {
	lots *rand.Rand
	come chan struct{} // closed when it has
}

// among draws from 0 to n-1.
func (m *moment) among(n int) int { return m.lots.IntN(n) }

// pause lets some time pass, so that the moments do not all follow a signal.
func (m *moment) pause(most time.Duration) { time.Sleep(time.Duration(m.lots.Int64N(int64(most)))) }

// comes lets go what was held until the fault has come.
func (m *moment) comes() {
	if !m.over() {
		close(m.come)
	}
}

func (m *moment) over() bool { return isClosed(m.come) }

// never is a moment that has passed before the work begins.
func never() *moment {
	m := &moment{rand.New(rand.NewPCG(1, 1)), make(chan struct{})}
	close(m.come)
	return m
}

// killer ends a process of the house; it returns false where there was none.
type killer struct {
	fault string
	of    func(h *house) int
}

var killers = []killer{
	{"kill -9 of the program", func(h *house) int {
		if p := h.running.Load(); p != nil && !isClosed(p.ended) {
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
				j := w.start(h)
				span := h.unharmed(j)
				for n := range times {
					if w.serves && n > 0 && n%5 == 0 { // a PostgreSQL that ends ten times in ten minutes wants a person: localpg.ErrKeepsEnding
						h.stop()
						h.start()
					}
					h.amid(n+1, w, j, lots, span, func(*moment) {
						pid := 0
						testrun.Until(h, "there is something to kill", func() bool {
							pid = k.of(h)
							return pid != 0 && syscall.Kill(pid, syscall.SIGKILL) == nil
						})
						testrun.Until(h, "it is dead", func() bool { return !alive(pid) })
						if p := h.running.Load(); w.serves && p != nil && p.Process.Pid == pid {
							<-p.ended
							h.launch()
						}
					})
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

// unharmed does the work once without a fault, and returns how long it takes
// once it has begun.
func (h *house) unharmed(j job) time.Duration {
	h.Helper()
	_, done := j.begin(0, never())
	began := time.Now()
	done()
	span := max(time.Since(began), time.Millisecond)
	j.check()
	return span
}

// amid has a fault come while work is done, and looks at what came of both. What is
// held for it is let go by the fault, or when that is over.
func (h *house) amid(n int, w work, j job, lots *rand.Rand, span time.Duration, fault func(*moment)) {
	h.Helper()
	m, over := &moment{lots, make(chan struct{})}, make(chan struct{})
	amid, done := j.begin(n, m)
	go func() { done(); close(over) }()
	if amid != nil {
		amid()
	} else {
		m.pause(span)
	}
	if !isClosed(over) {
		h.r.within++
	}
	fault(m)
	began := time.Now()
	h.r.times++
	m.comes()
	if w.serves {
		h.readyAgain(w.mayEnd)
	}
	<-over
	h.r.back(began)
	j.check()
}

// readyAgain waits until the service is ready, and starts it where it may have ended.
func (h *house) readyAgain(mayEnd bool) {
	h.Helper()
	testrun.Until(h, "the service is ready again", func() bool {
		if p := h.running.Load(); isClosed(p.ended) {
			if !mayEnd {
				h.Fatal("the daemon ended by itself")
			}
			h.r.note("the daemon ended and was started again")
			h.launch()
		}
		return h.isReady()
	})
}

func isClosed(c <-chan struct{}) bool {
	select {
	case <-c:
		return true
	default:
		return false
	}
}
