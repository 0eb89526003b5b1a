package notify

import (
	"context"
	"time"

	"github.com/riverqueue/river"

	"pryday/notify/smtp"
	"pryday/store"
)

// Attempt is one attempt at delivery, without the job engine around it.
func (s *Service) Attempt(ctx context.Context, club, message int64) (again time.Duration, err error) {
	return s.attempt(ctx, club, message)
}

// Hurry shortens the times after which a job that was cut off is taken up
// again, so that a test need not last as long.
func (s *Service) Hurry(timeout, rescue time.Duration) { s.timeout, s.rescue = timeout, rescue }

// Stopping tells that Stop was called.
func (s *Service) Stopping() bool { return s.stopping.Load() }

// QuietTick is the tick of the schedule, which leaves clubs out.
func (s *Service) QuietTick(ctx context.Context) (Report, error) { return s.decide(ctx, true) }

// ReadMail is the job of reading one mail, without the job engine around it.
func (s *Service) ReadMail(ctx context.Context, club, mail int64) error {
	return (&mailReader{Service: s}).Work(ctx, &river.Job[store.ReadMailArgs]{Args: store.ReadMailArgs{Club: club, Mail: mail}})
}

// Draft is a message with the records it speaks of.
type Draft = draft

// Read and Letter are the two halves of writing a message.
func (s *Service) Read(ctx context.Context, club, message int64) (*Draft, error) {
	return s.writer.read(ctx, club, message)
}

// Letter renders a draft.
func (s *Service) Letter(ctx context.Context, d *Draft) (*smtp.Letter, error) {
	return s.writer.letter(ctx, d)
}

// DecideAhead has every club decided for so long before an hour.
func (s *Service) DecideAhead(by time.Duration) {
	s.ahead = func(int64, int) time.Duration { return by }
}

// UntilMinute is how long a minute still lasts.
func UntilMinute(now time.Time) time.Duration { return untilMinute(now) }

// AheadOf is how long before an hour a club is decided for.
func AheadOf(club int64, clubs int) time.Duration { return aheadOf(club, clubs) }
