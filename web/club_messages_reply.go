package web

import (
	"regexp"
	"strings"

	"pryday/scheduler/text"
	"pryday/store"
)

// replyMeaning is what a mail server's answer means to whoever keeps the members'
// addresses, and what they can do about it.
type replyMeaning struct{ why, do string }

// Keys of what can be done.
const (
	askAddress   = "page.messages.do.address"
	askRoom      = "page.messages.do.room"
	askAllow     = "page.messages.do.allow"
	tellOperator = "page.messages.do.operator"
)

// replyMeanings are by subject and detail of an enhanced status code (RFC 3463,
// section 3; 1.10 of RFC 7505, 7.20 to 7.29 of RFC 7372), or by the subject alone.
var replyMeanings = map[string]replyMeaning{
	"1": {"page.messages.reply.no-mailbox", askAddress}, "1.1": {"page.messages.reply.no-mailbox", askAddress},
	"1.2": {"page.messages.reply.no-server", askAddress}, "1.3": {"page.messages.reply.misspelt", askAddress}, "1.10": {"page.messages.reply.no-server", askAddress},
	"1.6": {"page.messages.reply.moved", askAddress}, "1.7": {"page.messages.reply.sender", tellOperator}, "1.8": {"page.messages.reply.sender", tellOperator},
	"2": {"page.messages.reply.closed", askAddress}, "2.1": {"page.messages.reply.closed", askAddress},
	"2.2": {"page.messages.reply.full", askRoom}, "2.3": {"page.messages.reply.too-long", tellOperator},
	"3": {"page.messages.reply.trouble", tellOperator}, "3.1": {"page.messages.reply.server-full", askAddress}, "3.4": {"page.messages.reply.too-long", tellOperator},
	"4": {"page.messages.reply.unreached", askAddress}, "4.6": {"page.messages.reply.loop", tellOperator},
	"5": {"page.messages.reply.talk", tellOperator}, "6": {"page.messages.reply.content", tellOperator},
	"7": {"page.messages.reply.unwanted", askAllow}, "7.8": {"page.messages.reply.login", tellOperator},
	"7.20": {"page.messages.reply.unproven", tellOperator}, "7.21": {"page.messages.reply.unproven", tellOperator}, "7.22": {"page.messages.reply.unproven", tellOperator},
	"7.23": {"page.messages.reply.unproven", tellOperator}, "7.24": {"page.messages.reply.unproven", tellOperator}, "7.25": {"page.messages.reply.unproven", tellOperator},
	"7.26": {"page.messages.reply.unproven", tellOperator}, "7.27": {"page.messages.reply.unproven", tellOperator}, "7.29": {"page.messages.reply.unproven", tellOperator},
}

// plainMeanings are by the code alone (RFC 5321, section 4.2.3), of servers that give no other.
var plainMeanings = map[string]replyMeaning{
	"421": replyMeanings["3"], "450": replyMeanings["2"], "451": replyMeanings["3"], "452": replyMeanings["3.1"],
	"550": replyMeanings["1.1"], "551": replyMeanings["1.6"], "552": replyMeanings["2.2"], "553": replyMeanings["1.3"], "554": replyMeanings["7"],
	"530": replyMeanings["7.8"], "535": replyMeanings["7.8"],
}

var (
	enhancedCode = regexp.MustCompile(`(?:^|[^0-9.])[45]\.([0-9]{1,3})\.([0-9]{1,3})(?:[^0-9.]|\.?$|\.[^0-9])`)
	plainCode    = regexp.MustCompile(`^[^0-9]{0,20}([45][0-9]{2})(?:[^0-9.]|$)`)
)

// meaningOf finds what an answer means; false for one that gives no code.
func meaningOf(reply string) (replyMeaning, bool) {
	if strings.HasPrefix(reply, "2") { // it was taken
		return replyMeaning{}, false
	}
	if m := enhancedCode.FindStringSubmatch(reply); m != nil {
		subject, detail := strings.TrimLeft(m[1], "0"), strings.TrimLeft(m[2], "0")
		if known, ok := replyMeanings[subject+"."+detail]; ok {
			return known, true
		}
		if known, ok := replyMeanings[subject]; ok {
			return known, true
		}
	}
	if m := plainCode.FindStringSubmatch(reply); m != nil {
		known, ok := plainMeanings[m[1]]
		return known, ok
	}
	return replyMeaning{}, false
}

// inWords says why a message did not get through and what to do next, where its
// server's answer tells; nothing for one that did.
func inWords(m *store.Message) (why, do text.Text) {
	reply, says, again := m.Reply, "", false
	switch {
	case m.Returned == store.ReturnedFailed:
		reply, says = m.ReturnedReply, "page.messages.not-taken"
	case m.Returned == store.Delayed:
		reply, says, again = m.ReturnedReply, "page.messages.not-yet", true
	case m.State == store.Refused:
		says = "page.messages.not-taken"
	case m.State == store.GivenUp:
		says = "page.messages.tried"
	case m.State == store.Owed && m.Attempts > 0:
		says, again = "page.messages.not-yet", true
	}
	means, ok := meaningOf(reply)
	if says == "" || !ok {
		return text.Text{}, text.Text{}
	}
	why = text.New(says, text.New(means.why))
	if do = text.New(means.do); again {
		do = text.New("page.messages.do.wait")
	}
	return why, do
}
