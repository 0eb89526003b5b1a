package mail

import (
	"cmp"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	netmail "net/mail"
	"net/url"
	"regexp"
	"strings"
	"time"
	"unicode/utf8"

	gomail "github.com/wneessen/go-mail"
	"golang.org/x/net/idna"
)

// Envelope is what a message needs beside its mail. Domains may be written in
// any script; they go out in their ASCII form.
type Envelope struct {
	From           netmail.Address
	To             netmail.Address
	ReplyTo        *netmail.Address
	ReturnPath     string    // where reports that it came back go (MAIL FROM); empty for From
	Loop           string    // the address by which our own mail is known when it comes back; empty for none
	MessageID      string    // without angle brackets; made once and kept for every attempt
	Date           time.Time // when the message was first made
	References     []string  // Message-IDs of the thread, oldest first; see ThreadRoot
	ListID         string    // RFC 2919, such as reminders.club.example; empty for mail to one person
	ListName       string    // the club
	UnsubscribeURL string    // a POST to it unsubscribes at once (RFC 8058)
	Calendar       []byte    // an .ics file to attach, of METHOD:PUBLISH, or nil
	Invitations    []Invite  // what a calendar answers, the first in the body itself
	Files          []File    // to attach
}

// Invite is a calendar object that asks for an answer, or takes one back (RFC
// 6047).
type Invite struct {
	Method string // REQUEST or CANCEL
	Object []byte
}

// File is a file to attach.
type File struct {
	Name string
	Type string // a media type
	Data []byte
}

// ErrAddress is wrapped by errors about an address that mail cannot go to.
var ErrAddress = errors.New("not an address that mail can go to")

// maxAddressURL keeps header lines under the 998 octets of RFC 5322, 2.1.1.
const maxAddressURL = 900

var (
	messageID = regexp.MustCompile("^[A-Za-z0-9.!#$%&'*+/=?^_`{|}~-]{1,200}@[A-Za-z0-9.-]{1,200}$")
	listID    = regexp.MustCompile(`^[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)+$`)
)

// ThreadRoot returns the Message-ID that all reminders of one visit refer to,
// so that mail readers show them as one conversation. No message carries it.
func ThreadRoot(visitUID, domain string) string {
	sum := sha256.Sum256([]byte("visit " + visitUID))
	return "visit." + hex.EncodeToString(sum[:12]) + "@" + domain
}

// Build makes the message that carries m to one recipient. It has no header
// that names software, and text in no field can add a header.
func Build(m *Mail, e Envelope) (*Message, error) {
	msg := &Message{}
	msg.Msg = gomail.NewMsg(gomail.WithNoDefaultUserAgent(), gomail.WithEncoding(encoding))
	from, err := address(e.From)
	if err != nil {
		return nil, fmt.Errorf("from: %w", err)
	}
	to, err := address(e.To)
	if err != nil {
		return nil, fmt.Errorf("to: %w", err)
	}
	msg.FromMailAddress(from)
	back, err := address(netmail.Address{Address: cmp.Or(e.ReturnPath, e.From.Address)})
	if err != nil {
		return nil, fmt.Errorf("return path: %w", err)
	}
	msg.EnvelopeFromMailAddress(back)
	msg.ToMailAddress(to)
	if e.ReplyTo != nil {
		reply, err := address(*e.ReplyTo)
		if err != nil {
			return nil, fmt.Errorf("reply-to: %w", err)
		}
		msg.ReplyToMailAddress(reply)
	}
	if !messageID.MatchString(e.MessageID) {
		return nil, fmt.Errorf("message-id %q: want letters, digits and dots, an @ and a domain", e.MessageID)
	}
	if e.Date.IsZero() {
		return nil, errors.New("date: not set")
	}
	msg.SetMessageIDWithValue(e.MessageID)
	msg.SetDateWithValue(e.Date)
	msg.Subject(subjectHeader(m.Subject))
	msg.SetGenHeader("Auto-Submitted", "auto-generated") // RFC 3834, 5
	if e.Loop != "" {
		msg.SetGenHeader("X-Loop", oneLine(e.Loop))
	}
	if m.Language != "" {
		msg.SetGenHeader("Content-Language", oneLine(m.Language))
	}
	if err := setThread(msg.Msg, e.References); err != nil {
		return nil, err
	}
	if err := setList(msg.Msg, &e); err != nil {
		return nil, err
	}
	msg.SetBodyWriter(gomail.TypeTextPlain, msg.body(m.Text))
	msg.AddAlternativeWriter(gomail.TypeTextHTML, msg.body(m.HTML))
	nested, err := msg.attach(&e)
	if err != nil || nested {
		return msg, err
	}
	// A boundary made from the Message-ID: a second attempt is equal byte for
	// byte. Nested parts need two, which go-mail draws at random.
	sum := sha256.Sum256([]byte(e.MessageID))
	msg.SetBoundary("part-" + hex.EncodeToString(sum[:16]))
	return msg, nil
}

func setThread(msg *gomail.Msg, references []string) error {
	if len(references) == 0 {
		return nil
	}
	ids := make([]string, len(references))
	for i, id := range references {
		if !messageID.MatchString(id) {
			return fmt.Errorf("references: message-id %q: want letters, digits and dots, an @ and a domain", id)
		}
		ids[i] = "<" + id + ">"
	}
	msg.SetGenHeader("References", strings.Join(ids, " "))
	msg.SetGenHeader("In-Reply-To", ids[len(ids)-1])
	return nil
}

func setList(msg *gomail.Msg, e *Envelope) error {
	if e.ListID != "" {
		id, err := idna.Lookup.ToASCII(e.ListID)
		if err != nil || !listID.MatchString(id) || len(id) > 255 {
			return fmt.Errorf("list-id %q: want a name of dotted words such as reminders.club.example", e.ListID)
		}
		value := "<" + id + ">"
		if name := phrase(e.ListName); name != "" {
			value = (&netmail.Address{Name: name, Address: "a@b"}).String()
			value = strings.TrimSuffix(value, "<a@b>") + "<" + id + ">"
		}
		msg.SetGenHeader("List-Id", value)
	}
	if e.UnsubscribeURL != "" {
		u, err := url.Parse(e.UnsubscribeURL)
		if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Host == "" || len(e.UnsubscribeURL) > maxAddressURL ||
			strings.ContainsFunc(e.UnsubscribeURL, func(r rune) bool { return r <= ' ' || r > '~' || r == '<' || r == '>' || r == ',' }) {
			return fmt.Errorf("unsubscribe address %q: want an http or https address in ASCII without spaces and commas", e.UnsubscribeURL)
		}
		msg.SetGenHeader("List-Unsubscribe", "<"+e.UnsubscribeURL+">")
		if u.Scheme == "https" { // one click is for https alone (RFC 8058, 3.1)
			msg.SetGenHeader("List-Unsubscribe-Post", "List-Unsubscribe=One-Click")
		}
	}
	return nil
}

// CheckAddress returns nil for an address that mail can go to, and else an
// error that wraps ErrAddress.
func CheckAddress(a netmail.Address) error {
	_, err := address(a)
	return err
}

// address checks one address and turns its domain into ASCII.
func address(a netmail.Address) (*netmail.Address, error) {
	at := strings.LastIndexByte(a.Address, '@')
	if at <= 0 {
		return nil, fmt.Errorf("%q: %w: it has no @", a.Address, ErrAddress)
	}
	local, domain := a.Address[:at], a.Address[at+1:]
	for _, r := range local {
		if r <= ' ' || r > '~' {
			return nil, fmt.Errorf("%q: %w: before the @ stand only ASCII characters without spaces", a.Address, ErrAddress)
		}
	}
	ascii, err := idna.Lookup.ToASCII(domain)
	if err != nil || ascii == "" {
		return nil, fmt.Errorf("%q: %w: %q is not a domain", a.Address, ErrAddress, domain)
	}
	whole := local + "@" + ascii
	parsed, err := netmail.ParseAddress("<" + whole + ">")
	if err != nil || parsed.Address != whole || len(whole) > 254 {
		return nil, fmt.Errorf("%q: %w", a.Address, ErrAddress)
	}
	return &netmail.Address{Name: phrase(a.Name), Address: whole}, nil
}

// unquotable are the texts in a name that readers take for something else: the
// start of an encoded word, and the backslash, which net/mail leaves in
// encoded words although RFC 2047, 5.3, does not allow it there.
var unquotable = strings.NewReplacer("=?", "= ?", `\`, "/")

// phrase makes a name fit for an address header: one line and not too long.
func phrase(name string) string {
	name = unquotable.Replace(oneLine(name))
	if runes := []rune(name); len(runes) > 100 {
		name = string(runes[:99]) + "…"
	}
	return name
}

// subjectHeader writes a subject on one line of at most 200 characters. A
// subject that itself looks like an encoded word is encoded, so that readers
// show it as it is; the library leaves ASCII alone.
func subjectHeader(s string) string {
	s = oneLine(s)
	if runes := []rune(s); len(runes) > 200 {
		s = string(runes[:199]) + "…"
	}
	if !strings.Contains(s, "=?") {
		return s
	}
	var encoded []string
	for len(s) > 0 {
		n := min(len(s), 42) // 56 characters in base64: a word has at most 75 (RFC 2047, 2)
		for n < len(s) && !utf8.RuneStart(s[n]) {
			n--
		}
		encoded = append(encoded, "=?utf-8?b?"+base64.StdEncoding.EncodeToString([]byte(s[:n]))+"?=")
		s = s[n:]
	}
	return strings.Join(encoded, " ")
}
