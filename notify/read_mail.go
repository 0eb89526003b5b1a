package notify

import (
	"context"
	"time"

	"github.com/riverqueue/river"

	"pryday/store"
)

// mailReader is the job of reading one mail that came in.
type mailReader struct {
	river.WorkerDefaults[store.ReadMailArgs]
	*Service
}

// NextRetry is soon at first: a visit that changed at this very moment, or a
// database that does not answer.
func (*mailReader) NextRetry(job *river.Job[store.ReadMailArgs]) time.Time {
	return time.Now().Add(min(time.Duration(job.Attempt*job.Attempt)*time.Second, 10*time.Minute))
}

// Work handles the mail. What it changes of a member's address is known at once.
func (r *mailReader) Work(ctx context.Context, job *river.Job[store.ReadMailArgs]) error {
	if r.inbox == nil { // another daemon took it in, or this one did before its settings changed
		return river.JobSnooze(10 * time.Minute)
	}
	defer r.writer.records.forget(job.Args.Club)
	return r.inbox.Handle(ctx, job.Args.Club, job.Args.Mail)
}
