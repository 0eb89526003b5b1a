package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"time"
)

var modelName = regexp.MustCompile(`(?m)^model name\s*:\s*(.+)$`)

// processor is what Linux calls it (proc(5)).
func processor() string {
	info, _ := os.ReadFile("/proc/cpuinfo")
	if m := modelName.FindSubmatch(info); m != nil {
		return string(m[1])
	}
	return "unknown processor"
}

// ownTime is the processor time that this process has taken.
func ownTime() (time.Duration, error) {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0, fmt.Errorf("own processor time: %w", err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano()), nil
}

// timeOf is the processor time that a process and its children have taken,
// those that ended included, from Linux' /proc (proc(5)), in hundredths.
func timeOf(pid int) (sum time.Duration, err error) {
	files, err := filepath.Glob("/proc/[0-9]*/stat")
	if err != nil {
		return 0, err
	}
	for _, file := range files {
		stat, err := os.ReadFile(file)
		if err != nil {
			continue // it has ended, and its parent counts it
		}
		_, rest, _ := strings.Cut(string(stat), ") ")
		fields := strings.Fields(rest)
		own := filepath.Base(filepath.Dir(file)) == strconv.Itoa(pid)
		if len(fields) < 15 || !own && fields[1] != strconv.Itoa(pid) {
			continue
		}
		counted := fields[11:13] // utime, stime
		if own {
			counted = fields[11:15] // with those of children that ended
		}
		for _, f := range counted {
			n, err := strconv.Atoi(f)
			if err != nil {
				return 0, fmt.Errorf("%s: %w", file, err)
			}
			sum += time.Duration(n) * 10 * time.Millisecond
		}
	}
	return sum, nil
}

// forgetPeak lets the most memory that this process held count anew (proc(5), clear_refs).
func forgetPeak() error { return os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) }

var highWater = regexp.MustCompile(`(?m)^VmHWM:\s+(\d+) kB$`)

// peak is the most memory that this process held, in MB.
func peak() (float64, error) {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0, err
	}
	m := highWater.FindSubmatch(status)
	if m == nil {
		return 0, errors.New("/proc/self/status says nothing of VmHWM")
	}
	kB, err := strconv.Atoi(string(m[1]))
	return float64(kB) / 1024, err
}
