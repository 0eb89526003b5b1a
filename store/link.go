package store

import (
	"context"
	"time"
)

// LinkKind says what a calendar address shows.
type LinkKind string

// The kinds of link.
const (
	MemberLink LinkKind = "member"
	ApiaryLink LinkKind = "apiary"
	ClubLink   LinkKind = "club"
)

// LinkOptions are a subscriber's wishes.
type LinkOptions struct {
	Label         string
	ConfirmedOnly bool
	Alarms        bool
	Timed         bool // at the member's visit hours, not all-day
	Far           bool // tentative visits beyond eight weeks too
	ExactPlace    bool // GEO; on a member's own link only
}

// Link is one calendar address.
type Link struct {
	ID       int64
	ClubID   int64
	Kind     LinkKind
	MemberID int64 // whose it is
	ApiaryID int64 // of the kind apiary
	LinkOptions
	CreatedAt  time.Time
	ChangedAt  time.Time
	ReplacedAt time.Time // rotated: one last calendar says so
	RevokedAt  time.Time
	FetchedAt  time.Time
	FetchedBy  string // the client that last asked
	Fetches    int64
}

// LinkByToken finds a link. ErrNotFound for a token never given out, ErrGone,
// with the link, for one revoked.
func (s *Store) LinkByToken(ctx context.Context, token string) (*Link, error) {
	panic("not written yet")
}

// Fetch is one or more readings of a link since the last flush.
type Fetch struct {
	ClubID, LinkID int64
	At             time.Time
	Client         string
	Count          int64
}

// FlushFetches notes when links were last read, and by what.
func (s *Store) FlushFetches(ctx context.Context, fetches []Fetch) error { panic("not written yet") }

// CreateLink makes a link and returns its token, which is kept nowhere.
func (tx *Tx) CreateLink(ctx context.Context, kind LinkKind, member, apiary int64, o LinkOptions) (*Link, string, error) {
	panic("not written yet")
}

// Links lists a member's links; 0 for all of the club.
func (tx *Tx) Links(ctx context.Context, member int64) ([]Link, error) { panic("not written yet") }

// UpdateLink saves a link's options.
func (tx *Tx) UpdateLink(ctx context.Context, id int64, o LinkOptions) error {
	panic("not written yet")
}

// RotateLink replaces a link by a new one with the same options. The old
// address serves one last calendar that says so; RevokeLink ends it.
func (tx *Tx) RotateLink(ctx context.Context, id int64) (*Link, string, error) {
	panic("not written yet")
}

// RevokeLink withdraws a link at once.
func (tx *Tx) RevokeLink(ctx context.Context, id int64) error { panic("not written yet") }
