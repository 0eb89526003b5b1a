package main

import (
	"context"
	"fmt"
	"time"
)

const tickIdle = "a tick in which nothing is owed"

// ticking decides what all clubs owe this morning, and again: then nothing is
// owed, first when every club is looked at and then as the schedule does it.
func ticking(ctx context.Context, b *bed, t *table) error {
	if !t.wants(tickIdle) {
		return nil
	}
	began := time.Now()
	owed, err := b.notify.Tick(ctx)
	if err != nil {
		return err
	}
	all := time.Since(began)
	began = time.Now()
	again, err := b.notify.Tick(ctx)
	if err != nil {
		return err
	}
	looked := time.Since(began)
	began = time.Now()
	idle, err := b.notify.TickWhereNeeded(ctx)
	if err != nil {
		return err
	}
	took := time.Since(began)
	if again.New != 0 || idle.New != 0 || owed.New == 0 {
		return fmt.Errorf("ticks owed %d, %d and %d messages; want some, none and none", owed.New, again.New, idle.New)
	}
	t.add(row{
		what: tickIdle, against: fmt.Sprintf("%d clubs", len(b.clubs)+1), got: float64(took.Microseconds()) / 1000, unit: "ms", limit: 100,
		note: fmt.Sprintf("%d messages of the morning owed in %s; every club looked at in %s", owed.New, secondsOf(all), secondsOf(looked)),
	})
	return nil
}
