package faults

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// row is one fault during one kind of work.
type row struct {
	fault, during string
	play          func(t *testing.T, r *result, times int)
}

func (r *row) name() string { return r.fault + ", during " + r.during }

// result is what came of a row.
type result struct {
	row
	mu sync.Mutex

	times, within int           // how often the fault came, and how often the work was not over by then
	took          time.Duration // all of the row, its making ready included
	acknowledged  int
	sentAgain     int // what got no answer, or was told to come again
	lost, doubled int
	cutOff        int           // mails that a server took and was cut off before it could say so
	slowest       time.Duration // until what was interrupted is done
	fresh         bool          // what is stored is what planning makes of the records
	skipped       string        // why the row was not played
	wrong         []string
	notes         []string
}

// bad notes a wrong outcome.
func (r *result) bad(format string, args ...any) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.wrong = append(r.wrong, fmt.Sprintf(format, args...))
}

func (r *result) note(format string, args ...any) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if s := fmt.Sprintf(format, args...); !slices.Contains(r.notes, s) {
		r.notes = append(r.notes, s)
	}
}

// ack counts what the service said was done.
func (r *result) ack(n int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.acknowledged += n
}

// resend counts what was not acknowledged and is sent once more.
func (r *result) resend() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.sentAgain++
}

// back notes that what was interrupted is done.
func (r *result) back(since time.Time) { r.slowest = max(r.slowest, time.Since(since)) }

// ok reports whether all came out as it must.
func (r *result) ok() bool {
	return r.skipped != "" || len(r.wrong) == 0 && r.lost == 0 && r.doubled == 0 && r.fresh && r.times > 0 && r.within > 0
}

// print writes results in Markdown.
func print(w io.Writer, results []*result) {
	fmt.Fprintln(w, "| fault | during | times | within | acknowledged | lost | doubled | plan equal | slowest return | s each | |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
	for _, r := range results {
		fmt.Fprintln(w, r.line())
	}
}

// line is the result as a line of the table.
func (r *result) line() string {
	if r.skipped != "" {
		return fmt.Sprintf("| %s | %s | - | - | - | - | - | - | - | - | not tried: %s |", r.fault, r.during, r.skipped)
	}
	notes := slices.Clone(r.notes)
	if r.sentAgain > 0 {
		notes = append(notes, fmt.Sprintf("%d sent again", r.sentAgain))
	}
	if r.cutOff > 0 {
		notes = append(notes, fmt.Sprintf("%d mails twice: taken after DATA, cut off before the answer", r.cutOff))
	}
	if !r.ok() {
		notes = append(notes, "WRONG")
	}
	equal := "yes"
	if !r.fresh {
		equal = "NO"
	}
	return fmt.Sprintf("| %s | %s | %d | %d | %d | %d | %d | %s | %s | %.1f | %s |", r.fault, r.during, r.times, r.within, r.acknowledged,
		r.lost, r.doubled, equal, r.slowest.Round(100*time.Millisecond), r.took.Seconds()/float64(max(1, r.times)), strings.Join(notes, "; "))
}

func TestTableShowsWhatIsWrong(t *testing.T) {
	fine := &result{row: row{fault: "kill", during: "recording"}, times: 3, within: 2, acknowledged: 7, fresh: true, slowest: 1234 * time.Millisecond, took: 15 * time.Second, cutOff: 1}
	for name, spoil := range map[string]func(*result){
		"lost":     func(r *result) { r.lost = 1 },
		"doubled":  func(r *result) { r.doubled = 1 },
		"plan":     func(r *result) { r.fresh = false },
		"never":    func(r *result) { r.times = 0 },
		"outside":  func(r *result) { r.within = 0 },
		"whatever": func(r *result) { r.bad("it sings") },
	} {
		r := &result{row: fine.row, times: 3, within: 3, fresh: true}
		spoil(r)
		var b strings.Builder
		if print(&b, []*result{r}); r.ok() || !strings.Contains(b.String(), "WRONG") {
			t.Errorf("%s passes for right:\n%s", name, &b)
		}
	}
	var b strings.Builder
	print(&b, []*result{fine, {row: row{fault: "newer", during: "starting"}, skipped: "there is none"}})
	for _, want := range []string{
		"| kill | recording | 3 | 2 | 7 | 0 | 0 | yes | 1.2s | 5.0 | 1 mails twice: taken after DATA, cut off before the answer |",
		"| newer | starting | - | - | - | - | - | - | - | - | not tried: there is none |",
	} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %q in\n%s", want, &b)
		}
	}
}
