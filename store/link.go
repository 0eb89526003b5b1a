package store

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"
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
	MemberID int64 // whose it is; 0 once the member has left
	ApiaryID int64 // of the kind apiary; 0 once it is removed
	LinkOptions
	CreatedAt  time.Time
	ChangedAt  time.Time // when its options changed last
	ReplacedAt time.Time // rotated; zero if not
	RevokedAt  time.Time // withdrawn; zero if not
	FetchedAt  time.Time // zero when never
	FetchedBy  string    // the client that last asked
	Fetches    int64
}

// EndedAt is when a link was withdrawn, or replaced if it was not; zero for one
// that holds.
func (l *Link) EndedAt() time.Time {
	if !l.RevokedAt.IsZero() {
		return l.RevokedAt
	}
	return l.ReplacedAt
}

const linkColumns = `id, club_id, kind, coalesce(member_id, 0), coalesce(apiary_id, 0), label, confirmed_only, alarms, timed, far, exact_place,
	       created_at, changed_at, replaced_at, revoked_at, fetched_at, fetched_by, fetches`

const selectLinks = `SELECT ` + linkColumns + ` FROM calendar_link `

func scanLink(row pgx.CollectableRow) (l Link, err error) {
	var replaced, revoked, fetched *time.Time
	err = row.Scan(&l.ID, &l.ClubID, &l.Kind, &l.MemberID, &l.ApiaryID, &l.Label, &l.ConfirmedOnly, &l.Alarms, &l.Timed,
		&l.Far, &l.ExactPlace, &l.CreatedAt, &l.ChangedAt, &replaced, &revoked, &fetched, &l.FetchedBy, &l.Fetches)
	l.ReplacedAt, l.RevokedAt, l.FetchedAt = orZero(replaced), orZero(revoked), orZero(fetched)
	return l, err
}

// LinkByToken finds a link. ErrNotFound for a token never given out; ErrGone,
// with the link, for one revoked.
func (s *Store) LinkByToken(ctx context.Context, token string) (*Link, error) {
	club, err := s.ClubOfLink(ctx, token)
	if err != nil {
		return nil, err
	}
	var link Link
	err = s.InSnapshot(ctx, club, func(tx *Tx) (err error) {
		link, err = tx.oneLink(ctx, `WHERE id = link_of_token($1)`, hashToken(token))
		return err
	})
	if err != nil {
		return nil, err
	}
	if !link.RevokedAt.IsZero() {
		return &link, fmt.Errorf("calendar address %d of club %d: %w", link.ID, link.ClubID, ErrGone)
	}
	return &link, nil
}

func (tx *Tx) oneLink(ctx context.Context, where string, arg any) (Link, error) {
	rows, err := tx.tx.Query(ctx, selectLinks+where, arg)
	if err != nil {
		return Link{}, tx.wrap(err, "read a calendar address")
	}
	l, err := pgx.CollectExactlyOneRow(rows, scanLink)
	return l, tx.wrap(err, "read a calendar address")
}

// Link reads one link.
func (tx *Tx) Link(ctx context.Context, id int64) (*Link, error) {
	l, err := tx.oneLink(ctx, `WHERE id = $1`, id)
	if err != nil {
		return nil, err
	}
	return &l, nil
}

// Links lists a member's links, the oldest first; 0 lists those of all members.
func (tx *Tx) Links(ctx context.Context, member int64) ([]Link, error) {
	rows, err := tx.tx.Query(ctx, selectLinks+`WHERE member_id = $1 OR $1 = 0 AND member_id IS NOT NULL ORDER BY id`, member)
	if err != nil {
		return nil, tx.wrap(err, "list the calendar addresses")
	}
	out, err := pgx.CollectRows(rows, scanLink)
	return out, tx.wrap(err, "list the calendar addresses")
}

// CreateLink makes a link and returns its token of 160 random bits, which is
// kept nowhere. apiary is for the kind apiary alone.
func (tx *Tx) CreateLink(ctx context.Context, kind LinkKind, member, apiary int64, o LinkOptions) (*Link, string, error) {
	token, hash := newToken()
	rows, err := tx.tx.Query(ctx, `
		INSERT INTO calendar_link (club_id, token_hash, kind, member_id, apiary_id, label, confirmed_only, alarms, timed, far, exact_place)
		VALUES ($1, $2, $3, $4, nullif($5, 0), $6, $7, $8, $9, $10, $11) RETURNING `+linkColumns,
		tx.club, hash, kind, member, apiary, o.Label, o.ConfirmedOnly, o.Alarms, o.Timed, o.Far, o.ExactPlace)
	var l Link
	if err == nil {
		l, err = pgx.CollectExactlyOneRow(rows, scanLink)
	}
	if code(err) == foreignKeyViolation {
		err = ErrNotFound
	}
	if err != nil {
		return nil, "", tx.wrap(err, "make a calendar address for member %d", member)
	}
	return &l, token, nil
}

// UpdateLink saves a link's options.
func (tx *Tx) UpdateLink(ctx context.Context, id int64, o LinkOptions) error {
	tx.feedChanged()
	return tx.one(ctx, fmt.Sprintf("change calendar address %d", id), `
		UPDATE calendar_link SET label = $2, confirmed_only = $3, alarms = $4, timed = $5, far = $6, exact_place = $7,
		       changed_at = now() WHERE id = $1`,
		id, o.Label, o.ConfirmedOnly, o.Alarms, o.Timed, o.Far, o.ExactPlace)
}

// RotateLink replaces a link by a new one with the same options. The old
// address serves one last calendar that says so. ErrGone
// for a link that was revoked or replaced before.
func (tx *Tx) RotateLink(ctx context.Context, id int64) (*Link, string, error) {
	old, err := tx.Link(ctx, id)
	if err != nil {
		return nil, "", err
	}
	err = tx.one(ctx, fmt.Sprintf("replace calendar address %d", id), `
		UPDATE calendar_link SET replaced_at = now(), changed_at = now()
		 WHERE id = $1 AND replaced_at IS NULL AND revoked_at IS NULL`, id)
	if errors.Is(err, ErrNotFound) {
		err = tx.wrap(ErrGone, "replace calendar address %d", id)
	}
	if err != nil {
		return nil, "", err
	}
	tx.feedChanged()
	return tx.CreateLink(ctx, old.Kind, old.MemberID, old.ApiaryID, old.LinkOptions)
}

// RevokeLink withdraws a link at once: its address serves one last calendar
// that says so. Revoking it twice changes nothing.
func (tx *Tx) RevokeLink(ctx context.Context, id int64) error {
	tx.feedChanged()
	return tx.one(ctx, fmt.Sprintf("revoke calendar address %d", id),
		`UPDATE calendar_link SET revoked_at = coalesce(revoked_at, now()) WHERE id = $1`, id)
}

// leaveLinks withdraws the links of a member or an apiary that is about to be
// removed, so that their addresses say so before they are gone.
func (tx *Tx) leaveLinks(ctx context.Context, of string, id int64) error {
	set := map[string]string{
		"apiary_id": ``,
		"member_id": `, label = '', fetched_by = '', language = (SELECT m.language FROM member m WHERE m.id = $1)`,
	}[of]
	_, err := tx.tx.Exec(ctx, `
		UPDATE calendar_link SET `+of+` = NULL, revoked_at = coalesce(revoked_at, now())`+set+` WHERE `+of+` = $1`, id)
	return tx.wrap(err, "withdraw the calendar addresses with %s %d", of, id)
}

// Subscribers are the members with a calendar address that holds and that some
// calendar has ever asked for.
func (tx *Tx) Subscribers(ctx context.Context) (map[int64]bool, error) {
	rows, err := tx.tx.Query(ctx, `
		SELECT DISTINCT member_id FROM calendar_link WHERE fetched_at IS NOT NULL AND revoked_at IS NULL AND replaced_at IS NULL`)
	if err != nil {
		return nil, tx.wrap(err, "list who has a calendar")
	}
	members := map[int64]bool{}
	var id int64
	_, err = pgx.ForEachRow(rows, []any{&id}, func() error {
		members[id] = true
		return nil
	})
	return members, tx.wrap(err, "list who has a calendar")
}

// Fetch is one or more readings of a link since the last flush.
type Fetch struct {
	ClubID, LinkID int64
	At             time.Time // of the last one
	Client         string    // what it says it is; at most 200 bytes are kept
	Count          int64
}

// FlushFetches notes when links were last read, and by what. It is called once
// a minute with what gathered, never once a request. Links that are no more
// are passed over.
func (s *Store) FlushFetches(ctx context.Context, fetches []Fetch) error {
	byClub := map[int64][]Fetch{}
	for _, f := range fetches {
		byClub[f.ClubID] = append(byClub[f.ClubID], f)
	}
	var failed []error
	for _, club := range slices.Sorted(maps.Keys(byClub)) {
		failed = append(failed, s.InClub(ctx, club, func(tx *Tx) error { return tx.flushFetches(ctx, byClub[club]) }))
	}
	return errors.Join(failed...)
}

func (tx *Tx) flushFetches(ctx context.Context, fetches []Fetch) error {
	slices.SortFunc(fetches, func(a, b Fetch) int { return int(a.LinkID - b.LinkID) })
	n := len(fetches)
	link, count, client, at := make([]int64, n), make([]int64, n), make([]string, n), make([]time.Time, n)
	for i, f := range fetches {
		link[i], count[i], at[i] = f.LinkID, f.Count, f.At
		client[i] = validText(f.Client, 200)
	}
	_, err := tx.tx.Exec(ctx, `
		UPDATE calendar_link l SET fetches = l.fetches + u.count, fetched_at = greatest(l.fetched_at, u.at), fetched_by = u.client
		  FROM unnest($1::bigint[], $2::bigint[], $3::timestamptz[], $4::text[]) AS u(id, count, at, client)
		 WHERE l.id = u.id`, link, count, at, client)
	return tx.wrap(err, "note the readings of %d calendar addresses", n)
}
