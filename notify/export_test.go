package notify

import (
	"context"
	"time"
)

// Attempt is one attempt at delivery, without the job engine around it.
func (s *Service) Attempt(ctx context.Context, club, message int64) (again time.Duration, err error) {
	return s.attempt(ctx, club, message)
}

// Hurry shortens the times after which a job that was cut off is taken up
// again, so that a test need not last as long.
func (s *Service) Hurry(timeout, rescue time.Duration) { s.timeout, s.rescue = timeout, rescue }

// QuietTick is the tick of the schedule, which leaves clubs out.
func (s *Service) QuietTick(ctx context.Context) (Report, error) { return s.decide(ctx, true) }
