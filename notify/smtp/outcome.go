package smtp

import (
	"errors"
	"fmt"
	"net/textproto"
	"regexp"
	"strings"
)

// Verdict says what to do with a message after an attempt to hand it over.
type Verdict string

// The verdicts.
const (
	Delivered Verdict = "delivered" // the server took it: never send it again
	Later     Verdict = "later"     // try again after a while
	Never     Verdict = "never"     // the server will not take it: stop
)

// Phase is the step of the SMTP dialogue that an attempt ended in.
type Phase string

// The phases, in the order of the dialogue (RFC 5321, section 3.3).
const (
	Compose  Phase = "compose"   // before any server was spoken to
	Connect  Phase = "connect"   // dial, greeting, EHLO, STARTTLS, AUTH
	MailFrom Phase = "mail-from" // the sender's address
	RcptTo   Phase = "rcpt-to"   // the recipient's address
	Data     Phase = "data"      // DATA and the content, before the final dot
	FinalDot Phase = "final-dot" // the final dot is out
	After    Phase = "after"     // the final dot was acknowledged
)

// Outcome is what one attempt to hand a message over came to.
type Outcome struct {
	Verdict Verdict
	Phase   Phase
	Reply   string // what the server said last, or the error in words
	// Unsure is set when the connection broke after the final dot and before
	// the reply: the server may have taken the message. It is sent again with
	// the same Message-ID, so that a second copy can be recognised (RFC 5321,
	// section 4.5.4.1 asks for the same).
	Unsure bool
	// BadAddress is set when the refusal is about the recipient's address.
	BadAddress bool
	// Settings is set when no message can get through until somebody changes
	// the server or its settings: a failed sign-in, a bad certificate.
	Settings bool
	Err      error // nil when delivered
}

// The reply codes that speak of signing in (RFC 4954, section 6).
var signInCodes = map[int]bool{454: true, 530: true, 534: true, 535: true, 538: true}

// connectOutcome judges an error from dialling up to the sign-in. Nothing of
// the message was said yet, so every one of them is worth a retry.
func connectOutcome(err error) Outcome {
	o := Outcome{Verdict: Later, Phase: Connect, Err: err, Reply: OneLine(err.Error())}
	var reply *textproto.Error
	if errors.As(err, &reply) {
		o.Reply = OneLine(fmt.Sprintf("%d %s", reply.Code, reply.Msg))
		o.Settings = reply.Code >= 500 || signInCodes[reply.Code]
		return o
	}
	o.Settings = isSettingsError(err)
	return o
}

// sendOutcome judges an error in one phase of a transaction. An error that is
// no reply of the server's is a broken connection or a timeout.
func sendOutcome(phase Phase, err error) Outcome {
	o := Outcome{Verdict: Later, Phase: phase, Err: err, Reply: OneLine(err.Error())}
	var reply *textproto.Error
	if !errors.As(err, &reply) {
		o.Unsure = phase == FinalDot
		return o
	}
	o.Reply = OneLine(fmt.Sprintf("%d %s", reply.Code, reply.Msg))
	code := enhanced(o.Reply)
	switch {
	case reply.Code < 500 || reply.Code > 599:
	case signInCodes[reply.Code], phase == MailFrom && strings.HasPrefix(code, "5.7."):
		o.Settings = true // it is us whom the server does not want
	default:
		o.Verdict = Never
		o.BadAddress = phase == RcptTo && aboutAddress(code) || phase == FinalDot && strings.HasPrefix(code, "5.1.")
	}
	return o
}

var enhancedPattern = regexp.MustCompile(`^[45]\d\d[ -]([245]\.\d{1,3}\.\d{1,3})\b`)

// enhanced returns the enhanced status code of a reply (RFC 3463), if any.
func enhanced(reply string) string {
	if m := enhancedPattern.FindStringSubmatch(reply); m != nil {
		return m[1]
	}
	return ""
}

// aboutAddress reports whether a refusal of RCPT speaks of the address. The
// classes X.1 (addressing) and X.2 (mailbox) of RFC 3463 do; a refusal
// without an enhanced code is taken to; policy (X.7) and the rest do not.
func aboutAddress(code string) bool {
	return code == "" || strings.HasPrefix(code, "5.1.") || strings.HasPrefix(code, "5.2.")
}

// maxReply bounds what is kept of a server's words, in bytes.
const maxReply = 500

// OneLine makes a reply fit for a record and a log: one line, bounded, no
// control characters.
func OneLine(s string) string {
	s = strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r < ' ' || r == 0x7f }), " ")
	s = strings.ToValidUTF8(s, "?")
	if len(s) > maxReply {
		s = strings.ToValidUTF8(s[:maxReply], "") + "..."
	}
	return s
}
