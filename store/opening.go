package store

import (
	"context"

	"pryday/scheduler"
)

// BoxOpening is one opening of one box, to be recorded.
type BoxOpening struct {
	BoxID   int64
	Opening scheduler.Opening // its ID a UUID; empty gets a random one
}

// Recorded tells what recording openings changed.
type Recorded struct {
	New       []string // ids of the openings that were not known before
	Before    map[int64]scheduler.BoxState
	After     map[int64]scheduler.BoxState
	Replanned *Replanned
}

// RecordOpenings adds openings of boxes of one apiary and replans it, in this
// transaction. An opening whose ID is known changes nothing. One that names
// another in Supersedes corrects it (ErrSuperseded if that was done already).
// A visit whose boxes have now all been opened is done.
func (tx *Tx) RecordOpenings(ctx context.Context, openings []BoxOpening, today scheduler.Date) (*Recorded, error) {
	panic("not written yet")
}

// RecordOpening is RecordOpenings of one.
func (tx *Tx) RecordOpening(ctx context.Context, box int64, o scheduler.Opening, today scheduler.Date) (*Recorded, error) {
	return tx.RecordOpenings(ctx, []BoxOpening{{BoxID: box, Opening: o}}, today)
}

// Openings reads all openings of a box in the order recorded.
func (tx *Tx) Openings(ctx context.Context, box int64) ([]scheduler.Opening, error) {
	panic("not written yet")
}
