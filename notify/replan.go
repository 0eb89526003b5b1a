package notify

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/riverqueue/river"

	"pryday/store"
)

// replanner is the job of planning a whole club for a day: every night, and
// when its rules changed.
type replanner struct {
	river.WorkerDefaults[store.ReplanClubArgs]
	*Service
}

// NextRetry is soon: reminders wait for the plan.
func (*replanner) NextRetry(job *river.Job[store.ReplanClubArgs]) time.Time {
	return time.Now().Add(min(time.Duration(job.Attempt)*10*time.Second, 10*time.Minute))
}

// Work plans what can be planned in its time and then decides what that means
// for people.
func (r *replanner) Work(ctx context.Context, job *river.Job[store.ReplanClubArgs]) error {
	done, err := r.replan(ctx, job.Args)
	if err != nil {
		return err
	}
	if !done {
		return river.JobSnooze(0)
	}
	_, err = r.decideClub(ctx, job.Args.Club, deciding{})
	return err
}

func (s *Service) replan(ctx context.Context, args store.ReplanClubArgs) (done bool, err error) {
	// The store leaves off before the job's time is up, and goes on there the
	// next time.
	n, more, err := s.store.ReplanClub(ctx, args.Club, args.Date)
	if errors.Is(err, store.ErrNotFound) {
		return true, nil // the club was deleted
	}
	if err != nil {
		return false, fmt.Errorf("plan club %d for %s: %w", args.Club, args.Date, err)
	}
	if n > 0 {
		s.log.Info("planned", "club", args.Club, "day", args.Date.String(), "apiaries", n, "more", more)
	}
	return !more, nil
}
