package store

import (
	"context"
	"fmt"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"

	"pryday/scheduler"
)

// DeliverArgs is the job of delivering one message.
type DeliverArgs struct {
	Club    int64 `json:"club"`
	Message int64 `json:"message"`
}

// Kind names the job.
func (DeliverArgs) Kind() string { return "deliver" }

// InsertOpts makes it one job a message.
func (DeliverArgs) InsertOpts() river.InsertOpts {
	return river.InsertOpts{UniqueOpts: river.UniqueOpts{ByArgs: true}}
}

// ReadMailArgs is the job of reading one mail that came in.
type ReadMailArgs struct {
	Club int64 `json:"club"`
	Mail int64 `json:"mail"`
}

// Kind names the job.
func (ReadMailArgs) Kind() string { return "read_mail" }

// InsertOpts makes it one job a mail.
func (ReadMailArgs) InsertOpts() river.InsertOpts {
	return river.InsertOpts{UniqueOpts: river.UniqueOpts{ByArgs: true}}
}

// PlanQueue is where jobs of planning wait, apart from mail.
const PlanQueue = "plan"

// ReplanClubArgs is the job of replanning a whole club for a day by one
// version of its rules. The version is among the arguments because jobs are
// unique by them: a change of rules while such a job runs owes another one.
type ReplanClubArgs struct {
	Club  int64          `json:"club"`
	Date  scheduler.Date `json:"date"`
	Rules int            `json:"rules"`
}

// Kind names the job.
func (ReplanClubArgs) Kind() string { return "replan_club" }

// InsertOpts makes it one unfinished job for the same arguments.
func (ReplanClubArgs) InsertOpts() river.InsertOpts {
	return river.InsertOpts{Queue: PlanQueue, UniqueOpts: river.UniqueOpts{ByArgs: true, ByState: []rivertype.JobState{
		rivertype.JobStateAvailable, rivertype.JobStatePending, rivertype.JobStateRunning,
		rivertype.JobStateScheduled, rivertype.JobStateRetryable,
	}}}
}

// OweReplan inserts the job of replanning the club by the rules that hold.
func (tx *Tx) OweReplan(ctx context.Context, today scheduler.Date) error {
	args := ReplanClubArgs{Club: tx.club, Date: today}
	err := tx.tx.QueryRow(ctx, `SELECT coalesce(max(version), 0) FROM rules`).Scan(&args.Rules)
	if err != nil {
		return tx.wrap(err, "owe a replan")
	}
	begun, err := tx.tx.begun(ctx)
	if err == nil {
		_, err = tx.jobs.InsertTx(ctx, begun, args, nil)
	}
	return tx.wrap(err, "owe a replan")
}

// HurryJobs makes jobs due now whose time has not come for no reason but a clock:
// those to be done at once that lie more than 10 s ahead, which is longer than
// the engine takes them up early, and those put off by more than longest. Jobs get
// their times from the clocks of the daemons, and are taken up by the database's.
func (s *Store) HurryJobs(ctx context.Context, longest time.Duration) (jobs int64, err error) {
	done, err := s.pool.Exec(ctx, `
		UPDATE river_job SET scheduled_at = now()
		 WHERE id IN (SELECT id FROM river_job
		               WHERE state = 'available' AND scheduled_at > now() + interval '10 s'
		                  OR state IN ('retryable', 'scheduled') AND scheduled_at > now() + $1::interval
		               ORDER BY id FOR UPDATE SKIP LOCKED)`, longest)
	if err != nil {
		return 0, fmt.Errorf("make jobs due that lie ahead: %w", err)
	}
	return done.RowsAffected(), nil
}

// OweDelivery inserts the delivery jobs that messages still owed have lost: a
// job engine gives a job up after many failures of our own making, and a
// message is owed until it has one of its last states.
func (tx *Tx) OweDelivery(ctx context.Context) (jobs int, err error) {
	return tx.oweAgain(ctx, "message WHERE state = 'owed'", "message", func(id int64) river.JobArgs { return DeliverArgs{Club: tx.club, Message: id} })
}

// OweReading is OweDelivery for mails that came in and are not read yet.
func (tx *Tx) OweReading(ctx context.Context) (jobs int, err error) {
	return tx.oweAgain(ctx, "inbound_mail WHERE outcome = ''", "mail", func(id int64) river.JobArgs { return ReadMailArgs{Club: tx.club, Mail: id} })
}

// oweAgain inserts a job for each row that has none; from names the table and
// which rows, argument the row's id among the arguments of its job.
func (tx *Tx) oweAgain(ctx context.Context, from, argument string, args func(id int64) river.JobArgs) (jobs int, err error) {
	ids, err := tx.ids(ctx, `
		SELECT m.id FROM (SELECT club_id, id FROM `+from+`) m
		 WHERE NOT EXISTS (
			SELECT FROM river_job j
			 WHERE j.kind = $1 AND j.state IN ('available', 'pending', 'retryable', 'running', 'scheduled')
			   AND j.args @> jsonb_build_object('club', m.club_id, $2::text, m.id))
		 ORDER BY m.id LIMIT 1000`, args(0).Kind(), argument)
	if err != nil || len(ids) == 0 {
		return 0, tx.wrap(err, "list the rows of %s without a job", from)
	}
	params := make([]river.InsertManyParams, len(ids))
	for i, id := range ids {
		params[i].Args = args(id)
	}
	begun, err := tx.tx.begun(ctx)
	if err != nil {
		return 0, err
	}
	inserted, err := tx.jobs.InsertManyTx(ctx, begun, params)
	return len(inserted), tx.wrap(err, "owe jobs of the kind %s", args(0).Kind())
}
