// Load fills a database with a national association and measures the service
// on it, each number against a peer or a limit in the same run:
//
//	make load [BOXES=100000] [ROWS=regexp]
//
// The association is clubs of 40 apiaries with 25 boxes each and 20 members
// who subscribe to their calendars; a million boxes are a thousand clubs. Beside
// it stand one club of 300 apiaries and one of 10,000 boxes. The same number of
// boxes gives the same records. results.md keeps what was measured, where.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"regexp"
	"runtime/pprof"
	"syscall"
)

func main() {
	boxes := flag.Int("boxes", 100_000, "how many boxes the association has; thousands")
	rows := flag.String("rows", ".", "measure the rows whose name matches `REGEXP`")
	profile := flag.String("profile", "", "write a processor profile of the measured work to `FILE`, for go tool pprof")
	keep := flag.String("keep", "", "keep the association in the directory `DIR`; if it is there, leave out seeding and planning")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx, *boxes, *rows, *profile, *keep); err != nil {
		fmt.Fprintln(os.Stderr, "load:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, boxes int, rows, profile, keep string) error {
	pick, err := regexp.Compile(rows)
	if err != nil {
		return fmt.Errorf("-rows: %w", err)
	}
	if boxes < 1000 || boxes%1000 != 0 {
		return fmt.Errorf("-boxes %d: want thousands, such as 100000", boxes)
	}
	b, err := makeBed(ctx, keep)
	if err != nil {
		return err
	}
	defer b.close()
	t := table{pick: pick}
	if profile != "" {
		f, err := os.Create(profile)
		if err != nil {
			return fmt.Errorf("-profile: %w", err)
		}
		defer f.Close()
		if err := pprof.StartCPUProfile(f); err != nil {
			return fmt.Errorf("-profile: %w", err)
		}
		defer pprof.StopCPUProfile()
	}
	for _, step := range []func(context.Context, *bed, *table) error{
		func(ctx context.Context, b *bed, t *table) error { return b.seed(ctx, boxes/1000) },
		planning, ticking, polling, opening, home, peers, growing, migrating,
	} {
		if err := step(ctx, b, &t); err != nil {
			return err
		}
	}
	t.print(os.Stdout, boxes)
	return nil
}
