// Package processor measures the processor time of programs, which other work on
// the machine sways less than the clock.
package processor

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Time is the processor time that a process has taken, and those of its children
// that are alive and have one of the names, from Linux' /proc (proc(5)), in
// hundredths of a second.
func Time(pid int, children ...string) (sum time.Duration, err error) {
	files := []string{fmt.Sprintf("/proc/%d/stat", pid)}
	if len(children) > 0 {
		if files, err = filepath.Glob("/proc/[0-9]*/stat"); err != nil {
			return 0, err
		}
	}
	for _, file := range files {
		stat, err := os.ReadFile(file)
		if err != nil && len(children) > 0 {
			continue // it has ended
		}
		if err != nil {
			return 0, err
		}
		// "PID (NAME) STATE PARENT ...", where a name may have brackets of its own.
		_, name, _ := strings.Cut(string(stat), "(")
		end := strings.LastIndex(name, ") ")
		if end < 0 {
			return 0, fmt.Errorf("%s: no name in %q", file, stat)
		}
		fields := strings.Fields(name[end+2:])
		if file != fmt.Sprintf("/proc/%d/stat", pid) && (fields[1] != strconv.Itoa(pid) || !slices.Contains(children, name[:end])) {
			continue
		}
		for _, field := range fields[11:13] { // utime, stime
			n, err := strconv.Atoi(field)
			if err != nil {
				return 0, fmt.Errorf("%s: %w", file, err)
			}
			sum += time.Duration(n) * 10 * time.Millisecond
		}
	}
	return sum, nil
}
