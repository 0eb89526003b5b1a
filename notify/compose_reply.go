package notify

import (
	"context"
	"errors"
	"fmt"
	netmail "net/mail"

	"pryday/notify/inbox"
	"pryday/notify/mail"
	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/scheduler/text"
	"pryday/store"
)

// signedAddresses are where answers to a message and reports about it come to.
func (w *writer) signedAddresses(d *draft, e *mail.Envelope) {
	if w.replies == nil {
		return
	}
	t := inbox.Token{Club: d.records.club.ID, Member: d.member.ID, Message: d.record.ID, Ended: d.member.ButtonsEnded, To: d.record.Address}
	t.Purpose = store.BounceMail
	e.ReturnPath, e.Loop = w.replies.Signed(t), w.replies.Plain()
	if e.ReplyTo == nil {
		t.Purpose = store.ReplyMail
		e.ReplyTo = &netmail.Address{Name: e.From.Name, Address: w.replies.Signed(t)}
	}
}

// reply passes on to an organiser what a member wrote. Whoever answers it
// writes to that person.
func (w *writer) reply(ctx context.Context, d *draft) error {
	in, err := w.inboundMail(ctx, d)
	if err != nil {
		return err
	}
	read := inbox.Read(in.Raw)
	for _, f := range read.Files {
		d.files = append(d.files, mail.File{Name: f.Name, Type: f.Type, Data: f.Data})
	}
	writer := d.records.members[in.MemberID]
	if writer == nil {
		return useless(text.New("passed.left"))
	}
	d.replyTo = &netmail.Address{Name: in.FromName, Address: in.FromEmail}
	if mail.CheckAddress(*d.replyTo) != nil {
		d.replyTo = &netmail.Address{Name: writer.Name, Address: writer.Email}
	}
	d.rendered, err = mail.ComposeReply(mail.Reply{
		Input: w.input(d), Writer: writer, From: in.FromEmail, Subject: in.Subject, Text: in.Body, LeftOut: read.LeftOut,
	})
	if err != nil {
		return fmt.Errorf("%w: %w", errUnsendable, err)
	}
	return nil
}

func (w *writer) inboundMail(ctx context.Context, d *draft) (in *store.InboundMail, err error) {
	if len(d.record.Items) == 0 {
		return nil, useless(text.New("passed.no-mail"))
	}
	err = w.store.InClub(ctx, d.records.club.ID, func(tx *store.Tx) error {
		in, err = tx.InboundMail(ctx, d.record.Items[0].MailID)
		return err
	})
	if errors.Is(err, store.ErrNotFound) {
		return nil, useless(text.New("passed.no-mail"))
	}
	return in, err
}

// answer tells a member, whose calendar answered what does not hold any more,
// what does.
func (w *writer) answer(d *draft) (err error) {
	d.rendered, err = mail.ComposeAnswer(mail.Answer{Input: w.input(d)})
	if err != nil {
		return fmt.Errorf("%w: %w", errUnsendable, err)
	}
	return nil
}

// input is what any message of a member's is made of.
func (w *writer) input(d *draft) mail.Input {
	return mail.Input{
		Club: d.records.club, Plan: d.records.plan, Member: d.member, Today: d.today, Links: w.linksFor(d),
		Message: owed.Message{Key: d.record.Key, Kind: d.record.Kind, MemberID: d.member.ID, Reason: d.record.Reason, Items: d.record.Items, On: d.record.On},
	}
}

func (w *writer) linksFor(d *draft) mail.Links {
	return w.addresses.forMember(d.records.club, d.member, d.records.visits, d.record.OwedAt)
}

// organiserOf is where a calendar's answers come to. It stays the same for all
// of a member's visits, until the member signs out everywhere: a calendar takes
// an update with another one for a different event.
func (w *writer) organiserOf(c *scheduler.Club, m *scheduler.Member) string {
	return w.replies.Signed(inbox.Token{Purpose: store.CalendarMail, Club: c.ID, Member: m.ID, Ended: m.ButtonsEnded})
}
