package store

import (
	"context"

	"pryday/scheduler"
)

// Replanned tells what a replan changed.
type Replanned struct {
	Plan      *scheduler.Plan
	Added     []scheduler.Visit
	Changed   []VisitChange
	Cancelled []scheduler.Visit
}

// VisitChange is a visit before and after.
type VisitChange struct{ Old, New scheduler.Visit }

// ApiaryForPlanning locks an apiary, and those that share boxes with it, and
// reads all that planning it needs.
func (tx *Tx) ApiaryForPlanning(ctx context.Context, apiary int64) (*scheduler.Club, error) {
	panic("not written yet")
}

// Replan plans one apiary for today and saves what changed.
func (tx *Tx) Replan(ctx context.Context, apiary int64, today scheduler.Date) (*Replanned, error) {
	panic("not written yet")
}

// ReplanAll plans every apiary of the club in this transaction.
func (tx *Tx) ReplanAll(ctx context.Context, today scheduler.Date) (*Replanned, error) {
	panic("not written yet")
}

// ReplanClub plans every apiary of a club, each in a transaction of its own,
// and skips those already planned for this day by the rules that hold now.
func (s *Store) ReplanClub(ctx context.Context, club int64, today scheduler.Date) (planned int, err error) {
	panic("not written yet")
}

// SavedPlan is the plan as it was last saved: open visits and box states.
func (tx *Tx) SavedPlan(ctx context.Context) (*scheduler.Plan, error) { panic("not written yet") }

// BoxStates reads the saved states of an apiary's boxes; 0 for every apiary.
func (tx *Tx) BoxStates(ctx context.Context, apiary int64) ([]scheduler.BoxState, error) {
	panic("not written yet")
}
