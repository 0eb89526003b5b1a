package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// ShownEntry is what a calendar address last showed of a visit.
type ShownEntry struct {
	VisitID   int64
	Digest    [16]byte // of all that the entry says
	Sequence  int
	ChangedAt time.Time // to the second
}

// ShownKept is for how many days after a visit it is known what calendars
// showed of it: longer than they show it.
const ShownKept = 120

// queueShown reads what a calendar address last showed of visits, by visit.
func queueShown(b *pgx.Batch, into *map[int64]ShownEntry, link int64, visits []VisitRecord) {
	b.Queue(`SELECT visit_id, digest, sequence, changed_at FROM calendar_entry WHERE link_id = $1 AND visit_id = ANY($2)`, link, visitIDs(visits)).Query(func(rows pgx.Rows) error {
		*into = map[int64]ShownEntry{}
		var e ShownEntry
		var digest []byte
		_, err := pgx.ForEachRow(rows, []any{&e.VisitID, &digest, &e.Sequence, &e.ChangedAt}, func() error {
			copy(e.Digest[:], digest)
			(*into)[e.VisitID] = e
			return nil
		})
		return err
	})
}

// LockShown reads what a calendar address last showed of visits, by visit, and of which
// feed version of the club, for whoever goes on to Show.
func (tx *Tx) LockShown(ctx context.Context, link int64, visits []VisitRecord) (version int64, shown map[int64]ShownEntry, err error) {
	var b pgx.Batch
	b.Queue(`SELECT shown_version FROM calendar_link WHERE id = $1 FOR NO KEY UPDATE`, link).QueryRow(func(row pgx.Row) error { return row.Scan(&version) })
	queueShown(&b, &shown, link, visits)
	return version, shown, tx.wrap(tx.tx.SendBatch(ctx, &b).Close(), "lock calendar address %d", link)
}

// Show notes what a calendar address shows from a feed version of the club on.
func (tx *Tx) Show(ctx context.Context, link, version int64, entries []ShownEntry) error {
	n := len(entries)
	visit, sequence, digest, at := make([]int64, n), make([]int, n), make([][]byte, n), make([]time.Time, n)
	for i, e := range entries {
		visit[i], sequence[i], digest[i], at[i] = e.VisitID, e.Sequence, entries[i].Digest[:], e.ChangedAt
	}
	var b pgx.Batch
	b.Queue(`UPDATE calendar_link SET shown_version = $2 WHERE id = $1`, link, version)
	b.Queue(`
		INSERT INTO calendar_entry AS e (club_id, link_id, visit_id, digest, sequence, changed_at)
		SELECT $1::bigint, $2::bigint, u.* FROM unnest($3::bigint[], $4::bytea[], $5::int[], $6::timestamptz[]) u
		ON CONFLICT (club_id, link_id, visit_id) DO UPDATE
		   SET digest = excluded.digest, sequence = excluded.sequence, changed_at = excluded.changed_at`,
		tx.club, link, visit, digest, sequence, at)
	return tx.wrap(tx.tx.SendBatch(ctx, &b).Close(), "note what calendar address %d shows", link)
}

// clearShown takes away what was shown of visits before a day, and at
// addresses that ended.
func (tx *Tx) clearShown(ctx context.Context, since scheduler.Date) (int, error) {
	tag, err := tx.tx.Exec(ctx, `
		DELETE FROM calendar_entry e USING (
			SELECT o.link_id, o.visit_id FROM calendar_entry o
			  JOIN visit v ON v.club_id = o.club_id AND v.id = o.visit_id
			  JOIN calendar_link l ON l.club_id = o.club_id AND l.id = o.link_id
			 WHERE v.on_day < $1 OR l.revoked_at IS NOT NULL OR l.replaced_at IS NOT NULL
			 LIMIT $2 FOR UPDATE OF o SKIP LOCKED) old
		 WHERE e.link_id = old.link_id AND e.visit_id = old.visit_id`, since, clearAtOnce)
	return int(tag.RowsAffected()), tx.wrap(err, "clear what calendars showed before %s", since)
}
