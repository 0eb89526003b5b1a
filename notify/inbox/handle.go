package inbox

import (
	"context"
	"errors"
	"fmt"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// handling is one mail being handled, in the transaction that notes what
// became of it.
type handling struct {
	*Desk
	tx     *store.Tx
	in     *store.InboundMail
	mail   *Mail
	member *scheduler.Member
	club   *scheduler.Club // read where a calendar's answer needs it
	note   store.MailContent
}

// Handle does what a mail asks for and notes what became of it, both or
// neither. One that was handled, or whose club or member is gone, is left.
func (d *Desk) Handle(ctx context.Context, club, mail int64) error {
	err := d.Store.InClub(ctx, club, func(tx *store.Tx) error {
		in, err := tx.InboundMail(ctx, mail)
		if err != nil || in.Outcome != "" {
			return err
		}
		h := &handling{Desk: d, tx: tx, in: in, mail: Read(in.Raw)}
		if h.member, err = tx.Member(ctx, in.MemberID); err != nil {
			return err
		}
		h.note = store.MailContent{
			FromName: h.mail.From.Name, FromEmail: h.mail.From.Address, Subject: h.mail.Subject, Body: d.quoted.ownWords(h.mail.Text),
		}
		outcome, err := h.decide(ctx)
		if err != nil {
			return err
		}
		d.Logger.Info("mail handled", "club", club, "mail", mail, "outcome", outcome, "detail", h.note.Detail)
		return tx.MailHandled(ctx, mail, outcome, h.note)
	})
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("handle inbound mail %d of club %d: %w", mail, club, err)
	}
	return nil
}

func (h *handling) decide(ctx context.Context) (store.MailOutcome, error) {
	if h.mail.Report != nil && h.mail.Report.Action != "" {
		return h.returned(ctx)
	}
	if h.mail.looksReturned(h.in.Sender) {
		h.note.Detail = h.mail.Subject
		return store.MailReturned, h.noteReturn(ctx, store.ReturnUnclear, h.mail.Subject)
	}
	if t, _ := h.Addresses.Read(h.in.Address); !t.Holds(h.member) { // it ended since the mail was taken
		h.note.Detail = whyEnded
		return store.MailKept, nil
	}
	if a := readAnswer(h.mail.Calendar); a != nil && (a.Method == "REPLY" || a.Method == "COUNTER") {
		return h.answered(ctx, a)
	}
	why := h.mail.automatic(h.in.Sender, h.Addresses.Plain())
	ours, err := h.tx.IsMessageID(ctx, h.mail.MessageID)
	if err != nil {
		return "", err
	}
	if ours { // what it says stands with what went out
		why, h.note.Body = whyOwn, ""
	}
	if why != "" {
		h.note.Detail = why
		return store.MailAutomatic, nil
	}
	return h.replied(ctx)
}

// returned notes what a mail server reports of one of our mails, and sends
// nothing more to an address at which nobody is.
func (h *handling) returned(ctx context.Context) (store.MailOutcome, error) {
	r := h.mail.Report
	h.note.Detail = r.Words()
	switch {
	case r.Failed():
	case r.Delayed():
		return store.MailReturned, h.noteReturn(ctx, store.Delayed, r.Words())
	default: // it arrived
		return store.MailAutomatic, nil
	}
	if err := h.noteReturn(ctx, store.ReturnedFailed, r.Words()); err != nil {
		return "", err
	}
	t, _ := h.Addresses.Read(h.in.Address)
	if !h.Addresses.WentTo(t, h.member.Email) {
		return store.MailReturned, nil // the member has another address by now
	}
	bad := r.AboutAddress()
	if !bad {
		var err error
		if bad, err = h.tx.AllCameBack(ctx, h.member.ID, failuresInRow); err != nil {
			return "", err
		}
	}
	if !bad {
		return store.MailReturned, nil
	}
	return store.MailReturned, h.tx.MarkRefused(ctx, h.member.PersonID, r.Words())
}

// noteReturn writes it on the message's record, while there is one.
func (h *handling) noteReturn(ctx context.Context, how store.Return, words string) error {
	if h.in.MessageID == 0 {
		return nil
	}
	return h.tx.MessageReturned(ctx, h.in.MessageID, how, words)
}

// tellOrganisers owes a message to each organiser but the writer whose address
// is good, and returns how many.
func (h *handling) tellOrganisers(ctx context.Context, items []owed.Item) (int, error) {
	members, err := h.tx.Members(ctx)
	if err != nil {
		return 0, err
	}
	refused, err := h.tx.RefusedMembers(ctx)
	if err != nil {
		return 0, err
	}
	var messages []owed.Message
	for i := range members {
		m := &members[i]
		if _, bad := refused[m.ID]; m.Role != scheduler.Organiser || m.ID == h.member.ID || bad {
			continue
		}
		messages = append(messages, owed.Message{
			Key: owed.ReplyKey(h.in.ID, m.ID), Kind: scheduler.ReplyMessage, MemberID: m.ID,
			On: scheduler.DateOf(h.Civil().UTC()), Reason: owed.BecauseReplied, Items: items,
		})
	}
	_, err = h.tx.Owe(ctx, messages, time.Time{})
	return len(messages), err
}
