package store

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"io"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

const (
	// UploadsKept is for how many days a spreadsheet is kept that nobody works on.
	UploadsKept = 1
	// MostUploads is how many a club keeps at once: a further one takes the place of
	// the one that was left longest.
	MostUploads = 5
	// maxTables bounds what an upload is unpacked to, in bytes.
	maxTables = 64 << 20
)

// Upload is a spreadsheet that somebody brings in, between the steps of doing so.
type Upload struct {
	ID        string
	ByMember  int64
	Name      string // of the file; empty for cells that were pasted
	TouchedAt time.Time
}

// AddUpload keeps a spreadsheet: its tables, and what is known of them so far. Both
// are kept as JSON.
func (tx *Tx) AddUpload(ctx context.Context, by int64, name string, tables, choices any) (id string, err error) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if err := json.NewEncoder(z).Encode(tables); err != nil {
		return "", tx.wrap(err, "pack the upload")
	}
	if err := z.Close(); err != nil {
		return "", tx.wrap(err, "pack the upload")
	}
	id = uuid.NewString()
	var b pgx.Batch
	b.Queue(`
		DELETE FROM upload WHERE id = ANY(ARRAY(SELECT id FROM upload ORDER BY touched_at DESC OFFSET $1))`, MostUploads-1)
	b.Queue(`INSERT INTO upload (club_id, id, by_member, name, tables, choices) VALUES ($1, $2, $3, left($4, 200), $5, $6)`,
		tx.club, id, by, name, packed.Bytes(), choices)
	return id, tx.wrap(tx.tx.SendBatch(ctx, &b).Close(), "keep the upload %q", name)
}

// Upload reads a spreadsheet with what was said about it. ErrNotFound when the club
// has none of that id any more.
func (tx *Tx) Upload(ctx context.Context, id string, tables, choices any) (*Upload, error) {
	if uuid.Validate(id) != nil {
		return nil, ErrNotFound
	}
	u := &Upload{ID: id}
	var packed []byte
	err := tx.tx.QueryRow(ctx, `SELECT by_member, name, touched_at, tables, choices FROM upload WHERE id = $1`, id).
		Scan(&u.ByMember, &u.Name, &u.TouchedAt, &packed, choices)
	if err == pgx.ErrNoRows {
		return nil, ErrNotFound
	}
	if err == nil {
		var z *gzip.Reader
		if z, err = gzip.NewReader(bytes.NewReader(packed)); err == nil {
			err = json.NewDecoder(io.LimitReader(z, maxTables)).Decode(tables)
		}
	}
	return u, tx.wrap(err, "read upload %s", id)
}

// Uploads lists the spreadsheets that are under way, the last touched first.
func (tx *Tx) Uploads(ctx context.Context) ([]Upload, error) {
	rows, err := tx.tx.Query(ctx, `SELECT id::text, by_member, name, touched_at FROM upload ORDER BY touched_at DESC`)
	if err != nil {
		return nil, tx.wrap(err, "list the uploads")
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByPos[Upload])
	return out, tx.wrap(err, "list the uploads")
}

// ChooseForUpload keeps what was said about a spreadsheet.
func (tx *Tx) ChooseForUpload(ctx context.Context, id string, choices any) error {
	return tx.one(ctx, "keep what was said about upload "+id, `UPDATE upload SET choices = $2, touched_at = now() WHERE id = $1`, id, choices)
}

// ForgetUpload takes a spreadsheet away; it is no error when there is none.
func (tx *Tx) ForgetUpload(ctx context.Context, id string) error {
	if uuid.Validate(id) != nil {
		return ErrNotFound
	}
	_, err := tx.tx.Exec(ctx, `DELETE FROM upload WHERE id = $1`, id)
	return tx.wrap(err, "forget upload %s", id)
}

// clearUploads takes away the spreadsheets that nobody worked on for a day.
func (tx *Tx) clearUploads(ctx context.Context) (int, error) {
	tag, err := tx.tx.Exec(ctx, `
		DELETE FROM upload WHERE id = ANY(ARRAY(
			SELECT id FROM upload WHERE touched_at < now() - make_interval(days => $1) LIMIT $2 FOR UPDATE SKIP LOCKED))`,
		UploadsKept, clearAtOnce)
	return int(tag.RowsAffected()), tx.wrap(err, "clear the uploads")
}

// BeginImport keeps other imports and every planner out until the transaction ends,
// so that what is read of the club from then on is what Import finds.
func (tx *Tx) BeginImport(ctx context.Context) error {
	return tx.wrap((&importing{tx: tx}).lock(ctx), "begin an import")
}
