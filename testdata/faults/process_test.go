package faults

import (
	"bytes"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// children are the backends of a server; a program's own child, the server, is
// left alone.
func children(pid int) (out []int) {
	name := commandOf(pid)
	stats, _ := filepath.Glob("/proc/[0-9]*/stat")
	for _, file := range stats {
		text, err := os.ReadFile(file)
		if err != nil {
			continue // it has ended
		}
		_, rest, _ := bytes.Cut(text, []byte(") ")) // proc(5): state and parent follow the name
		fields := strings.Fields(string(rest))
		child, err := strconv.Atoi(filepath.Base(filepath.Dir(file)))
		if err == nil && len(fields) > 1 && fields[1] == strconv.Itoa(pid) && commandOf(child) == name {
			out = append(out, child)
		}
	}
	return out
}

func commandOf(pid int) string {
	text, _ := os.ReadFile(filepath.Join("/proc", strconv.Itoa(pid), "comm"))
	return string(text)
}
