package notify

import (
	"context"
	"errors"
	"fmt"
	netmail "net/mail"
	"strings"
	"time"

	"pryday/notify/inbox"
	"pryday/notify/mail"
	"pryday/notify/smtp"
	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/scheduler/text"
	"pryday/store"
)

const (
	signInLife = 30 * time.Minute
	inviteLife = 7 * 24 * time.Hour
	// signInUseful is how late a sign-in mail may come: by then its reader has
	// asked for another.
	signInUseful = 2 * time.Hour
)

// uselessError says why a message is passed over instead of sent.
type uselessError struct{ why text.Text }

func (e *uselessError) Error() string { return (&text.Speaker{}).Tell(e.why) }

// useless makes the error for a message that nobody needs any more.
func useless(why text.Text) error { return &uselessError{why} }

// errUnsendable marks a message that no later attempt can render better.
var errUnsendable = errors.New("the message cannot be made")

// draft is a message on its way to becoming a letter.
type draft struct {
	record   *store.Message
	records  *clubRecords
	member   *scheduler.Member
	today    scheduler.Date // the member's civil day
	rendered *mail.Mail
	threads  []string
	calendar []byte // a file to attach, or nil
	invites  []mail.Invite
	files    []mail.File
	replyTo  *netmail.Address // a person; nil for the message's own reply address
	bulk     bool             // a reminder, which one can unsubscribe from
}

// writer makes letters of recorded messages.
type writer struct {
	store     *store.Store
	clock     Clock
	addresses addresses
	from      netmail.Address
	dkim      *DKIM
	replies   *inbox.Addresses // nil where nothing is taken in
	records   *recordsCache
}

// read takes a message and the records it speaks of. A message that is not
// owed any more comes with a nil draft.
func (w *writer) read(ctx context.Context, club, message int64) (*draft, error) {
	d := &draft{}
	err := w.store.InClub(ctx, club, func(tx *store.Tx) (err error) {
		if d.record, err = tx.Message(ctx, message); err != nil {
			return err
		}
		if d.record.State != store.Owed {
			return nil
		}
		d.records, err = w.records.get(ctx, tx, d.record, w.clock.Civil())
		return err
	})
	if err != nil {
		return nil, err
	}
	if d.record.State != store.Owed {
		return nil, nil
	}
	return d, nil
}

// letter renders what is still worth telling. A uselessError says that
// nothing is.
func (w *writer) letter(ctx context.Context, d *draft) (*smtp.Letter, error) {
	d.member = d.records.members[d.record.MemberID]
	if d.record.Kind == scheduler.InviteMessage && d.record.MemberID == 0 {
		if err := w.invited(ctx, d); err != nil {
			return nil, err
		}
	}
	if d.member == nil {
		return nil, useless(text.New("passed.left"))
	}
	d.today = d.records.club.TodayOf(d.member, w.clock.Civil())
	var err error
	switch d.record.Kind {
	case scheduler.SignInMessage:
		err = w.signIn(ctx, d)
	case scheduler.InviteMessage:
		err = w.invitation(ctx, d)
	case scheduler.NewAddressMessage, scheduler.OldAddressMessage:
		err = w.addressChange(ctx, d)
	case scheduler.ReplyMessage:
		err = w.reply(ctx, d)
	case scheduler.AnswerMessage:
		err = w.answer(d)
	default:
		err = w.reminder(d)
	}
	if err != nil {
		return nil, err
	}
	return w.envelope(d)
}

func (w *writer) reminder(d *draft) error {
	if reply, ok := d.records.refused[d.member.ID]; ok {
		if reply == "" { // another club's mail came back
			return useless(text.New("passed.refused-elsewhere"))
		}
		return useless(text.New("passed.refused", reply))
	}
	items, why := stillUseful(d.records.club, d.records.plan, d.member, d.record.Items, d.today)
	if !why.IsZero() {
		return useless(why)
	}
	d.bulk = true
	var err error
	if d.calendar, err = w.attached(d, items); err != nil {
		return fmt.Errorf("%w: %w", errUnsendable, err)
	}
	if d.invites, err = w.invitations(d, items); err != nil {
		return fmt.Errorf("%w: %w", errUnsendable, err)
	}
	d.rendered, err = mail.Compose(mail.Input{
		Club: d.records.club, Plan: d.records.plan, Member: d.member,
		Message: owed.Message{
			Key: d.record.Key, Kind: items[0].Kind, MemberID: d.member.ID, Reason: d.record.Reason, Items: items,
			On: max(d.record.On, d.today), // "tomorrow" is wrong in a mail that comes a day late
		},
		Links: w.linksFor(d), Attached: d.calendar != nil, Invited: len(d.invites) > 0,
	})
	for _, it := range items {
		if it.VisitUID != "" {
			// One conversation: the first visit's. Two in one mail would be merged.
			d.threads = []string{mail.ThreadRoot(it.VisitUID, w.domain())}
			break
		}
	}
	if err != nil {
		return fmt.Errorf("%w: %w", errUnsendable, err)
	}
	return nil
}

// signIn makes the token when the mail is written: it lies nowhere meanwhile
// and has its whole life before it.
func (w *writer) signIn(ctx context.Context, d *draft) error {
	var age time.Duration
	if err := w.store.InSnapshot(ctx, d.record.ClubID, func(tx *store.Tx) (err error) {
		age, err = tx.MessageAge(ctx, d.record.ID)
		return err
	}); err != nil {
		return err
	}
	if age > signInUseful {
		return useless(text.New("passed.late-sign-in"))
	}
	token, err := w.store.NewSignIn(ctx, d.member.PersonID, signInLife)
	if err != nil {
		return err
	}
	d.rendered, err = mail.ComposeSignIn(mail.SignIn{
		Language: d.member.Language, Club: d.records.club.Name, URL: w.addresses.signIn(token), Minutes: int(signInLife.Minutes()),
	})
	return err
}

// invited takes whoever is asked to join, and is no member yet, for the one that
// the mail goes to; nobody once the invitation is over.
func (w *writer) invited(ctx context.Context, d *draft) error {
	var i *store.Invitation
	err := w.store.InClub(ctx, d.record.ClubID, func(tx *store.Tx) (err error) {
		i, err = tx.InvitationTo(ctx, d.record.Address)
		return err
	})
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	if err == nil {
		d.member = &scheduler.Member{PersonID: i.PersonID, Name: i.Name, Email: i.Email, Role: i.Role, Language: i.Language, Units: i.Units}
	}
	return err
}

func (w *writer) invitation(ctx context.Context, d *draft) error {
	token, err := w.store.NewSignIn(ctx, d.member.PersonID, inviteLife)
	if err != nil {
		return err
	}
	d.rendered, err = mail.ComposeInvitation(mail.Invitation{
		Language: d.member.Language, Club: d.records.club.Name, InvitedBy: strings.TrimPrefix(d.record.Reason, store.InvitedBy),
		Role: d.member.Role, URL: w.addresses.signIn(token), Days: int(inviteLife.Hours() / 24),
	})
	return err
}

func (w *writer) envelope(d *draft) (*smtp.Letter, error) {
	e := mail.Envelope{
		From: w.from, To: netmail.Address{Name: d.member.Name, Address: d.record.Address},
		MessageID: w.messageID(d.record), Date: d.record.OwedAt, References: d.threads, Calendar: d.calendar,
		Invitations: d.invites, Files: d.files, ReplyTo: d.replyTo,
	}
	w.signedAddresses(d, &e)
	if e.From.Name == "" {
		e.From.Name = d.records.club.Name
	}
	if d.bulk {
		e.ListID = fmt.Sprintf("club-%d.reminders.%s", d.records.club.ID, w.domain())
		e.ListName = d.records.club.Name
		e.UnsubscribeURL = w.addresses.forMember(d.records.club, d.member, nil, d.record.OwedAt).Unsubscribe
	}
	m, err := mail.Build(d.rendered, e)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errUnsendable, err)
	}
	return NewLetter(m, w.dkim)
}

// messageID is the record's, which has no domain, in the domain that the mail
// comes from.
func (w *writer) messageID(m *store.Message) string { return m.MessageID + "@" + w.domain() }

func (w *writer) domain() string {
	return strings.ToLower(w.from.Address[strings.LastIndexByte(w.from.Address, '@')+1:])
}
