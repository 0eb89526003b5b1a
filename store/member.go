package store

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// Membership is one club of a person, as sign-in needs it.
type Membership struct {
	PersonID int64
	ClubID   int64
	ClubName string
	MemberID int64
	Role     scheduler.Role

	EndedSignIn int64 // no sign-in up to this one shows the club
}

// Memberships lists the clubs of an address, in the order of their ids.
func (s *Store) Memberships(ctx context.Context, email string) ([]Membership, error) {
	rows, err := s.pool.Query(ctx, `SELECT * FROM memberships($1)`, normalEmail(email))
	if err != nil {
		return nil, fmt.Errorf("list the clubs of an address: %w", err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByName[Membership])
	if err != nil {
		return nil, fmt.Errorf("list the clubs of an address: %w", err)
	}
	return out, nil
}

// selectMembers wants its people yet: those of the club, or one of them.
const selectMembers = `
	SELECT m.id, m.person_id, m.name, p.email, m.role, m.timezone, m.language, m.units,
	       m.days_before, m.send_at, m.mute, m.paused_until, m.visit_from, m.visit_until, m.long_mail, m.invitations,
	       coalesce(m.hours_a_day, 0), coalesce(m.visits_a_week, 0), m.weekdays, m.phone,
	       p.buttons_ended + m.buttons_ended
	  FROM member m JOIN `

func scanMember(row pgx.CollectableRow) (m scheduler.Member, err error) {
	var mute []string
	var sendAt, from, until *int16
	var weekdays int16
	err = row.Scan(&m.ID, &m.PersonID, &m.Name, &m.Email, &m.Role, &m.Timezone, &m.Language, &m.Units,
		&m.Prefs.DaysBefore, &sendAt, &mute, &m.Prefs.PausedUntil, &from, &until, &m.Prefs.LongMail, &m.Prefs.Invitations,
		&m.Prefs.HoursADay, &m.Prefs.VisitsAWeek, &weekdays, &m.Phone, &m.ButtonsEnded)
	m.Prefs.Weekdays = scheduler.WeekdaySet(weekdays)
	for _, kind := range mute {
		m.Prefs.Mute = append(m.Prefs.Mute, scheduler.MessageKind(kind))
	}
	if sendAt != nil {
		at := scheduler.ClockTime(*sendAt)
		m.Prefs.SendAt = &at
	}
	if from != nil && until != nil {
		m.Prefs.VisitHours = &scheduler.HoursOfDay{
			From: scheduler.ClockTime(*from), Until: scheduler.ClockTime(*until),
		}
	}
	return m, err
}

// Members lists the members by id, without their no-go days.
func (tx *Tx) Members(ctx context.Context) ([]scheduler.Member, error) {
	rows, err := tx.tx.Query(ctx, selectMembers+`club_people() p ON p.id = m.person_id ORDER BY m.id`)
	if err != nil {
		return nil, tx.wrap(err, "list the members")
	}
	out, err := pgx.CollectRows(rows, scanMember)
	return out, tx.wrap(err, "list the members")
}

// Member reads one member with the no-go days.
func (tx *Tx) Member(ctx context.Context, id int64) (*scheduler.Member, error) {
	rows, err := tx.tx.Query(ctx, selectMembers+`LATERAL club_person(m.person_id) p ON true WHERE m.id = $1`, id)
	if err != nil {
		return nil, tx.wrap(err, "read member %d", id)
	}
	m, err := pgx.CollectExactlyOneRow(rows, scanMember)
	if err != nil {
		return nil, tx.wrap(err, "read member %d", id)
	}
	m.NoGo, err = tx.periods(ctx, "member_id", id, "no-go")
	return &m, err
}

// AddMember adds a member, and its no-go days; ErrExists when the address is
// a member already.
func (tx *Tx) AddMember(ctx context.Context, m scheduler.Member) (int64, error) {
	person, err := tx.ensurePerson(ctx, m.Email)
	if err != nil {
		return 0, err
	}
	var id int64
	args := append([]any{tx.club, person}, memberColumns(&m)...)
	err = tx.tx.QueryRow(ctx, `
		INSERT INTO member (club_id, person_id, name, role, timezone, language, units,
		                    days_before, send_at, mute, paused_until, visit_from, visit_until, long_mail, invitations,
		                    hours_a_day, visits_a_week, weekdays, phone)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, nullif($16::float8, 0), nullif($17::smallint, 0), $18, $19)
		ON CONFLICT (club_id, person_id) DO NOTHING RETURNING id`, args...).Scan(&id)
	if err == pgx.ErrNoRows {
		err = ErrExists
	}
	if err != nil {
		return 0, tx.wrap(err, "add the member %q", m.Name)
	}
	return id, tx.setPeriods(ctx, "member_id", id, "no-go", m.NoGo)
}

func memberColumns(m *scheduler.Member) []any {
	var from, until *scheduler.ClockTime
	if h := m.Prefs.VisitHours; h != nil {
		from, until = &h.From, &h.Until
	}
	mute := make([]string, len(m.Prefs.Mute))
	for i, kind := range m.Prefs.Mute {
		mute[i] = string(kind)
	}
	return []any{
		m.Name, m.Role, m.Timezone, m.Language, m.Units,
		m.Prefs.DaysBefore, m.Prefs.SendAt, mute, m.Prefs.PausedUntil, from, until, m.Prefs.LongMail, m.Prefs.Invitations,
		m.Prefs.HoursADay, m.Prefs.VisitsAWeek, int16(m.Prefs.Weekdays), m.Phone,
	}
}

// UpdateMember saves everything of a member but its person and address.
// ErrLastOrganiser when it would leave the club without an organiser.
func (tx *Tx) UpdateMember(ctx context.Context, m scheduler.Member) error {
	args := append([]any{m.ID}, memberColumns(&m)...)
	err := tx.one(ctx, fmt.Sprintf("save member %d", m.ID), `
		UPDATE member SET name = $2, role = $3, timezone = $4, language = $5, units = $6,
		       days_before = $7, send_at = $8, mute = $9, paused_until = $10, visit_from = $11, visit_until = $12,
		       long_mail = $13, invitations = $14, hours_a_day = nullif($15::float8, 0), visits_a_week = nullif($16::smallint, 0), weekdays = $17, phone = $18
		 WHERE id = $1`, args...)
	if err != nil {
		return err
	}
	if err := tx.setPeriods(ctx, "member_id", m.ID, "no-go", m.NoGo); err != nil {
		return err
	}
	tx.feedChanged() // names of those who go, visit hours
	return tx.keepOrganiser(ctx)
}

// RemoveMember takes a member out of the club; openings stay without "by", and
// the member's calendar addresses as withdrawn ones of nobody. A person of no other club is forgotten. ErrLastOrganiser for the last one.
func (tx *Tx) RemoveMember(ctx context.Context, id int64) error {
	if err := tx.leaveLinks(ctx, "member_id", id); err != nil {
		return err
	}
	var person int64
	err := tx.tx.QueryRow(ctx, `DELETE FROM member WHERE id = $1 RETURNING person_id`, id).Scan(&person)
	if err != nil {
		return tx.wrap(err, "remove member %d", id)
	}
	tx.feedChanged()
	if err := tx.keepOrganiser(ctx); err != nil {
		return err
	}
	return tx.forgetPerson(ctx, person)
}

// forgetPerson deletes a person of no club. Whether there is another club
// cannot be seen from this one; the foreign key sees it.
func (tx *Tx) forgetPerson(ctx context.Context, person int64) error {
	_, err := tx.tx.Exec(ctx, `SELECT forget_person($1)`, person)
	return tx.wrap(err, "forget person %d", person)
}

// keepOrganiser locks the club, since two organisers could step down at once.
func (tx *Tx) keepOrganiser(ctx context.Context) error {
	if _, err := tx.tx.Exec(ctx, `SELECT FROM club FOR NO KEY UPDATE`); err != nil {
		return tx.wrap(err, "lock the members")
	}
	var some bool
	err := tx.tx.QueryRow(ctx, `
		SELECT EXISTS (SELECT FROM member WHERE role = 'organiser') OR NOT EXISTS (SELECT FROM member)`).Scan(&some)
	if err == nil && !some {
		err = ErrLastOrganiser
	}
	return tx.wrap(err, "count the organisers")
}

// ensurePerson finds the person of an address, or makes one.
func (tx *Tx) ensurePerson(ctx context.Context, email string) (int64, error) {
	email = normalEmail(email)
	var id int64
	err := tx.tx.QueryRow(ctx, `SELECT ensure_person($1)`, email).Scan(&id)
	return id, tx.wrap(err, "find the person of %q", email)
}

// normalEmail takes off what a form or a file leaves around an address.
func normalEmail(email string) string { return strings.TrimSpace(email) }
