// Package mail renders what members are to be told, as text and as HTML, and
// builds the messages that carry it. It is pure: values in, bytes out. Access
// notes and exact places of apiaries never stand in a mail.
package mail

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/scheduler/text"
)

// Mail is one rendered mail.
type Mail struct {
	Subject  string
	Text     string // wrapped at 72 columns, addresses excepted
	HTML     string // says the same as Text
	Language string // BCP 47 tag of all three
}

// Input is what a reminder is made of: one member's message and the records
// that it tells of.
type Input struct {
	Club    *scheduler.Club
	Plan    *scheduler.Plan // of the club or of the apiaries in the message
	Member  *scheduler.Member
	Message owed.Message
	Today   scheduler.Date // the member's day when the mail is written; zero means Message.On
	Links   Links

	Attached bool // a calendar file with the visits goes along
	Invited  bool // the visits go along as invitations that a calendar can answer
}

// Links are the addresses in a mail, each made and signed by the caller for
// the one member and following one changes nothing by itself. An empty
// address leaves its button out.
type Links struct {
	Visit       func(uid string) VisitLinks
	Apiary      func(id int64) string // the page of an apiary's boxes
	Preferences string
	Calendars   string // the page of the member's calendar addresses
	Unsubscribe string
}

// VisitLinks are the addresses for one visit.
type VisitLinks struct {
	Page          string // opens without signing in
	SignedInPage  string // asks to sign in: for mails whose answers go to another member, who would be quoted the other
	Record        string // "record what you found"
	AlreadyOpened string
	RainedOff     string // "rained off, move it"
	Take          string // "I'll go"
	CantGo        string // "I can't go"
	AlsoOpened    string // of a done visit: "these were opened too"
	NotOpened     string // and "these were not"
}

// ErrNothing is the error of a message without anything to tell.
var ErrNothing = errors.New("the message has nothing to tell")

// Compose renders a reminder: everything that one member is owed on one day.
// The error names the record that the message speaks of and the club has not.
func Compose(in Input) (*Mail, error) {
	if len(in.Message.Items) == 0 {
		return nil, fmt.Errorf("compose %s: %w", in.Message.Key, ErrNothing)
	}
	r := newReminder(&in)
	for _, it := range in.Message.Items {
		if err := r.item(it); err != nil {
			return nil, fmt.Errorf("compose %s: %w", in.Message.Key, err)
		}
	}
	return r.finish()
}

// SignIn is a mail with the address that signs a person in.
type SignIn struct {
	Language string
	Club     string // the club or the installation asked at
	URL      string
	Minutes  int // how long the address works
}

// ComposeSignIn renders a sign-in mail.
func ComposeSignIn(in SignIn) (*Mail, error) {
	s := text.In(in.Language, "")
	p := &page{Language: s.Language(), Eyebrow: oneLine(in.Club), Title: s.Say("mail.sign-in.title")}
	p.add(say(s.Say("mail.sign-in.text", in.Minutes)), buttons(mainLink(s.Say("mail.sign-in.button"), in.URL)), fine(s.Say("mail.sign-in.not-you")))
	return p.mail(p.Title)
}

// Invitation asks a person into a club.
type Invitation struct {
	Language  string
	Club      string
	InvitedBy string // an organiser's name
	Role      scheduler.Role
	URL       string
	Days      int // how long the address works
}

// ComposeInvitation renders an invitation.
func ComposeInvitation(in Invitation) (*Mail, error) {
	s := text.In(in.Language, "")
	club := oneLine(in.Club)
	p := &page{Language: s.Language(), Eyebrow: club, Title: s.Say("mail.invite.title", club)}
	role := "mail.invite.keeper"
	if in.Role == scheduler.Organiser {
		role = "mail.invite.organiser"
	}
	p.add(say(s.Say("mail.invite.text", oneLine(in.InvitedBy), club)), say(s.Say(role)),
		buttons(mainLink(s.Say("mail.invite.button"), in.URL)), fine(s.Say("mail.invite.days", in.Days)), fine(s.Say("mail.invite.not-you")))
	return p.mail(p.Title)
}

// ComposeTest renders the mail that an administrator sends to try delivery.
func ComposeTest(language, publicURL string) (*Mail, error) {
	s := text.In(language, "")
	p := &page{Language: s.Language(), Eyebrow: "Pryday", Title: s.Say("mail.test.title")}
	p.add(say(s.Say("mail.test.text")), say(s.Say("mail.test.check")))
	if publicURL != "" {
		p.add(buttons(link(s.Say("mail.test.button"), publicURL)))
	}
	return p.mail(p.Title)
}

// mail renders a page under a subject.
func (p *page) mail(subject string) (*Mail, error) {
	return &Mail{Subject: subject, Text: plaintext(p), HTML: webpage(p), Language: p.Language}, nil
}

// oneLine makes a name fit for one line: no line breaks or other controls.
func oneLine(s string) string {
	if isOneLine(s) {
		return s
	}
	s = strings.ToValidUTF8(s, "\uFFFD")
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\r', r == '\t', r == '\v', r == '\f', r == 0x85, r == 0x2028, r == 0x2029:
			return ' '
		case r < 0x20, r >= 0x7f && r < 0xa0, r == 0xfeff:
			return -1
		}
		return r
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

// isOneLine reports whether oneLine would return s as it is; nearly every
// name and text is so.
func isOneLine(s string) bool {
	space := true // just before
	for _, r := range s {
		switch {
		case r == ' ':
			if space {
				return false
			}
			space = true
			continue
		case r < ' ', r >= 0x7f && (r < 0xa0 || r == 0xfeff || r == utf8.RuneError || unicode.IsSpace(r)):
			return false
		}
		space = false
	}
	return !space || s == ""
}
