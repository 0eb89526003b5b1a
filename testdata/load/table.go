package main

import (
	"fmt"
	"io"
	"os/exec"
	"regexp"
	"runtime"
	"strings"
)

// row is one measurement beside what is asked of it.
type row struct {
	what, against string
	got           float64
	unit          string
	limit         float64
	least         bool // the limit is what must be reached, not what must be kept
	note          string
}

func (r *row) reached() bool {
	if r.least {
		return r.got >= r.limit
	}
	return r.got <= r.limit
}

// table takes rows as they are measured.
type table struct {
	pick *regexp.Regexp
	rows []row
}

// wants reports whether one of some rows is asked for.
func (t *table) wants(names ...string) bool {
	for _, n := range names {
		if t.pick.MatchString(n) {
			return true
		}
	}
	return false
}

func (t *table) add(r row) {
	fmt.Printf("%s: %.4g %s\n", r.what, r.got, r.unit)
	t.rows = append(t.rows, r)
}

// print writes the table in Markdown, with the machine and the commit.
func (t *table) print(w io.Writer, boxes int) {
	fmt.Fprintf(w, "\n## %s boxes, commit %s, %d cores (%s), %s\n\n", grouped(boxes), commit(), runtime.NumCPU(), machine(), runtime.Version())
	fmt.Fprintln(w, "| what | against | measured | reach | | |\n| --- | --- | --- | --- | --- | --- |")
	for _, r := range t.rows {
		sign, word := "≤", "reached"
		if r.least {
			sign = "≥"
		}
		if !r.reached() {
			word = "missed"
		}
		fmt.Fprintf(w, "| %s | %s | %.3g %s | %s %.3g | %s | %s |\n", r.what, r.against, r.got, r.unit, sign, r.limit, word, r.note)
	}
}

// grouped writes a number with commas between its thousands.
func grouped(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

func commit() string {
	out, err := exec.Command("git", "describe", "--always", "--dirty").Output()
	if err != nil {
		return "unknown"
	}
	return strings.TrimSpace(string(out))
}
