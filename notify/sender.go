package notify

import (
	"context"

	"pryday/notify/smtp"
)

// Sender hands one letter to one recipient. It is a seam to the outside: an
// SMTP server, or a Maildir on this machine.
type Sender interface {
	// Send tries once and says what came of it. It is safe for concurrent use
	// and returns by the context's deadline.
	Send(ctx context.Context, l *smtp.Letter) smtp.Outcome
	// Close lets idle connections go.
	Close() error
}
