// Hour lets the demo serve modest load for a while, and fails unless its memory,
// goroutines, open files and connections stay level:
//
//	make hour [FOR=1h]
//
// Calendars are polled, pages read and hives recorded, a request a fifth of a
// second. What the service says of itself (/metrics) is read every second and
// held against the quarter of the time before: the first quarter warms up.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"syscall"
	"time"

	"pryday/testdata/testrun/demo"
)

func main() {
	program := flag.String("program", "bin/pryday", "the built program")
	lasts := flag.Duration("for", time.Hour, "how long; a minute and more")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx, *program, *lasts); err != nil {
		fmt.Fprintln(os.Stderr, "hour:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, program string, lasts time.Duration) (err error) {
	if lasts < time.Minute {
		return fmt.Errorf("-for %s: want a minute and more", lasts)
	}
	d, err := demo.Start(ctx, program)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.Stop()) }()
	v, err := newVisitor(ctx, d)
	if err != nil {
		return err
	}
	kept := &course{}
	began, turn := time.Now(), time.NewTicker(time.Second/5)
	defer turn.Stop()
	for n := 0; time.Since(began) < lasts; n++ {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-turn.C:
		}
		if err := v.next(ctx, n); err != nil {
			return err
		}
		if n%5 == 0 {
			now, err := v.state(ctx)
			if err != nil {
				return err
			}
			kept.add(now)
		}
	}
	fmt.Printf("%d requests, %d hives recorded in %s\n\n", v.asked, v.recorded, time.Since(began).Round(time.Second))
	return kept.print(os.Stdout)
}
