package store

import (
	"context"

	"pryday/scheduler"
)

// ClubIDs lists every club of the installation.
func (s *Store) ClubIDs(ctx context.Context) ([]int64, error) { panic("not written yet") }

// CreateClub makes an empty club with the default rules.
func (s *Store) CreateClub(ctx context.Context, name string) (int64, error) {
	panic("not written yet")
}

// DeleteClub removes a club with everything in it.
func (s *Store) DeleteClub(ctx context.Context, club int64) error { panic("not written yet") }

// Club reads the club with all its records.
func (tx *Tx) Club(ctx context.Context) (*scheduler.Club, error) { panic("not written yet") }

// Outline is Club without openings and gaps: enough for lists and calendars.
func (tx *Tx) Outline(ctx context.Context) (*scheduler.Club, error) { panic("not written yet") }

// FeedVersion is the number that rises whenever what a calendar shows changes.
func (tx *Tx) FeedVersion(ctx context.Context) (int64, error) { panic("not written yet") }

// Import brings records in whole or not at all, matched by name: apiaries in
// the club, hives in their apiary, boxes in their hive, members by address,
// openings by id, visits by uid. What the records do not name stays. The
// second import of the same records changes nothing. It does not replan.
func (tx *Tx) Import(ctx context.Context, c *scheduler.Club) (*Imported, error) {
	panic("not written yet")
}

// Imported counts what an import added or changed.
type Imported struct {
	Members, Apiaries, Hives, Boxes, Openings, Visits, Rules int
}

// Changed reports whether the import changed anything.
func (i Imported) Changed() bool { return i != Imported{} }

// Export is Club: what Import of the same records would bring back.
func (tx *Tx) Export(ctx context.Context) (*scheduler.Club, error) { return tx.Club(ctx) }
