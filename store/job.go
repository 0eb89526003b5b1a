package store

import (
	"context"

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
	return river.InsertOpts{UniqueOpts: river.UniqueOpts{ByArgs: true, ByState: []rivertype.JobState{
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

// OweDelivery inserts the delivery jobs that messages still owed have lost: a
// job engine gives a job up after many failures of our own making, and a
// message is owed until it has one of its last states.
func (tx *Tx) OweDelivery(ctx context.Context) (jobs int, err error) {
	ids, err := tx.ids(ctx, `
		SELECT m.id FROM message m
		 WHERE m.state = 'owed' AND NOT EXISTS (
			SELECT FROM river_job j
			 WHERE j.kind = $1 AND j.state IN ('available', 'pending', 'retryable', 'running', 'scheduled')
			   AND j.args @> jsonb_build_object('club', m.club_id, 'message', m.id))
		 ORDER BY m.id LIMIT 1000`, DeliverArgs{}.Kind())
	if err != nil || len(ids) == 0 {
		return 0, tx.wrap(err, "list the messages that no job delivers")
	}
	params := make([]river.InsertManyParams, len(ids))
	for i, id := range ids {
		params[i].Args = DeliverArgs{Club: tx.club, Message: id}
	}
	begun, err := tx.tx.begun(ctx)
	if err != nil {
		return 0, err
	}
	inserted, err := tx.jobs.InsertManyTx(ctx, begun, params)
	return len(inserted), tx.wrap(err, "owe the delivery of messages")
}
