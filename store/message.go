package store

import (
	"context"
	"time"

	"pryday/scheduler"
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
	Address       string // the member's at present; as recorded when the member left
	On            scheduler.Date
	Reason        string
	Items         []scheduler.OwedItem
	MessageID     string // of the mail, without angle brackets, made once
	State         MessageState
	OwedAt        time.Time
	SentAt        time.Time
	ClosedAt      time.Time // when passed over, refused or given up
	Attempts      int
	LastAttemptAt time.Time
	Reply         string // what the server last said, or why it was passed over
}

// MessageFilter narrows Messages; zero fields do not narrow.
type MessageFilter struct {
	State    MessageState
	Kind     scheduler.MessageKind
	MemberID int64
	Before   int64 // ids below this one: the page after
	Limit    int   // 0 takes 100
}

// Message reads one message.
func (tx *Tx) Message(ctx context.Context, id int64) (*Message, error) { panic("not written yet") }

// Messages lists messages, the newest first.
func (tx *Tx) Messages(ctx context.Context, f MessageFilter) ([]Message, error) {
	panic("not written yet")
}

// Delivered notes that a server took the message.
func (tx *Tx) Delivered(ctx context.Context, id int64, reply string) error { panic("not written yet") }

// Refused notes that a server refused the message for good.
func (tx *Tx) Refused(ctx context.Context, id int64, reply string) error { panic("not written yet") }

// GaveUp notes that it was tried for days in vain.
func (tx *Tx) GaveUp(ctx context.Context, id int64, reply string) error { panic("not written yet") }

// PassOver notes that an owed message is no longer useful.
func (tx *Tx) PassOver(ctx context.Context, id int64, why string) error { panic("not written yet") }

// TryFailed notes an attempt that may succeed later.
func (tx *Tx) TryFailed(ctx context.Context, id int64, reply string) error {
	panic("not written yet")
}

// Before reads what was decided up to now, for scheduler.Owed, and keeps other
// daemons from deciding for this club until the transaction ends.
func (tx *Tx) Before(ctx context.Context, now time.Time) (scheduler.Before, error) {
	panic("not written yet")
}

// OwedCount tells what Owe did.
type OwedCount struct {
	New        int // recorded and to be delivered
	PassedOver int // recorded, never sent
	Known      int // recorded before: nothing changed
}

// Owe records messages, with a delivery job each in the same transaction, and
// what they tell. A message whose key is known changes nothing; one that is
// passed over gets no job. decidedAt is what Before returns as Since next; zero
// leaves it.
func (tx *Tx) Owe(ctx context.Context, owed []scheduler.OwedMessage, decidedAt time.Time) (OwedCount, error) {
	panic("not written yet")
}
