package store

import (
	"context"
	"encoding/json"
	"time"
)

// AuditEntry is one line of who changed what.
type AuditEntry struct {
	ID       int64
	At       time.Time
	MemberID int64           // 0 for the program itself, and for members who left
	Action   string          // a verb, such as "move visit"
	Subject  string          // what it was done to, in words
	Detail   json.RawMessage // nil for none
}

// Audit adds one line; ID and At are given by the store.
func (tx *Tx) Audit(ctx context.Context, e AuditEntry) error {
	_, err := tx.tx.Exec(ctx, `
		INSERT INTO audit (club_id, member_id, action, subject, detail)
		VALUES ($1, nullif($2, 0), $3, $4, $5)`, tx.club, e.MemberID, e.Action, e.Subject, e.Detail)
	return tx.wrap(err, "note %q in the audit trail", e.Action)
}

// AuditTrail lists the newest lines first, those before an id, or from the
// newest when before is 0.
func (tx *Tx) AuditTrail(ctx context.Context, before int64, limit int) ([]AuditEntry, error) {
	out, err := list[AuditEntry](ctx, tx, `
		SELECT id, at, coalesce(member_id, 0) AS member_id, action, subject, detail
		  FROM audit WHERE $1 = 0 OR id < $1 ORDER BY id DESC LIMIT $2`, before, limit)
	return out, tx.wrap(err, "read the audit trail")
}
