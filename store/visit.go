package store

import (
	"context"
	"time"

	"pryday/scheduler"
)

// VisitRecord is a visit with what only the store knows of it.
type VisitRecord struct {
	scheduler.Visit
	ChangedAt      time.Time      // DTSTAMP and LAST-MODIFIED of its calendar entry
	CancelledUntil scheduler.Date // calendars show the cancellation until then
}

// VisitFilter narrows Visits; zero fields do not narrow.
type VisitFilter struct {
	ApiaryID    int64
	MemberID    int64          // who goes
	From, Until scheduler.Date // days, both included
	OpenOnly    bool
}

// Visits lists visits by day.
func (tx *Tx) Visits(ctx context.Context, f VisitFilter) ([]VisitRecord, error) {
	panic("not written yet")
}

// Visit reads one visit.
func (tx *Tx) Visit(ctx context.Context, id int64) (*VisitRecord, error) { panic("not written yet") }

// VisitByUID reads one visit by its calendar identity.
func (tx *Tx) VisitByUID(ctx context.Context, uid string) (*VisitRecord, error) {
	panic("not written yet")
}

// MoveVisit puts an open visit on another day, pins it there and replans. It
// returns ErrVisitChanged unless sequence is the visit's present one, as do
// all functions below.
func (tx *Tx) MoveVisit(ctx context.Context, id int64, sequence int, to, today scheduler.Date) (*Replanned, error) {
	panic("not written yet")
}

// PinVisit holds a visit on its day, or lets planning move it again.
func (tx *Tx) PinVisit(ctx context.Context, id int64, sequence int, pinned bool, today scheduler.Date) (*Replanned, error) {
	panic("not written yet")
}

// CancelVisit takes a visit out; its boxes are planned anew.
func (tx *Tx) CancelVisit(ctx context.Context, id int64, sequence int, today scheduler.Date) (*Replanned, error) {
	panic("not written yet")
}

// FinishVisit marks a visit done on a day, with or without openings.
func (tx *Tx) FinishVisit(ctx context.Context, id int64, sequence int, on, today scheduler.Date) (*Replanned, error) {
	panic("not written yet")
}

// LeaveBoxOut takes a box off a visit, or puts it back.
func (tx *Tx) LeaveBoxOut(ctx context.Context, id int64, sequence int, box int64, out bool, today scheduler.Date) (*Replanned, error) {
	panic("not written yet")
}

// SetWho says who goes on a visit.
func (tx *Tx) SetWho(ctx context.Context, id int64, sequence int, members []int64) error {
	panic("not written yet")
}

// TakeVisit adds a member to those who go.
func (tx *Tx) TakeVisit(ctx context.Context, id int64, sequence int, member int64) error {
	panic("not written yet")
}

// LeaveVisit takes a member off those who go.
func (tx *Tx) LeaveVisit(ctx context.Context, id int64, sequence int, member int64) error {
	panic("not written yet")
}
