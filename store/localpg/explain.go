package localpg

import (
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"strings"
)

// errStillHeld says that parts of a killed server are still there.
var errStillHeld = errors.New("parts of a killed PostgreSQL are still running")

// explainExit turns the end of the server or of initdb into what a person needs:
// its own last words from the log, and what they come to.
func (l layout) explainExit(exit error, logStart int64, who account) error {
	words := l.lastWords(logStart)
	var err error
	switch {
	case strings.Contains(words, "shared memory block") && strings.Contains(words, "still in use"),
		strings.Contains(words, `lock file "postmaster.pid" already exists`):
		err = errStillHeld
	case strings.Contains(words, "No space left on device"):
		err = fmt.Errorf("the disk that holds %s is full: make room and start again", l.root)
	case strings.Contains(words, "Read-only file system"):
		err = fmt.Errorf("%s is on a file system that cannot be written", l.root)
	case strings.Contains(words, "could not create shared memory segment"):
		err = errors.New("the system refuses shared memory")
	case strings.Contains(words, "ermission denied"):
		err = fmt.Errorf("PostgreSQL, running as %s, may not use its files%s", accountName(who.uid), who.hint(l.data))
	default:
		err = errors.New("PostgreSQL ended at once")
	}
	if words == "" && exit != nil {
		words = exit.Error()
	}
	return fmt.Errorf("%w (%s; the whole log: %s)", err, words, l.log)
}

// lastWords are the complaints of this start, or its last line.
func (l layout) lastWords(start int64) string {
	f, err := os.Open(l.log)
	if err != nil {
		return ""
	}
	defer f.Close()
	text, err := io.ReadAll(io.NewSectionReader(f, start, 1<<20))
	if err != nil {
		return ""
	}
	var complaints []string
	last := ""
	for line := range strings.Lines(string(text)) {
		line = strings.TrimSpace(line)
		for _, mark := range []string{"FATAL:", "PANIC:", "HINT:", "initdb: error:", "could not", "ermission denied"} {
			if at := strings.Index(line, mark); at >= 0 {
				if strings.HasSuffix(mark, ":") {
					line = line[at:] // without time and process
				}
				complaints = append(complaints, line)
				break
			}
		}
		if line != "" {
			last = line
		}
	}
	if len(complaints) == 0 {
		return last
	}
	return strings.Join(complaints[max(0, len(complaints)-4):], " | ")
}

// hint names a directory above one of the paths that keeps the account out.
func (a account) hint(paths ...string) string {
	for _, path := range paths {
		if dir := a.blockedAt(path); dir != "" {
			return fmt.Sprintf(": the account %s cannot enter %s; choose a state directory that it can reach, or let it through (chmod o+x %s)",
				accountName(a.uid), dir, dir)
		}
	}
	return ""
}

// utf8Locale sorts by code point and knows letters of every script; it exists
// without any language being installed.
func utf8Locale() string {
	if runtime.GOOS == "linux" {
		return "C.UTF-8"
	}
	return "C"
}

// escapeGlob keeps brackets and the like in a path from acting as a pattern.
func escapeGlob(path string) string {
	return strings.NewReplacer(`\`, `\\`, "*", `\*`, "?", `\?`, "[", `\[`).Replace(path)
}
