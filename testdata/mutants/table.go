package main

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"text/tabwriter"
	"time"
)

// asListed reports whether a mutant came to what its list says.
func (r *result) asListed() bool {
	return r.fate == killed && r.Survives == "" || r.fate == survived && r.Survives != ""
}

func allAsListed(results []result) bool {
	return !slices.ContainsFunc(results, func(r result) bool { return !r.asListed() })
}

// line tells of one mutant.
func line(r result) string {
	s := fmt.Sprintf("%-9s %s", r.fate, r.mutant)
	if r.by != "" {
		s += " [" + r.by + "]"
	}
	return fmt.Sprintf("%s %s", s, r.took.Round(time.Second))
}

// report prints what needs a look, the survivors with their reasons, and the
// numbers of each package.
func report(w io.Writer, results []result) {
	fmt.Fprintln(w)
	count := map[string]map[fate]int{}
	for _, r := range results {
		for _, key := range []string{r.pkg, "together"} {
			if count[key] == nil {
				count[key] = map[fate]int{}
			}
			count[key][r.fate]++
		}
		switch {
		case r.fate == survived && r.Survives != "":
			fmt.Fprintf(w, "survived as listed: %s\n    %s\n", r.mutant, r.Survives)
		case r.fate == survived:
			fmt.Fprintf(w, "SURVIVED, and no reason is listed: %s\n    - %s\n    + %s\n", r.mutant, r.Old, r.New)
		case r.fate == uncompiled:
			fmt.Fprintf(w, "DOES NOT COMPILE: %s\n    %s\n", r.mutant, r.by)
		case r.Survives != "":
			fmt.Fprintf(w, "KILLED, though listed as a survivor: %s by %s\n", r.mutant, r.by)
		}
	}
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(table, "\npackage\tmutants\tkilled\tsurvived\tdoes not compile\t")
	rows := slices.Sorted(maps.Keys(count))
	rows = append(slices.DeleteFunc(rows, func(s string) bool { return s == "together" }), "together")
	for _, key := range rows {
		c := count[key]
		fmt.Fprintf(table, "%s\t%d\t%d\t%d\t%d\t\n", key, c[killed]+c[survived]+c[uncompiled], c[killed], c[survived], c[uncompiled])
	}
	table.Flush()
}
