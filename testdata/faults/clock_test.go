package faults

import (
	"encoding/binary"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"pryday/testdata/testrun"
)

// A file holds by how many seconds a clock is off. It is read at each look at
// the clock, so that the clock steps under a running process as it does when
// somebody sets it: what runs on, the monotonic clock, stays.
const clockEnv = "FAULTS_CLOCK"

// Go programs look at the clock without the C library: the program is built with
// a package time that reads the file. It is otherwise the one that people run.
const steppedGo = `package time

import (
	"sync/atomic"
	"syscall"
	"unsafe"
)

var steppedBy *int64

func init() {
	name, ok := syscall.Getenv("` + clockEnv + `")
	if !ok {
		return
	}
	fd, err := syscall.Open(name, syscall.O_RDONLY, 0)
	if err != nil {
		panic(err)
	}
	page, err := syscall.Mmap(fd, 0, 8, syscall.PROT_READ, syscall.MAP_SHARED)
	if err != nil {
		panic(err)
	}
	steppedBy = (*int64)(unsafe.Pointer(&page[0]))
}

func stepped() int64 {
	if steppedBy == nil {
		return 0
	}
	return atomic.LoadInt64(steppedBy)
}
`

// PostgreSQL asks the C library, before which this is loaded.
const steppedC = `#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/time.h>
#include <time.h>

static volatile int64_t *by;

__attribute__((constructor)) static void open_clock(void)
{
	const char *name = getenv("` + clockEnv + `");
	int fd = name ? open(name, O_RDONLY) : -1;
	void *page = fd < 0 ? MAP_FAILED : mmap(0, 8, PROT_READ, MAP_SHARED, fd, 0);
	if (page != MAP_FAILED)
		by = page;
}

int clock_gettime(clockid_t id, struct timespec *t)
{
	static int (*real)(clockid_t, struct timespec *);
	if (!real)
		real = dlsym(RTLD_NEXT, "clock_gettime");
	int status = real(id, t);
	if (status == 0 && by && (id == CLOCK_REALTIME || id == CLOCK_REALTIME_COARSE))
		t->tv_sec += *by;
	return status;
}

int gettimeofday(struct timeval *restrict t, void *restrict z)
{
	struct timespec now;
	clock_gettime(CLOCK_REALTIME, &now);
	t->tv_sec = now.tv_sec;
	t->tv_usec = now.tv_nsec / 1000;
	return 0;
}

time_t time(time_t *t)
{
	struct timespec now;
	clock_gettime(CLOCK_REALTIME, &now);
	if (t)
		*t = now.tv_sec;
	return now.tv_sec;
}
`

// steppedProgram is the program with such a clock.
var steppedProgram = sync.OnceValues(func() (string, error) {
	dir, err := shared()
	if err != nil {
		return "", err
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return "", err
	}
	std := filepath.Join(strings.TrimSpace(string(root)), "src", "time")
	text, err := os.ReadFile(filepath.Join(std, "time.go"))
	if err != nil {
		return "", err
	}
	before, now, _ := strings.Cut(string(text), "\nfunc Now() Time {\n")
	const asked = "\tsec, nsec, mono := runtimeNow()\n"
	rest, ok := strings.CutPrefix(now, asked)
	if !ok {
		return "", fmt.Errorf("time.Now of this Go does not begin with %q", asked)
	}
	changed := before + "\nfunc Now() Time {\n" + asked + "\tsec += stepped()\n" + rest
	files := map[string]string{"time.go": changed, "stepped.go": steppedGo, "overlay.json": fmt.Sprintf(
		`{"Replace": {%q: %q, %q: %q}}`, filepath.Join(std, "time.go"), filepath.Join(dir, "time.go"), filepath.Join(std, "stepped.go"), filepath.Join(dir, "stepped.go"))}
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			return "", err
		}
	}
	file := filepath.Join(dir, "pryday")
	return file, building(exec.Command("go", "build", "-trimpath", "-overlay", filepath.Join(dir, "overlay.json"), "-o", file, "./cmd/pryday"))
})

// steppedPostgres is a directory with PostgreSQL's programs on such a clock.
func steppedPostgres(t *testing.T, clock string) string {
	t.Helper()
	dir, err := shared()
	if err != nil {
		t.Fatal(err)
	}
	source, library := filepath.Join(dir, "clock.c"), filepath.Join(dir, "clock.so")
	if err := os.WriteFile(source, []byte(steppedC), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("cc", "-O1", "-shared", "-fPIC", "-o", library, source, "-ldl").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	bin, _, err := installed(0)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"postgres", "initdb"} {
		script := fmt.Sprintf("#!/bin/sh\nLD_PRELOAD=%s %s=%s exec %s \"$@\"\n", library, clockEnv, clock, filepath.Join(bin, name))
		if name == "initdb" {
			script = fmt.Sprintf("#!/bin/sh\nexec %s \"$@\"\n", filepath.Join(bin, name))
		}
		if err := os.WriteFile(filepath.Join(dir, name), []byte(script), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// clock is such a file.
type clock string

func newClock(t *testing.T) clock {
	t.Helper()
	dir, err := shared()
	if err != nil {
		t.Fatal(err)
	}
	c := clock(filepath.Join(dir, "clock"))
	if err := os.WriteFile(string(c), make([]byte, 8), 0o644); err != nil {
		t.Fatal(err)
	}
	return c
}

func (c clock) step(t *testing.T, by time.Duration) {
	t.Helper()
	f, err := os.OpenFile(string(c), os.O_WRONLY, 0)
	if err == nil {
		_, err = f.WriteAt(binary.NativeEndian.AppendUint64(nil, uint64(int64(by/time.Second))), 0)
		f.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
}

// clockRows step a clock while openings are written down and people sign in, by
// an hour or so or by more than a day, and put it right again.
func clockRows() (out []row) {
	const day, hour = 26 * time.Hour, 45 * time.Minute
	for _, f := range []struct {
		fault             string
		program, database bool
	}{
		{"clock of PostgreSQL steps", false, true},
		{"clock of the program steps", true, false},
		{"clock of the machine steps", true, true},
	} {
		out = append(out, row{f.fault, "recording and signing in", func(t *testing.T, r *result, times int) {
			lots := testrun.Rand(t)
			h := newHouse(t, r, startFrom(t))
			file, err := steppedProgram()
			if err != nil {
				t.Fatal(err)
			}
			program, database := newClock(t), newClock(t)
			h.binary = file
			h.env = append(h.env, clockEnv+"="+string(program), "PRYDAY_POSTGRES_BIN="+steppedPostgres(t, string(database)))
			step := func(by time.Duration) {
				if f.database {
					database.step(t, by)
				}
				if f.program {
					program.step(t, by)
					h.ahead = by
				}
				if off := h.offBy(); f.database && (off-by).Abs() > time.Minute {
					t.Fatalf("the database's clock is off by %s, not by %s", off, by)
				}
			}
			j := recording.start(h)
			check, signIns := j.check, 0
			j.check = func() {
				// Each is mailed once a minute.
				address := fmt.Sprintf("keeper%02d@recording-circle.example", 2+signIns%11)
				signIns++
				h.mails.forget(address)
				h.signIn(address)
				if f.program {
					h.ticked("Recording Circle")
				}
				check()
			}
			span := h.unharmed(j)
			for n := range times {
				by := []time.Duration{-hour, day, hour, -day}[n%4]
				h.amid(n+1, recording, j, lots, span, func(*moment) { step(by) })
				step(0)
				j.check()
			}
			h.mail(0)
			h.stop()
		}})
	}
	return out
}

// ticked waits until the daemon has decided anew what is owed, and has it plan for
// the day that it is by its clock: a plan for a later day is good until then.
func (h *house) ticked(club string) {
	h.Helper()
	before := h.ticks()
	testrun.Until(h, "the daemon ticks", func() bool { return h.ticks() > before })
	rules, _ := h.otherRules(club)
	h.must("rules", "apply", rules, "--club", club)
	h.await("the day is planned", `SELECT NOT EXISTS (SELECT FROM apiary WHERE planned_on IS DISTINCT FROM $1::text::date)`, h.today().String())
	h.settle()
}

var ticksDone = regexp.MustCompile(`(?m)^pryday_ticks_total\{outcome="done"\} ([0-9.e+]+)$`)

// ticks is how often the daemon has decided what is owed since it started.
func (h *house) ticks() float64 {
	h.Helper()
	res, err := probe.Get(h.address + "/metrics")
	if err != nil {
		h.Fatal(err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	m := ticksDone.FindSubmatch(text)
	if err != nil || m == nil {
		h.Fatalf("no ticks in /metrics: %s, %v\n%.500s", res.Status, err, text)
	}
	n, err := strconv.ParseFloat(string(m[1]), 64)
	if err != nil {
		h.Fatal(err)
	}
	return n
}

// offBy is by how much the database's clock is ahead of this machine's.
func (h *house) offBy() time.Duration {
	h.Helper()
	return time.Until(ask[one[time.Time]](h, `SELECT clock_timestamp()`)[0].Value)
}
