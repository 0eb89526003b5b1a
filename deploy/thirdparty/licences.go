package main

import (
	"fmt"
	"io"
	"strings"
)

const licencesHead = `THIRD-PARTY LICENCES

pryday is given away under the MIT licence. These modules of other people are
linked into it, and Go's standard library (std); at the end are data of other
people that are in it. The source of each, as it was used,
is what a Go module proxy serves under its path and version:

    go mod download PATH@VERSION
`

// writeLicences lists the modules of other people with their licences, then
// gives the texts whole.
func writeLicences(out io.Writer, modules []module) error {
	var b strings.Builder
	b.WriteString(licencesHead + "\n")
	for _, m := range modules {
		if m.path != ours {
			fmt.Fprintf(&b, "%-62s %-38s %s\n", m.path, m.version, strings.Join(m.ids(), ", "))
		}
	}
	for _, m := range modules {
		if m.path == ours {
			continue
		}
		for _, f := range m.licences {
			title := fmt.Sprintf("%s %s: %s", m.path, m.version, f.name)
			fmt.Fprintf(&b, "\n\n%s\n%s\n\n%s\n", title, strings.Repeat("-", len(title)), strings.Trim(f.text, "\n"))
		}
	}
	_, err := io.WriteString(out, b.String())
	return err
}
