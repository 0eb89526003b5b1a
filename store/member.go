package store

import (
	"context"

	"pryday/scheduler"
)

// Membership is one club of a person, as sign-in needs it.
type Membership struct {
	PersonID int64
	ClubID   int64
	ClubName string
	MemberID int64
	Role     scheduler.Role
}

// Memberships lists the clubs of an address, in the order of their ids.
func (s *Store) Memberships(ctx context.Context, email string) ([]Membership, error) {
	panic("not written yet")
}

// Members lists the members by id.
func (tx *Tx) Members(ctx context.Context) ([]scheduler.Member, error) { panic("not written yet") }

// Member reads one member.
func (tx *Tx) Member(ctx context.Context, id int64) (*scheduler.Member, error) {
	panic("not written yet")
}

// AddMember adds a member; ErrExists when the address is a member already.
func (tx *Tx) AddMember(ctx context.Context, m scheduler.Member) (int64, error) {
	panic("not written yet")
}

// UpdateMember saves everything of a member but its person and address.
// ErrLastOrganiser when it would leave the club without an organiser.
func (tx *Tx) UpdateMember(ctx context.Context, m scheduler.Member) error { panic("not written yet") }

// RemoveMember takes a member out of the club; openings stay without "by".
func (tx *Tx) RemoveMember(ctx context.Context, id int64) error { panic("not written yet") }
