package store

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// MailboxMark is how far a mailbox was read: UIDs rise within one validity
// (RFC 9051, 2.3.1.1).
type MailboxMark struct {
	UIDValidity uint32
	UID         uint32 // the highest that was read; 0 for none
}

// MailboxMark reads how far a mailbox was read; the zero mark for a new one.
func (s *Store) MailboxMark(ctx context.Context, name string) (m MailboxMark, err error) {
	err = s.pool.QueryRow(ctx, `SELECT uid_validity, uid FROM mailbox WHERE name = $1`, name).Scan(&m.UIDValidity, &m.UID)
	if errors.Is(err, pgx.ErrNoRows) {
		return MailboxMark{}, nil
	}
	if err != nil {
		return m, fmt.Errorf("read how far mailbox %s was read: %w", name, err)
	}
	return m, nil
}

// MarkMailbox notes how far a mailbox was read. Within one validity a mark
// never goes back, so that daemons that read at once do not undo each other's.
func (s *Store) MarkMailbox(ctx context.Context, name string, m MailboxMark) error {
	_, err := s.pool.Exec(ctx, `
		INSERT INTO mailbox (name, uid_validity, uid) VALUES ($1, $2, $3)
		ON CONFLICT (name) DO UPDATE SET uid_validity = excluded.uid_validity, read_at = now(),
			uid = CASE WHEN mailbox.uid_validity = excluded.uid_validity THEN greatest(mailbox.uid, excluded.uid) ELSE excluded.uid END`,
		name, int64(m.UIDValidity), int64(m.UID))
	if err != nil {
		return fmt.Errorf("note how far mailbox %s was read: %w", name, err)
	}
	return nil
}
