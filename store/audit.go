package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"pryday/scheduler/text"
)

// AuditEntry is one line of who changed what.
type AuditEntry struct {
	Number   int64 // in its club, from 1; given at the end of the transaction
	At       time.Time
	MemberID int64           // 0 for the program itself, and for commands
	Command  string          // whoever gave a command, as the operating system names them; empty for none
	Source   string          // the address that it came from, of IPv6 its network; empty where unknown, and after SignInsKept days
	Action   string          // a verb, such as "move visit"
	Subject  string          // what it was done to, in words
	Detail   json.RawMessage // nil for none
}

// Origin says where a change comes from, for the trail.
type Origin struct {
	Command string // whoever gives a command, as the operating system names them
	Source  string // the address that a request comes from, of IPv6 its network
}

type originKey struct{}

// WithOrigin lets what is done with ctx be noted as coming from o.
func WithOrigin(ctx context.Context, o Origin) context.Context {
	return context.WithValue(ctx, originKey{}, Origin{validText(o.Command, 100), validText(o.Source, 60)})
}

func originOf(ctx context.Context) Origin {
	o, _ := ctx.Value(originKey{}).(Origin)
	return o
}

// Audit adds one line. Number and At are given by the database, and Command and
// Source are those of ctx.
func (tx *Tx) Audit(ctx context.Context, e AuditEntry) error {
	from := originOf(ctx)
	_, err := tx.tx.Exec(ctx, `
		INSERT INTO audit (club_id, member_id, action, subject, detail, command, source)
		VALUES ($1, nullif($2, 0), $3, $4, $5, $6, $7)`, tx.club, e.MemberID, e.Action, e.Subject, e.Detail, from.Command, from.Source)
	return tx.wrap(err, "note %q in the audit trail", e.Action)
}

// About is what a line of the trail keeps to say what it was done to, for
// readers of every language.
type About struct {
	About text.Text `json:"about"`
}

// Note is Audit with what it was done to as a text.
func (tx *Tx) Note(ctx context.Context, member int64, action string, subject text.Text) error {
	detail, err := json.Marshal(About{subject})
	if err != nil {
		return err
	}
	return tx.Audit(ctx, AuditEntry{MemberID: member, Action: action, Subject: (&text.Speaker{}).Tell(subject), Detail: detail})
}

// AuditTrail lists the newest lines first, those before a number, or from the
// newest when before is 0. When somebody signs in who belongs to other clubs
// too is left out, but for the member who reads.
func (tx *Tx) AuditTrail(ctx context.Context, reader, before int64, limit int) ([]AuditEntry, error) {
	out, err := list[AuditEntry](ctx, tx, `
		SELECT number, at, coalesce(member_id, 0) AS member_id, command, source, action, subject, detail
		  FROM audit WHERE ($1 = 0 OR number < $1)
		   AND NOT (personal AND member_id <> $3 AND member_id IN (SELECT members_of_several()))
		 ORDER BY number DESC LIMIT $2`, before, limit, reader)
	return out, tx.wrap(err, "read the audit trail")
}

// AuditEnd is the newest entry of a club's trail.
type AuditEnd struct {
	Number int64  // 0 where there never was one
	Hash   string // in hexadecimal digits: who keeps it elsewhere can tell whether the trail up to it was rewritten
}

// AuditEnd reads the newest entry.
func (tx *Tx) AuditEnd(ctx context.Context) (AuditEnd, error) {
	all, err := list[AuditEnd](ctx, tx, `SELECT number, encode(hash, 'hex') AS hash FROM audit_chain`)
	if err != nil || len(all) == 0 {
		return AuditEnd{}, tx.wrap(err, "read the end of the audit trail")
	}
	return all[0], nil
}

// TookData is the deed of reading all that is kept about a person.
const TookData = "take own data along"

// NotePerson notes what was done with a person's own data, in the trails of all
// their clubs.
func (s *Store) NotePerson(ctx context.Context, person int64, deed string) error {
	from := originOf(ctx)
	if _, err := s.pool.Exec(ctx, `SELECT audit_person($1, $2, $3, $4)`, person, deed, from.Command, from.Source); err != nil {
		return fmt.Errorf("note %q of person %d in the audit trails: %w", deed, person, err)
	}
	return nil
}

// NoteEverywhere adds one line to the trail of every club.
func (s *Store) NoteEverywhere(ctx context.Context, e AuditEntry) error {
	ids, err := s.ClubIDs(ctx)
	for _, id := range ids {
		if err == nil {
			err = s.InClub(ctx, id, func(tx *Tx) error { return tx.Audit(ctx, e) })
		}
	}
	return err
}
