// Package inbox takes mail in: replies to our mails, reports that they came
// back, and calendars' answers to invitations. Mail is stored before it is
// acknowledged, read afterwards by a job, and handled once.
//
// Every address that mail comes to is signed and says whose it is; who a mail
// claims to be from decides nothing.
package inbox

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"strings"
	"time"

	"github.com/emersion/go-message"

	"pryday/store"
)

// What Known and Take say of mail that they do not want.
var (
	ErrUnknown = errors.New("no such address")
	ErrTooMany = errors.New("too many mails to this address today")
	ErrLoop    = errors.New("too many hops: this mail goes round")
)

// How much one member can make us store and send in a day.
const (
	takenADay     = 100
	forwardsADay  = 20
	answersADay   = 10
	textsKeptFor  = 60 * 24 * time.Hour  // also attached files, and what the messages page shows
	recordsKept   = 400 * 24 * time.Hour // that something came in, and what became of it
	failuresInRow = 3                    // of other kinds than a bad address, until nothing is sent there
)

// Config is what a desk needs.
type Config struct {
	Store     *store.Store
	Addresses *Addresses
	PublicURL *url.URL
	Now       func() time.Time // the real instant
	Civil     func() time.Time // the instant that decides which day it is
	Logger    *slog.Logger
}

// Desk takes mail and handles it. It is safe for concurrent use.
type Desk struct {
	Config
	quoted quoting
}

// NewDesk makes a desk.
func NewDesk(c Config) *Desk {
	return &Desk{Config: c, quoted: newQuoting(c.PublicURL, c.Addresses)}
}

// Known returns nil when mail to a signed address can be taken, and ErrUnknown
// when its member left or ended it, or its message was cleared.
func (d *Desk) Known(ctx context.Context, t Token) error {
	var taken int
	err := d.Store.InClub(ctx, t.Club, func(tx *store.Tx) (err error) {
		m, err := tx.Member(ctx, t.Member)
		if err != nil {
			return err
		}
		if !t.Holds(m) {
			return store.ErrNotFound
		}
		if t.Message != 0 {
			if _, err = tx.Message(ctx, t.Message); err != nil {
				return err
			}
		}
		taken, err = tx.CountMail(ctx, t.Member, d.Now().Add(-24*time.Hour))
		return err
	})
	switch {
	case errors.Is(err, store.ErrNotFound):
		return ErrUnknown
	case err != nil:
		return fmt.Errorf("look up a signed address: %w", err)
	case taken >= takenADay:
		return ErrTooMany
	}
	return nil
}

// Take stores a mail that came to a signed address, with the job of reading
// it. When it returns nil the mail is ours; one that came before is taken
// again without effect. ErrUnknown, ErrTooMany and ErrLoop refuse it; any
// other error asks to try again.
func (d *Desk) Take(ctx context.Context, address, sender string, raw []byte) error {
	t, ok := d.Addresses.Read(address)
	if !ok {
		return ErrUnknown
	}
	if err := d.Known(ctx, t); err != nil {
		return err
	}
	digest, hops := digestOf(address, raw)
	if hops > 2*maxHops {
		return ErrLoop
	}
	in := store.InboundMail{
		Digest: digest, Purpose: t.Purpose, MemberID: t.Member, MessageID: t.Message,
		Address: strings.ToLower(address), Sender: sender, Raw: raw,
	}
	var isNew bool
	err := d.Store.InClub(ctx, t.Club, func(tx *store.Tx) (err error) {
		_, isNew, err = tx.TakeMail(ctx, in)
		return err
	})
	if errors.Is(err, store.ErrNotFound) {
		return ErrUnknown
	}
	if err != nil {
		return fmt.Errorf("take a mail: %w", err)
	}
	d.Logger.Info("mail came in", "club", t.Club, "member", t.Member, "purpose", t.Purpose, "bytes", len(raw), "again", !isNew)
	return nil
}

// digestOf tells one mail from another, however it came: what servers write
// on its way does not count.
func digestOf(address string, raw []byte) (digest []byte, hops int) {
	h := sha256.New()
	fmt.Fprintf(h, "%s\x00", strings.ToLower(address))
	e, err := message.ReadWithOptions(bytes.NewReader(raw), &message.ReadOptions{MaxHeaderBytes: maxHeader})
	if e == nil || err != nil && e.Header.Len() == 0 {
		h.Write(raw)
		return h.Sum(nil), 0
	}
	for _, field := range []string{"Message-Id", "Date", "From", "To", "Subject", "Content-Type"} {
		fmt.Fprintf(h, "%s\x00", e.Header.Get(field))
	}
	h.Write(body(raw))
	return h.Sum(nil), len(e.Header.Values("Received"))
}

// body is what comes after the header.
func body(raw []byte) []byte {
	for _, gap := range []string{"\r\n\r\n", "\n\n"} {
		if _, after, ok := bytes.Cut(raw, []byte(gap)); ok {
			return after
		}
	}
	return nil
}

// Tend forgets old mail of a club, and gives what is not read yet a job again
// that has lost its own.
func (d *Desk) Tend(ctx context.Context, tx *store.Tx) error {
	now := d.Now()
	if err := tx.ClearMail(ctx, now.Add(-textsKeptFor), now.Add(-recordsKept)); err != nil {
		return err
	}
	n, err := tx.OweReading(ctx)
	if n > 0 {
		d.Logger.Warn("mails that came in had lost their jobs", "club", tx.ClubID(), "mails", n)
	}
	return err
}
