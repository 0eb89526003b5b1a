package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/scheduler/text"
)

// MessageState is what became of a message.
type MessageState string

// The states of a message.
const (
	Owed       MessageState = "owed"
	Sent       MessageState = "sent"
	PassedOver MessageState = "passed-over" // no longer useful; never sent
	Refused    MessageState = "refused"     // the server refused it for good
	GivenUp    MessageState = "given-up"    // tried for days in vain
)

// Message is the permanent record that something was owed to someone.
type Message struct {
	ID            int64
	ClubID        int64
	Key           string // never used twice
	Kind          scheduler.MessageKind
	MemberID      int64  // 0 when the member left
	Address       string // the member's at present; as recorded when the member left, and of a mail about a change of address
	On            scheduler.Date
	Reason        string
	Items         []owed.Item
	MessageID     string // of the mail, the part before the @, made once
	State         MessageState
	OwedAt        time.Time
	SentAt        time.Time // zero unless sent
	ClosedAt      time.Time // when passed over, refused or given up; else zero
	Attempts      int
	LastAttemptAt time.Time // zero before the first
	Reply         string    // what the server last said, or why it was passed over: see ReplyText
	Returned      Return    // empty unless it came back after a server had taken it
	ReturnedAt    time.Time // zero unless it did
	ReturnedReply string    // what was said then
}

// Return says how a message came back after a server had taken it.
type Return string

// The ways in which a message comes back.
const (
	Delayed        Return = "delayed" // still being tried elsewhere
	ReturnUnclear  Return = "unclear" // something came back that does not say why
	ReturnedFailed Return = "failed"  // it was not delivered and will not be
)

// MessageFilter narrows Messages; zero fields do not narrow.
type MessageFilter struct {
	State    MessageState
	Kind     scheduler.MessageKind
	MemberID int64
	On       scheduler.Date
	Before   int64 // ids below this one: the page after
	Viewer   int64 // leaves out what this member may not see: mails by which members of other clubs sign in
	Limit    int   // 0 takes 100
}

const selectMessages = `
	SELECT g.id, g.club_id, g.key, g.kind, coalesce(g.member_id, 0),
	       CASE WHEN g.kind IN ('new-address', 'old-address') THEN g.address ELSE coalesce(p.email, g.address) END, g.on_day, g.reason, g.items,
	       g.message_id, g.state, g.owed_at, g.sent_at, g.closed_at, g.attempts, g.last_attempt_at, g.reply,
	       g.returned, g.returned_at, g.returned_reply
	  FROM message g
	  LEFT JOIN member m ON m.club_id = g.club_id AND m.id = g.member_id
	  LEFT JOIN LATERAL club_person(m.person_id) p ON true `

func scanMessage(row pgx.CollectableRow) (m Message, err error) {
	var sent, closed, attempt, returned *time.Time
	err = row.Scan(&m.ID, &m.ClubID, &m.Key, &m.Kind, &m.MemberID, &m.Address, &m.On, &m.Reason, &m.Items,
		&m.MessageID, &m.State, &m.OwedAt, &sent, &closed, &m.Attempts, &attempt, &m.Reply,
		&m.Returned, &returned, &m.ReturnedReply)
	m.SentAt, m.ClosedAt, m.LastAttemptAt, m.ReturnedAt = orZero(sent), orZero(closed), orZero(attempt), orZero(returned)
	return m, err
}

// Message reads one message.
func (tx *Tx) Message(ctx context.Context, id int64) (*Message, error) {
	return tx.oneMessage(ctx, `WHERE g.id = $1`, id)
}

// MessageByKey reads the message of a key.
func (tx *Tx) MessageByKey(ctx context.Context, key string) (*Message, error) {
	return tx.oneMessage(ctx, `WHERE g.key = $1`, key)
}

func (tx *Tx) oneMessage(ctx context.Context, where string, which any) (*Message, error) {
	rows, err := tx.tx.Query(ctx, selectMessages+where, which)
	if err != nil {
		return nil, tx.wrap(err, "read message %v", which)
	}
	m, err := pgx.CollectExactlyOneRow(rows, scanMessage)
	if err != nil {
		return nil, tx.wrap(err, "read message %v", which)
	}
	return &m, nil
}

// Messages lists messages, the newest first.
func (tx *Tx) Messages(ctx context.Context, f MessageFilter) ([]Message, error) {
	narrowed := filter{id: `g.id`}
	if f.State != "" {
		narrowed.by(`g.state = $%d`, f.State)
	}
	if f.Kind != "" {
		narrowed.by(`g.kind = $%d`, f.Kind)
	}
	if f.MemberID != 0 {
		narrowed.by(`g.member_id = $%d`, f.MemberID)
	}
	if f.On != 0 {
		narrowed.by(`g.on_day = $%d`, f.On)
	}
	if f.Before != 0 {
		narrowed.by(`g.id < $%d`, f.Before)
	}
	if f.Viewer != 0 {
		narrowed.by(`(g.kind <> 'sign-in' OR g.member_id = $%d OR g.member_id NOT IN (SELECT members_of_several()))`, f.Viewer)
	}
	rows, err := tx.tx.Query(ctx, selectMessages+narrowed.clause(f.Limit), narrowed.args...)
	if err != nil {
		return nil, tx.wrap(err, "list the messages")
	}
	out, err := pgx.CollectRows(rows, scanMessage)
	return out, tx.wrap(err, "list the messages")
}

// Delivered notes that a server took the message. A message that was settled
// before stays as it is, and so do the ones of the functions below.
func (tx *Tx) Delivered(ctx context.Context, id int64, reply string) error {
	return tx.endMessage(ctx, id, `state = 'sent', sent_at = now(), attempts = attempts + 1, last_attempt_at = now()`, reply)
}

// Refused notes that a server refused the message for good.
func (tx *Tx) Refused(ctx context.Context, id int64, reply string) error {
	return tx.endMessage(ctx, id, `state = 'refused', closed_at = now(), attempts = attempts + 1, last_attempt_at = now()`, reply)
}

// GaveUp notes that the message was tried for days in vain.
func (tx *Tx) GaveUp(ctx context.Context, id int64, reply string) error {
	return tx.endMessage(ctx, id, `state = 'given-up', closed_at = now()`, reply)
}

// PassOver notes that an owed message is no longer useful, and why, for
// ReplyText to say.
func (tx *Tx) PassOver(ctx context.Context, id int64, why text.Text) error {
	kept, err := json.Marshal(why)
	if err != nil {
		return fmt.Errorf("pass over message %d: %w", id, err)
	}
	return tx.endMessage(ctx, id, `state = 'passed-over', closed_at = now()`, string(kept))
}

// TryFailed notes an attempt after which another may succeed.
func (tx *Tx) TryFailed(ctx context.Context, id int64, reply string) error {
	return tx.endMessage(ctx, id, `attempts = attempts + 1, last_attempt_at = now()`, reply)
}

func (tx *Tx) endMessage(ctx context.Context, id int64, set, reply string) error {
	err := tx.one(ctx, fmt.Sprintf("note what became of message %d", id),
		`UPDATE message SET `+set+`, reply = $2 WHERE id = $1 AND state = 'owed'`, id, validText(reply, 2000))
	if errors.Is(err, ErrNotFound) {
		_, err = tx.Message(ctx, id)
	}
	return err
}
