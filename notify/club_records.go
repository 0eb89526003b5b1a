package notify

import (
	"context"
	"time"

	"pryday/scheduler"
	"pryday/store"
)

// clubRecords are all that one club's mail is written from, read at one
// moment. Nobody changes them.
type clubRecords struct {
	club       *scheduler.Club
	plan       *scheduler.Plan // from the club's day on
	members    map[int64]*scheduler.Member
	visits     map[string]*scheduler.Visit
	refused    map[int64]string // members whose address a server refused, with its words
	subscribed map[int64]bool   // members whose calendar asks for the visits
}

// readClubRecords reads what a club's mail of a moment is written from.
func readClubRecords(ctx context.Context, tx *store.Tx, now time.Time) (*clubRecords, error) {
	var r clubRecords
	var err error
	if r.club, err = tx.Club(ctx); err != nil {
		return nil, err
	}
	if r.plan, err = tx.SavedPlan(ctx, r.club.Today(now)); err != nil {
		return nil, err
	}
	r.plan.Unwritten = r.club.Unwritten(r.plan.Today)
	if r.refused, err = tx.RefusedMembers(ctx); err != nil {
		return nil, err
	}
	if r.subscribed, err = tx.Subscribers(ctx); err != nil {
		return nil, err
	}
	r.members = make(map[int64]*scheduler.Member, len(r.club.Members))
	for i := range r.club.Members {
		r.members[r.club.Members[i].ID] = &r.club.Members[i]
	}
	r.visits = visitsByUID(r.club, r.plan)
	return &r, nil
}
