package store

import (
	"encoding/json"
	"strings"

	"pryday/scheduler/text"
)

// The reasons of messages that no decision owes. An invitation's is followed
// by the name of whoever invites.
const (
	AskedToSignIn   = "asked to sign in"
	InvitedBy       = "invited by "
	AskedForAddress = "new-address"
	AddressChanged  = "old-address"
)

// ReasonText says why a message was owed; the zero Text when it is not known.
func (m *Message) ReasonText() text.Text {
	name, invited := strings.CutPrefix(m.Reason, InvitedBy)
	switch key := "owed." + m.Reason; {
	case m.Reason == "":
		return text.Text{}
	case invited:
		return text.New("owed.invited-by", name)
	case m.Reason == AskedToSignIn:
		return text.New("owed.sign-in")
	case text.Has(key):
		return text.New(key)
	}
	return text.New("form.said", m.Reason)
}

// WordKey returns the key of the word for a state: "delivery.sent".
func (s MessageState) WordKey() string { return "delivery." + string(s) }

// WordKey returns the key of the words for how a message came back.
func (r Return) WordKey() string { return returnWords[r] }

var returnWords = map[Return]string{
	Delayed:        "page.messages.back.delayed",
	ReturnUnclear:  "page.messages.back.unclear",
	ReturnedFailed: "page.messages.back.failed",
}

// ReplyText says what a mail server last said, in its own words, or why the
// message was passed over; the zero Text for neither.
func (m *Message) ReplyText() text.Text {
	var why text.Text
	switch {
	case m.Reply == "":
		return text.Text{}
	case m.State == PassedOver && text.Has(m.Reply):
		return text.New(m.Reply)
	case m.State == PassedOver && json.Unmarshal([]byte(m.Reply), &why) == nil && text.Has(why.Key):
		return why
	}
	return text.New("form.said", m.Reply)
}
