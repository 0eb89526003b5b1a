package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/scheduler/text"
)

// Invitation asks a person who belongs to another club to join this one.
type Invitation struct {
	ID        int64
	PersonID  int64
	Name      string
	Email     string
	Role      scheduler.Role
	Language  string
	Units     text.Units
	InvitedBy string // a name; empty where the command line or a document invited
	CreatedAt time.Time
}

const selectInvitations = `
	SELECT i.id, i.person_id, i.name, p.email, i.role, i.language, i.units, i.invited_by, i.created_at
	  FROM invitation i JOIN invited_people() p ON p.id = i.person_id `

// AddOrInvite adds a member; who belongs to another club is invited instead,
// with a mail, and no member before they say yes. by is the name of whoever
// invites. ErrExists when the address is a member already.
func (tx *Tx) AddOrInvite(ctx context.Context, m scheduler.Member, by string) (member int64, invited bool, err error) {
	person, err := tx.ensurePerson(ctx, m.Email)
	if err != nil {
		return 0, false, err
	}
	var elsewhere bool
	err = tx.tx.QueryRow(ctx, `SELECT belongs_elsewhere($1) AND NOT EXISTS (SELECT FROM member WHERE person_id = $1)`, person).Scan(&elsewhere)
	if err != nil {
		return 0, false, tx.wrap(err, "ask for the clubs of person %d", person)
	}
	if !elsewhere {
		member, err = tx.AddMember(ctx, m)
		return member, false, err
	}
	tag, err := tx.tx.Exec(ctx, `
		INSERT INTO invitation (club_id, person_id, name, role, language, units, invited_by) VALUES ($1, $2, $3, $4, $5, $6, $7)
		ON CONFLICT (person_id, club_id) DO NOTHING`, tx.club, person, m.Name, m.Role, m.Language, m.Units, by)
	if err != nil {
		return 0, false, tx.wrap(err, "invite person %d", person)
	}
	if tag.RowsAffected() == 0 { // and was mailed then
		return 0, true, nil
	}
	return 0, true, tx.MailInvitation(ctx, person)
}

// MailInvitation owes the mail that asks a person to join, once a day at most.
func (tx *Tx) MailInvitation(ctx context.Context, person int64) error {
	i, err := tx.Invitation(ctx, person)
	if err != nil {
		return err
	}
	on := scheduler.DateOf(time.Now().UTC())
	_, err = tx.Owe(ctx, []owed.Message{{
		Key: owed.InviteKey(tx.club, person, on), Kind: scheduler.InviteMessage, Address: i.Email, On: on, Reason: InvitedBy + i.InvitedBy,
	}}, time.Time{})
	return err
}

// Invitations lists who is asked to join and has not said yes.
func (tx *Tx) Invitations(ctx context.Context) ([]Invitation, error) {
	out, err := list[Invitation](ctx, tx, selectInvitations+`ORDER BY i.name, i.id`)
	return out, tx.wrap(err, "list the invitations")
}

// Invitation reads the one of a person.
func (tx *Tx) Invitation(ctx context.Context, person int64) (*Invitation, error) {
	return tx.oneInvitation(ctx, `WHERE i.person_id = $1`, person)
}

// InvitationTo reads the one that goes to an address.
func (tx *Tx) InvitationTo(ctx context.Context, address string) (*Invitation, error) {
	return tx.oneInvitation(ctx, `WHERE lower(p.email) = lower($1)`, address)
}

func (tx *Tx) oneInvitation(ctx context.Context, where string, which any) (*Invitation, error) {
	rows, err := tx.tx.Query(ctx, selectInvitations+where, which)
	if err != nil {
		return nil, tx.wrap(err, "read an invitation")
	}
	i, err := pgx.CollectExactlyOneRow(rows, pgx.RowToAddrOfStructByName[Invitation])
	return i, tx.wrap(err, "read an invitation")
}

// Withdraw takes an invitation back, or declines it.
func (tx *Tx) Withdraw(ctx context.Context, person int64) error {
	return tx.one(ctx, fmt.Sprintf("withdraw the invitation of person %d", person), `DELETE FROM invitation WHERE person_id = $1`, person)
}

// Accept makes a member of who was invited.
func (tx *Tx) Accept(ctx context.Context, person int64) (member int64, err error) {
	i, err := tx.Invitation(ctx, person)
	if err != nil {
		return 0, err
	}
	if err := tx.Withdraw(ctx, person); err != nil {
		return 0, err
	}
	return tx.AddMember(ctx, scheduler.Member{Name: i.Name, Email: i.Email, Role: i.Role, Language: i.Language, Units: i.Units})
}

// Asked is a club that a person is asked to join.
type Asked struct {
	ClubID    int64
	ClubName  string
	Role      scheduler.Role
	InvitedBy string
	CreatedAt time.Time
}

// InvitationsOf lists the clubs that a person is asked to join.
func (s *Store) InvitationsOf(ctx context.Context, person int64) ([]Asked, error) {
	rows, err := s.pool.Query(ctx, `SELECT * FROM invitations_of($1)`, person)
	if err == nil {
		var out []Asked
		if out, err = pgx.CollectRows(rows, pgx.RowToStructByName[Asked]); err == nil {
			return out, nil
		}
	}
	return nil, fmt.Errorf("list the invitations of person %d: %w", person, err)
}
