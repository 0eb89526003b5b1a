package web

import (
	"cmp"
	"context"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// inboundLines is how many mails that came in stand on the page.
const inboundLines = 20

// inboundLine is one mail that came in.
type inboundLine struct {
	From    string // the member whose address it came to
	Address string // that it came from, where that is not the member's
	When    string
	About   string // the visit
	Outcome store.MailOutcome
	Word    string // of the outcome
	Detail  string
	Text    []string // what was written, line by line
}

// outcomeTexts say what became of a mail.
var outcomeTexts = map[store.MailOutcome]string{
	"":                  "page.messages.in.waiting",
	store.MailReturned:  "page.messages.in.returned",
	store.MailGoing:     "page.messages.in.going",
	store.MailNotGoing:  "page.messages.in.not-going",
	store.MailNoChange:  "page.messages.in.no-change",
	store.MailTold:      "page.messages.in.told",
	store.MailForwarded: "page.messages.in.forwarded",
	store.MailKept:      "page.messages.in.kept",
	store.MailAutomatic: "page.messages.in.automatic",
}

// inbound lists what came in from a member, or from all for 0, the newest first.
func (p *apiaryRecords) inbound(ctx context.Context, tx *store.Tx, member int64) ([]inboundLine, error) {
	all, err := tx.InboundMails(ctx, store.InboundMailFilter{MemberID: member, Limit: inboundLines})
	if err != nil {
		return nil, err
	}
	var lines []inboundLine
	for i := range all {
		in := &all[i]
		l := inboundLine{
			From: cmp.Or(p.names.Member(in.MemberID), p.say.Say("page.members.former")), Address: in.FromEmail, When: stamp(p.say, in.ReceivedAt),
			Outcome: in.Outcome, Word: p.say.Say(outcomeTexts[in.Outcome]), Detail: in.Detail,
		}
		if m := p.club.Member(in.MemberID); m != nil && strings.EqualFold(m.Email, in.FromEmail) {
			l.Address = ""
		}
		if key := detailKey(in.Detail); key != "" {
			l.Detail = p.say.Say(key)
		} else if in.Outcome == store.MailGoing || in.Outcome == store.MailNotGoing || in.Outcome == store.MailNoChange {
			l.Detail = "" // the outcome says it
		}
		if in.VisitID != 0 {
			v, err := tx.Visit(ctx, in.VisitID)
			if err != nil {
				return nil, err
			}
			l.About = p.names.Apiary(v.ApiaryID) + ", " + p.say.PlainDay(v.On)
		}
		if in.Body != "" && in.Outcome != store.MailReturned {
			l.Text = strings.Split(in.Body, "\n")
		}
		lines = append(lines, l)
	}
	return lines, nil
}

// detailKey is the key of a detail's words; empty where it is said as it is.
func detailKey(detail string) string {
	for _, in := range []string{"owed.", "page.messages.why."} {
		if text.Has(in + detail) {
			return in + detail
		}
	}
	return ""
}

// whose is the member whose mail a visitor sees: everybody's for organisers.
func whose(who *visitor) int64 {
	if who.Role == scheduler.Organiser {
		return 0
	}
	return who.MemberID
}
