package notify

import (
	"context"
	"time"
)

// tickEveryMinute decides at the beginning of each minute what is owed, so that
// what is owed at a minute of the local day goes out in it. It looks at the clock
// anew each time: when the clock is put back by an hour, robfig/cron waits for
// that hour to pass, and so would every reminder.
func (s *Service) tickEveryMinute(ctx context.Context) {
	for {
		timer := time.NewTimer(untilMinute(time.Now()))
		select {
		case <-ctx.Done():
			timer.Stop()
			return
		case <-timer.C:
		}
		s.run(ctx, func(ctx context.Context) error { return second(s.TickWhereNeeded(ctx)) })
		s.run(ctx, s.hurryJobs)
	}
}

// untilMinute is how long the minute still lasts, at most 60 s and never nothing.
func untilMinute(now time.Time) time.Duration {
	now = now.Round(0)
	return now.Truncate(time.Minute).Add(time.Minute).Sub(now)
}

// hurryJobs makes jobs due that two clocks, or one that was put back, would keep
// waiting.
func (s *Service) hurryJobs(ctx context.Context) error {
	n, err := s.store.HurryJobs(ctx, longestDelay)
	if n > 0 {
		s.log.Warn("jobs would have waited for a clock that is ahead: put the clocks of this machine and of the database right", "jobs", n)
	}
	return err
}
