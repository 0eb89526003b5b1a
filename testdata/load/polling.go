package main

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"runtime"
	"time"

	"pryday/testdata/testrun/processor"
)

const pollHour = "an hour of subscribers' polls"

// polling asks for every member's calendar as calendar programs do: half of
// them each hour, a quarter each quarter of an hour, and a quarter twice a day
// (common practice, no source), each with the tag that it was given last.
func polling(ctx context.Context, b *bed, t *table) error {
	if !t.wants(pollHour) {
		return nil
	}
	paths, tags := []string{}, []string{}
	began := time.Now()
	for i := range b.clubs {
		c := &b.clubs[i]
		for m := range c.members {
			path := "/calendar/" + c.token(m) + "/visits.ics"
			w := b.get(ctx, path, "Accept-Encoding", "gzip")
			if w.Code != http.StatusOK {
				return fmt.Errorf("%s: answer %d", path, w.Code)
			}
			paths, tags = append(paths, path), append(tags, w.Header().Get("ETag"))
		}
	}
	cold := time.Since(began) / time.Duration(len(paths))

	var order []int
	for i := range paths {
		for range []int{1, 1, 4, 0}[i%4] {
			order = append(order, i)
		}
		if i%4 == 3 && i/4%12 == 0 {
			order = append(order, i)
		}
	}
	lots(1).Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
	before, err := b.allTime()
	if err != nil {
		return err
	}
	for _, i := range order {
		w := b.get(ctx, paths[i], "Accept-Encoding", "gzip", "If-None-Match", tags[i])
		if w.Code != http.StatusNotModified {
			return fmt.Errorf("%s: answer %d to who has it", paths[i], w.Code)
		}
	}
	after, err := b.allTime()
	if err != nil {
		return err
	}
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	t.add(row{
		what: pollHour, against: fmt.Sprintf("one core, for %s subscribers", grouped(len(paths))), got: 100 * (after - before).Seconds() / time.Hour.Seconds(), unit: "%", limit: 1,
		note: fmt.Sprintf("%s polls; %d MB alive after them; a calendar is first made in %s", grouped(len(order)), m.HeapAlloc>>20, cold.Round(10*time.Microsecond)),
	})
	return nil
}

// allTime is the processor time of this process and its Postgres.
func (b *bed) allTime() (time.Duration, error) {
	own, err := processor.Time(os.Getpid())
	if err != nil {
		return 0, err
	}
	postgres, err := processor.Time(b.postgres.PID(), "postgres")
	return own + postgres, err
}
