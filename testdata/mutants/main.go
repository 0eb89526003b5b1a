// Mutants breaks the code on purpose, one small change at a time, and reports
// the changes that no test notices:
//
//	go run ./testdata/mutants [-list NAME] [-only REGEXP] [-jobs N] [-note]
//
// The changes stand in the .toml files beside it, and in results.md what came of
// each list. The tree stays as it is: changed files are laid over it (go test
// -overlay). Changes of a package stand in one program, as copies of their
// functions, and a variable of the environment says which copy is called; one that
// is in no function has a program of its own.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"regexp"
	"syscall"
)

func main() {
	only := flag.String("only", ".", "run mutants whose package, file or description match `REGEXP`")
	name := flag.String("list", "", "run the mutants of one list, `NAME`.toml; empty: of all")
	note := flag.Bool("note", false, "write what came of lists that were run whole into testdata/mutants/results.md")
	jobs := flag.Int("jobs", 2, "run `N` at a time")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	ok, err := run(ctx, *name, *only, *jobs, *note)
	if err != nil {
		fmt.Fprintln(os.Stderr, "mutants:", err)
	}
	if err != nil || !ok {
		os.Exit(1)
	}
}

// run reports whether every mutant did what its list says of it.
func run(ctx context.Context, name, only string, jobs int, note bool) (bool, error) {
	pick, err := regexp.Compile(only)
	if err != nil {
		return false, fmt.Errorf("-only: %w", err)
	}
	root, err := moduleRoot(ctx)
	if err != nil {
		return false, err
	}
	mutants, err := readLists(root)
	if err != nil {
		return false, err
	}
	var picked []*mutant
	for _, m := range mutants {
		if (name == "" || name == m.list) && pick.MatchString(m.String()) {
			picked = append(picked, m)
		}
	}
	if len(picked) == 0 {
		return false, fmt.Errorf("none of %d mutants matches %q", len(mutants), only)
	}
	results, err := trials{root}.all(ctx, picked, jobs)
	report(os.Stdout, results)
	if err == nil && note {
		err = trials{root}.note(ctx, mutants, results)
	}
	return err == nil && allAsListed(results), err
}
