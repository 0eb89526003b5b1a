package inbox

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/mail"
	"slices"
	"strings"
	"time"

	"github.com/emersion/go-imap/v2"
	"github.com/emersion/go-imap/v2/imapclient"
	"github.com/emersion/go-message/textproto"

	"pryday/store"
)

const (
	// lookAgain is how long a mailbox is waited on: servers tell of new mail at
	// once (RFC 2177), or else it is found then. Connections die unseen.
	lookAgain   = 4 * time.Minute
	lookOften   = time.Minute // where a server cannot tell
	firstLook   = 14 * 24 * time.Hour
	headersOnce = 50 // messages whose headers are asked for at a time
	patienceMin = 5 * time.Second
	patienceMax = 10 * time.Minute
)

// Mailbox takes mail in from a folder on an IMAP server. What came to a signed
// address is stored and then marked seen; all else is somebody's own mail and
// left as it is.
type Mailbox struct {
	MailboxConfig
	desk *Desk
	log  *slog.Logger
}

// NewMailbox prepares to read a mailbox.
func NewMailbox(c MailboxConfig, desk *Desk, log *slog.Logger) *Mailbox {
	return &Mailbox{MailboxConfig: c, desk: desk, log: log.With("mailbox", c.name())}
}

// Run reads the mailbox until ctx is done, and connects again whenever the
// connection breaks.
func (m *Mailbox) Run(ctx context.Context) {
	for patience := patienceMin; ctx.Err() == nil; {
		began := time.Now()
		err := m.Read(ctx, true)
		if ctx.Err() != nil {
			return
		}
		if time.Since(began) > lookAgain {
			patience = patienceMin
		}
		m.log.Warn("the mailbox cannot be read for the moment", "err", err, "again_in", patience)
		select {
		case <-ctx.Done():
		case <-time.After(patience):
		}
		patience = min(2*patience, patienceMax)
	}
}

// Read takes in what is new, and with wait set goes on doing so until the
// connection breaks or ctx is done.
func (m *Mailbox) Read(ctx context.Context, wait bool) error {
	news := make(chan struct{}, 1)
	c, err := m.connect(ctx, func() {
		select {
		case news <- struct{}{}:
		default:
		}
	})
	if err != nil {
		return err
	}
	defer c.Close()
	stop := context.AfterFunc(ctx, func() { c.Close() })
	defer stop()
	if err := c.Login(m.User, m.Password).Wait(); err != nil {
		return fmt.Errorf("sign in: %w", err)
	}
	folder, err := c.Select(m.Folder, nil).Wait()
	if err != nil {
		return fmt.Errorf("open the folder %s: %w", m.Folder, err)
	}
	for {
		if err := m.takeNew(ctx, c, folder.UIDValidity); err != nil || !wait {
			return err
		}
		if err := m.wait(ctx, c, news); err != nil {
			return err
		}
	}
}

func (m *Mailbox) connect(ctx context.Context, news func()) (*imapclient.Client, error) {
	//lint:ignore SA1019 the client takes a dialler and no context
	dialer := &net.Dialer{Timeout: 20 * time.Second, Cancel: ctx.Done()}
	options := &imapclient.Options{
		TLSConfig: m.TLS, Dialer: dialer,
		UnilateralDataHandler: &imapclient.UnilateralDataHandler{Mailbox: func(d *imapclient.UnilateralDataMailbox) {
			if d.NumMessages != nil {
				news()
			}
		}},
	}
	switch {
	case m.Plain:
		return imapclient.DialInsecure(m.Host, options)
	case m.StartTLS:
		return imapclient.DialStartTLS(m.Host, options)
	}
	return imapclient.DialTLS(m.Host, options)
}

// wait returns when there may be new mail.
func (m *Mailbox) wait(ctx context.Context, c *imapclient.Client, news <-chan struct{}) error {
	if !c.Caps().Has(imap.CapIdle) {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(lookOften):
			return c.Noop().Wait()
		}
	}
	idle, err := c.Idle()
	if err != nil {
		return fmt.Errorf("wait for mail: %w", err)
	}
	select {
	case <-ctx.Done():
	case <-c.Closed():
	case <-news:
	case <-time.After(lookAgain):
	}
	if err := errors.Join(idle.Close(), ctx.Err()); err != nil {
		return fmt.Errorf("wait for mail: %w", err)
	}
	return idle.Wait()
}

// takeNew takes in what came after the last that was read.
func (m *Mailbox) takeNew(ctx context.Context, c *imapclient.Client, validity uint32) error {
	mark, err := m.desk.Store.MailboxMark(ctx, m.name())
	if err != nil {
		return err
	}
	criteria := &imap.SearchCriteria{}
	if mark.UIDValidity == validity && mark.UID > 0 {
		criteria.UID = []imap.UIDSet{{imap.UIDRange{Start: imap.UID(mark.UID) + 1}}}
	} else { // a new mailbox, or one whose server counts anew
		mark = store.MailboxMark{UIDValidity: validity}
		criteria.Since = m.desk.Now().Add(-firstLook)
	}
	found, err := c.UIDSearch(criteria, nil).Wait()
	if err != nil {
		return fmt.Errorf("look for new mail: %w", err)
	}
	var uids []imap.UID
	for _, uid := range found.AllUIDs() {
		if uint32(uid) > mark.UID { // "from here on" always finds the last one
			uids = append(uids, uid)
		}
	}
	slices.Sort(uids)
	for len(uids) > 0 {
		n := min(headersOnce, len(uids))
		if err := m.takeSome(ctx, c, uids[:n], mark); err != nil {
			return err
		}
		mark.UID, uids = uint32(uids[n-1]), uids[n:]
	}
	return m.desk.Store.MarkMailbox(ctx, m.name(), mark)
}

// letterhead is what is looked at of a mail before it is fetched whole.
type letterhead struct {
	uid    imap.UID
	size   int64
	to     []string // signed addresses
	sender string
}

// takeSome takes in those of some mails that came to signed addresses, the
// oldest first, and notes how far it came.
func (m *Mailbox) takeSome(ctx context.Context, c *imapclient.Client, uids []imap.UID, mark store.MailboxMark) error {
	header := &imap.FetchItemBodySection{Specifier: imap.PartSpecifierHeader, Peek: true, Partial: &imap.SectionPartial{Size: maxHeader}}
	fetched, err := c.Fetch(imap.UIDSetNum(uids...), &imap.FetchOptions{UID: true, RFC822Size: true, BodySection: []*imap.FetchItemBodySection{header}}).Collect()
	if err != nil {
		return fmt.Errorf("fetch headers: %w", err)
	}
	heads := map[imap.UID]letterhead{}
	for _, f := range fetched {
		heads[f.UID] = m.letterhead(f, f.FindBodySection(header))
	}
	for _, uid := range uids {
		if h := heads[uid]; len(h.to) > 0 {
			if err := m.takeOne(ctx, c, h); err != nil {
				return err
			}
			mark.UID = uint32(uid)
			if err := m.desk.Store.MarkMailbox(ctx, m.name(), mark); err != nil {
				return err
			}
		}
	}
	return nil
}

// letterhead finds the signed addresses that a mail came to. Servers write the
// address of the envelope in one of several fields, or in none: then it
// stands where its writer put it.
func (m *Mailbox) letterhead(f *imapclient.FetchMessageBuffer, header []byte) letterhead {
	h := letterhead{uid: f.UID, size: f.RFC822Size}
	fields, _ := textproto.ReadHeader(bufio.NewReader(bytes.NewReader(append(bytes.TrimRight(header, "\r\n"), "\r\n\r\n"...))))
	for _, names := range [][]string{{"Delivered-To", "X-Original-To", "X-Envelope-To", "Envelope-To"}, {"To", "Cc"}} {
		var all []string
		for _, name := range names {
			all = append(all, fields.Values(name)...)
		}
		if h.to = m.desk.Addresses.Find(strings.Join(all, "\n")); len(h.to) > 0 {
			break
		}
	}
	h.sender = strings.Trim(strings.TrimSpace(fields.Get("Return-Path")), "<>")
	if !fields.Has("Return-Path") {
		if from, err := mail.ParseAddress(fields.Get("From")); err == nil {
			h.sender = from.Address
		}
	}
	return h
}

// takeOne stores one mail and marks it seen. What nobody can be meant by any
// more is left unseen.
func (m *Mailbox) takeOne(ctx context.Context, c *imapclient.Client, h letterhead) error {
	if h.size > MaxBytes {
		m.log.Warn("a mail is too large to be taken in, and stays in the mailbox", "uid", h.uid, "bytes", h.size)
		return nil
	}
	whole := &imap.FetchItemBodySection{Peek: true}
	cmd := c.Fetch(imap.UIDSetNum(h.uid), &imap.FetchOptions{UID: true, BodySection: []*imap.FetchItemBodySection{whole}})
	raw, err := literalOf(cmd)
	if err = errors.Join(err, cmd.Close()); err != nil {
		return fmt.Errorf("fetch mail %d: %w", h.uid, err)
	}
	if raw == nil {
		return nil // somebody deleted it at this moment
	}
	taken := false
	for _, to := range h.to {
		switch err := m.desk.Take(ctx, to, h.sender, raw); {
		case err == nil:
			taken = true
		case errors.Is(err, ErrUnknown), errors.Is(err, ErrTooMany), errors.Is(err, ErrLoop):
			m.log.Warn("a mail is not taken in, and stays in the mailbox", "uid", h.uid, "why", err)
		default:
			return err
		}
	}
	if !taken {
		return nil
	}
	seen := &imap.StoreFlags{Op: imap.StoreFlagsAdd, Flags: []imap.Flag{imap.FlagSeen}, Silent: true}
	if err := c.Store(imap.UIDSetNum(h.uid), seen, nil).Close(); err != nil {
		return fmt.Errorf("mark mail %d as seen: %w", h.uid, err)
	}
	return nil
}

// literalOf reads the text of the one mail that was fetched, however large the
// server says that it is.
func literalOf(cmd *imapclient.FetchCommand) ([]byte, error) {
	for msg := cmd.Next(); msg != nil; msg = cmd.Next() {
		for item := msg.Next(); item != nil; item = msg.Next() {
			if section, ok := item.(imapclient.FetchItemDataBodySection); ok && section.Literal != nil {
				raw, err := io.ReadAll(io.LimitReader(section.Literal, MaxBytes+1))
				if err == nil && len(raw) > MaxBytes {
					err = errors.New("it is larger than the server says")
				}
				return raw, err
			}
		}
	}
	return nil, nil
}
