package notify

import (
	"context"
	"crypto/rand"
	"fmt"
	netmail "net/mail"
	"time"

	"github.com/google/uuid"

	"pryday/notify/mail"
	"pryday/notify/smtp"
	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// Preview is one mail as it would go out, or why it would not.
type Preview struct {
	Member     string
	Kind       scheduler.MessageKind
	Reason     string
	PassedOver string // why it would not go out; empty when it would
	Mail       *mail.Mail
	Letter     *smtp.Letter
}

// Preview renders what a club would owe at a moment, had nobody been told
// anything yet. It records nothing, and the addresses in the mails do nothing.
func (s *Service) Preview(ctx context.Context, club int64, at time.Time) ([]Preview, error) {
	var p *clubRecords
	err := s.store.InClub(ctx, club, func(tx *store.Tx) (err error) {
		p, err = readClubRecords(ctx, tx, at)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("preview the mails of club %d: %w", club, err)
	}
	p.refused = nil // what would be told, whether or not it arrives
	nobodys := make([]byte, 32)
	rand.Read(nobodys) // never fails
	w := *s.writer
	w.addresses.sign, w.clock = NewSigner(func() [][]byte { return [][]byte{nobodys} }), standing{at}
	var out []Preview
	for _, o := range owed.Decide(p.club, p.plan, at, owed.Before{}) {
		v := Preview{Member: p.members[o.MemberID].Name, Kind: o.Kind, Reason: o.Reason, PassedOver: o.PassedOver}
		d := &draft{records: p, record: &store.Message{
			ClubID: club, Key: o.Key, Kind: o.Kind, MemberID: o.MemberID, Address: p.members[o.MemberID].Email, On: o.On, Reason: o.Reason,
			Items: o.Items, MessageID: uuid.NewString(), State: store.Owed, OwedAt: at,
		}}
		if v.PassedOver == "" {
			if v.Letter, err = w.letter(ctx, d); err != nil {
				return nil, fmt.Errorf("preview the mail of %s in club %d: %w", v.Member, club, err)
			}
			v.Mail = d.rendered
		}
		out = append(out, v)
	}
	return out, nil
}

// standing is a clock that stands.
type standing struct{ at time.Time }

func (c standing) Now() time.Time   { return c.at }
func (c standing) Civil() time.Time { return c.at }

// TryMail sends one mail that says that mail works, at once and without a
// record, and returns what came of it.
func (s *Service) TryMail(ctx context.Context, address, language string) (smtp.Outcome, error) {
	if _, err := netmail.ParseAddress(address); err != nil {
		return smtp.Outcome{}, fmt.Errorf("%q is not an e-mail address such as kay@example.org", address)
	}
	m, err := mail.ComposeTest(language, s.writer.addresses.public.String())
	if err != nil {
		return smtp.Outcome{}, err
	}
	from := s.writer.from
	if from.Name == "" {
		from.Name = "Pryday"
	}
	built, err := mail.Build(m, mail.Envelope{
		From: from, To: netmail.Address{Address: address}, MessageID: uuid.NewString() + "@" + s.writer.domain(), Date: s.clock.Now(),
	})
	if err != nil {
		return smtp.Outcome{}, err
	}
	l, err := NewLetter(built, s.writer.dkim)
	if err != nil {
		return smtp.Outcome{}, err
	}
	return s.sender.Send(ctx, l), nil
}
