package store

import (
	"context"

	"github.com/riverqueue/river"

	"pryday/scheduler"
)

// DeliverArgs is the job of delivering one message.
type DeliverArgs struct {
	Club    int64 `json:"club"`
	Message int64 `json:"message"`
}

// Kind names the job.
func (DeliverArgs) Kind() string { return "deliver" }

// InsertOpts makes one job a message.
func (DeliverArgs) InsertOpts() river.InsertOpts {
	return river.InsertOpts{UniqueOpts: river.UniqueOpts{ByArgs: true}}
}

// ReplanClubArgs is the job of replanning a whole club for a day.
type ReplanClubArgs struct {
	Club int64          `json:"club"`
	Date scheduler.Date `json:"date"`
}

// Kind names the job.
func (ReplanClubArgs) Kind() string { return "replan_club" }

// InsertOpts makes one job a club and day.
func (ReplanClubArgs) InsertOpts() river.InsertOpts {
	return river.InsertOpts{UniqueOpts: river.UniqueOpts{ByArgs: true}}
}

// OweReplan inserts the job of replanning the club.
func (tx *Tx) OweReplan(ctx context.Context, today scheduler.Date) error { panic("not written yet") }
