package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// Former stands for the name and the address of a person who was erased.
const Former = "a former member"

// LastOrganiserError says in which clubs a person is the last organiser; it is
// ErrLastOrganiser.
type LastOrganiserError struct{ Clubs string }

func (e *LastOrganiserError) Error() string { return ErrLastOrganiser.Error() + ": " + e.Clubs }

// Unwrap returns ErrLastOrganiser.
func (e *LastOrganiserError) Unwrap() error { return ErrLastOrganiser }

// lastOrganiser is the SQLSTATE of erase_person for the last organiser of a club.
const lastOrganiser = "PD001"

// ErasePerson takes a person out of every club, with name and address wherever
// they stand as such; what was done to boxes stays. A LastOrganiserError where a
// club would have no organiser left; then nothing changes.
func (s *Store) ErasePerson(ctx context.Context, person int64) error {
	for i := 1; ; i++ {
		_, err := s.pool.Exec(ctx, `SELECT erase_person($1, $2, $3)`, person, Former, originOf(ctx).Command)
		var pg *pgconn.PgError
		switch {
		case err == nil:
			return nil
		case code(err) == deadlockDetected && i < attempts:
			continue
		case errors.As(err, &pg) && pg.Code == lastOrganiser:
			err = &LastOrganiserError{pg.Detail}
		}
		return fmt.Errorf("erase person %d: %w", person, err)
	}
}

// PersonData is all that is kept about a person, as one JSON document: what
// belongs to the person, and in each club the membership, what was recorded,
// promised and mailed. Fields are named as the database names them. Secrets,
// which are kept as hashes alone, are left out.
func (s *Store) PersonData(ctx context.Context, person int64) ([]byte, error) {
	var data struct {
		Person json.RawMessage   `json:"person"`
		Clubs  []json.RawMessage `json:"clubs"`
	}
	var email string
	err := s.pool.QueryRow(ctx, `SELECT email, kept FROM person_data($1)`, person).Scan(&email, &data.Person)
	if errors.Is(err, pgx.ErrNoRows) {
		err = ErrNotFound
	}
	if err != nil {
		return nil, fmt.Errorf("read what is kept about person %d: %w", person, err)
	}
	clubs, err := s.Memberships(ctx, email)
	if err != nil {
		return nil, err
	}
	for _, c := range clubs {
		err := s.InSnapshot(ctx, c.ClubID, func(tx *Tx) error {
			var of json.RawMessage
			err := tx.tx.QueryRow(ctx, memberData, c.MemberID).Scan(&of)
			data.Clubs = append(data.Clubs, of)
			return tx.wrap(err, "read what is kept about member %d", c.MemberID)
		})
		if err != nil {
			return nil, err
		}
	}
	return json.MarshalIndent(data, "", "  ")
}

const memberData = `
	SELECT jsonb_build_object('club', (SELECT name FROM club), 'membership', to_jsonb(m) - 'club_id' - 'person_id' - 'buttons_ended' - 'ended_sign_in',
	       'days_away', (SELECT coalesce(jsonb_agg(to_jsonb(l) - 'club_id' - 'id' - 'member_id'), '[]') FROM leave_alone l WHERE l.member_id = m.id),
	       'keeper_of', (SELECT coalesce(jsonb_agg(a.name ORDER BY a.name), '[]') FROM apiary_keeper k JOIN apiary a ON a.id = k.apiary_id WHERE k.member_id = m.id),
	       'visits', (SELECT coalesce(jsonb_agg(jsonb_build_object('apiary', a.name, 'on', v.on_day, 'status', v.status, 'said', w.said) ORDER BY v.on_day, v.id), '[]')
	                    FROM visit_member w JOIN visit v ON v.id = w.visit_id JOIN apiary a ON a.id = v.apiary_id WHERE w.member_id = m.id),
	       'openings', (SELECT coalesce(jsonb_agg(to_jsonb(o) - 'club_id' - 'box_id' - 'by_member' - 'opened_by_member' - 'seq' || jsonb_build_object('box', b.name) ORDER BY o.seq), '[]')
	                      FROM opening o JOIN box b ON b.id = o.box_id WHERE o.by_member = m.id OR o.opened_by_member = m.id),
	       'photos', (SELECT count(*) FROM photo p WHERE p.by_member = m.id),
	       'calendar_addresses', (SELECT coalesce(jsonb_agg(to_jsonb(l) ORDER BY l.id), '[]') FROM (
	                                SELECT id, kind, apiary_id, label, confirmed_only, alarms, timed, far, exact_place, created_at, changed_at,
	                                       replaced_at, revoked_at, fetched_at, fetched_by, fetches, shown_version, language
	                                  FROM calendar_link WHERE member_id = m.id) l),
	       'messages', (SELECT coalesce(jsonb_agg(to_jsonb(g) - 'club_id' - 'member_id' - 'key' ORDER BY g.id), '[]') FROM message g WHERE g.member_id = m.id),
	       'mail_received', (SELECT coalesce(jsonb_agg(to_jsonb(i) - 'club_id' - 'member_id' - 'digest' - 'raw' ORDER BY i.id), '[]') FROM inbound_mail i WHERE i.member_id = m.id),
	       'trail', (SELECT coalesce(jsonb_agg(jsonb_build_object('at', t.at, 'action', t.action, 'subject', t.subject) ORDER BY t.id), '[]') FROM audit t WHERE t.member_id = m.id))
	  FROM member m WHERE m.id = $1`
