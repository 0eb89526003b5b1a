package main

import (
	"context"
	"fmt"
	"net/http"
	"runtime"
	"time"
)

const (
	homeTime   = "home of a club of 10,000 boxes"
	homeMemory = "memory that it takes"
)

// home serves its organiser's first page again and again.
func home(ctx context.Context, b *bed, t *table) error {
	if !t.wants(homeTime, homeMemory) {
		return nil
	}
	id, err := b.nextClub(ctx)
	if err != nil {
		return err
	}
	c := club{id: id, name: "The Wide Plain", apiaries: 400, members: 80}
	if err := b.fill(ctx, c); err != nil {
		return err
	}
	if err := b.replan(ctx, c.id, c.apiaries, today); err != nil {
		return err
	}
	cookies, err := b.signIn(ctx, c.member(0))
	if err != nil {
		return err
	}
	serve := func(times int) (size int, err error) {
		for range times {
			w := b.get(ctx, "/", "Cookie", cookies)
			if w.Code != http.StatusOK {
				return 0, fmt.Errorf("home: answer %d", w.Code)
			}
			size = w.Body.Len()
		}
		return size, nil
	}
	if _, err := serve(5); err != nil { // plans of statements are kept from then on
		return err
	}
	const times = 50
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	began := time.Now()
	size, err := serve(times)
	if err != nil {
		return err
	}
	took := time.Since(began) / times
	runtime.ReadMemStats(&after)
	t.add(row{what: homeTime, against: "", got: float64(took.Microseconds()) / 1000, unit: "ms", limit: 15, note: fmt.Sprintf("%d kB", size>>10)})
	t.add(row{what: homeMemory, against: "", got: float64(after.TotalAlloc-before.TotalAlloc) / times / (1 << 20), unit: "MB", limit: 1, note: "allocated for each answer, with what asks for it"})
	return nil
}
