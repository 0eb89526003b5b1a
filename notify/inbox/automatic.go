package inbox

import (
	"cmp"
	"regexp"
	"strings"
)

// maxHops is how many servers a mail may have passed through; more is a mail
// that goes round (RFC 5321, 6.3 asks for at least 100, of mail in general).
const maxHops = 50

// loopField stands in all our mail where replies come in, with the address
// that they come to: whatever comes back with it has been here.
const loopField = "X-Loop"

// Why nothing, or no more, was done with a mail. What a header says of it
// stands in place of these as it is.
const (
	whyOwn          = "own-mail"
	whyNullSender   = "null-sender"
	whyGoesRound    = "goes-round"
	whyTooMany      = "too-many"
	whyNobodyToTell = "nobody-to-tell"
	whyEnded        = "ended"
)

var daemonNames = regexp.MustCompile(`(?i)^(mailer-daemon|postmaster|no-?reply|do-?not-?reply)@`)

// automatic says why a mail was written by a program and not by a person, or
// is one of ours; empty for a person's. Nothing is ever sent because of such a
// mail (RFC 3834, section 2), so that two programs cannot write to each other.
func (m *Mail) automatic(sender, ours string) string {
	h := m.header
	first := func(field string) string {
		value, _, _ := strings.Cut(strings.ToLower(h.Get(field)), ";")
		return strings.TrimSpace(value)
	}
	switch auto, precedence := first("Auto-Submitted"), first("Precedence"); {
	case strings.Contains(strings.ToLower(strings.Join(h.Values(loopField), " ")), ours):
		return whyOwn
	case sender == "":
		return whyNullSender
	case auto != "" && auto != "no":
		return "Auto-Submitted: " + oneLine(auto)
	case precedence == "bulk", precedence == "junk", precedence == "list", precedence == "auto_reply":
		return "Precedence: " + precedence
	case h.Has("X-Autoreply"), h.Has("X-Autorespond"), h.Has("X-Auto-Reply-From"):
		return "X-Autoreply"
	case h.Has("List-Id"):
		return "List-Id: " + oneLine(h.Get("List-Id"))
	case daemonNames.MatchString(m.From.Address), daemonNames.MatchString(sender):
		return oneLine(cmp.Or(m.From.Address, sender))
	case m.hops() > maxHops:
		return whyGoesRound
	}
	return ""
}

func (m *Mail) hops() int { return len(m.header.Values("Received")) }

var cameBack = regexp.MustCompile(`(?i)\b(undeliver|delivery (status|fail)|failure notice|returned mail|mail delivery|unzustellbar|delivery has failed)`)

// looksReturned reports whether a mail tells that one of ours came back, in
// words alone: what servers wrote before RFC 3464, and some still do.
func (m *Mail) looksReturned(sender string) bool {
	return sender == "" && (m.header.Has("X-Failed-Recipients") || daemonNames.MatchString(m.From.Address) && cameBack.MatchString(m.Subject))
}
