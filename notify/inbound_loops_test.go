package notify_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"pryday/store"
)

// Nothing is sent because of what a program wrote (RFC 3834, section 2); it
// stays for the messages page.
func TestAutomaticMailIsNotAnswered(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	reminder := p.remind(t, digest(p.visit(t)))
	to := replyAddress(t, reminder)
	messageID := strings.Trim(header(t, reminder, "Message-ID"), "<>")
	tests := []struct{ name, sender, fields string }{
		{"away from keyboard", "kay@keepers.test", "Auto-Submitted: auto-replied\n"},
		{"with a comment and a parameter", "kay@keepers.test", "Auto-Submitted: Auto-Generated; owner=x\n"},
		{"the null sender", "", ""},
		{"bulk", "kay@keepers.test", "Precedence: bulk\n"},
		{"junk", "kay@keepers.test", "Precedence: Junk\n"},
		{"a list", "kay@keepers.test", "Precedence: list\n"},
		{"a list of ours", "kay@keepers.test", "List-Id: <club-1.reminders.club.test>\n"},
		{"ours, by its mark", "kay@keepers.test", "X-Loop: someone@else.test\nX-Loop: BEES@club.test\n"},
		{"round and round", "kay@keepers.test", strings.Repeat("Received: from a by b; Mon, 3 May 2027 10:00:00 +0000\n", 60)},
		{"a daemon", "mailer-daemon@keepers.test", ""},
	}
	for i, tt := range tests {
		in := p.comesIn(t, tt.sender, to, tt.fields+written(to, fmt.Sprint("Re: ", i), "I am away."))
		if in.Outcome != store.MailAutomatic || in.Detail == "" || in.Body != "I am away." {
			t.Errorf("%s: %+v", tt.name, in)
		}
	}
	ours := strings.Replace(written(to, "Re", "hello"), "Message-ID: <", "Message-ID: <"+messageID+">\nX-Was: <", 1)
	if in := p.comesIn(t, "kay@keepers.test", to, ours); in.Outcome != store.MailAutomatic {
		t.Errorf("ours, by its Message-ID: %+v", in)
	}
	if letters := p.deliver(t); len(letters) != 0 {
		t.Errorf("%d mails went out", len(letters))
	}
	if in := p.comesIn(t, "kay@keepers.test", to, "Auto-Submitted: no\n"+written(to, "Re", "I wrote this.")); in.Outcome != store.MailForwarded {
		t.Errorf("a person's: %+v", in)
	}
}

// One member cannot make us send without end.
func TestRepliesOfOneMemberAreLimited(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	to := replyAddress(t, p.remind(t, digest(p.visit(t))))
	outcomes := map[store.MailOutcome]int{}
	var err error
	for i := range 120 {
		if err = bring(p.server, "kay@keepers.test", to, written(to, "Re", fmt.Sprint("again ", i))); err != nil {
			break
		}
		outcomes[p.handled(t).Outcome]++
	}
	if outcomes[store.MailForwarded] != 20 || outcomes[store.MailKept] != 80 || err == nil || !strings.Contains(err.Error(), "450") {
		t.Errorf("%v, then %v", outcomes, err)
	}
}

// crossed joins two installations, so that Kay and Mo of each have signed
// addresses of the other as their own: what goes to one comes in at the other.
func crossed(t *testing.T) (a, b *post) {
	t.Helper()
	two := []*post{{fixture: newFixture(t), out: &nowhere{}}, {fixture: newFixture(t), out: &nowhere{}}}
	to := map[*post][]string{}
	for i, p := range two {
		p.n = p.replying(t, p.out, []string{"bees@a.test", "bees@b.test"}[i])
		p.server = listen(t, p.n, "lmtp:127.0.0.1:0")
		for range 2 {
			to[p] = append(to[p], replyAddress(t, p.remind(t, digest(p.visit(t)))))
		}
	}
	for i, p := range two {
		for j, who := range []string{"kay", "mo"} {
			p.exec(t, fmt.Sprintf(`UPDATE person SET email = '%s' WHERE email = '%s@keepers.test'`, to[two[1-i]][j], who))
		}
	}
	return two[0], two[1]
}

// play lets mail go to and fro until nothing more comes; it returns how many
// mails went, and fails when there is no end.
func play(t *testing.T, a, b *post, relay func(text string) string) (went int) {
	t.Helper()
	for range 400 {
		before := went
		for _, way := range [][2]*post{{a, b}, {b, a}} {
			for _, l := range way[0].deliver(t) {
				if strings.HasPrefix(l.To, "bees+") {
					went++
					if err := bring(way[1].server, l.From, l.To, relay(strings.ReplaceAll(string(l.Text), "\r\n", "\n"))); err == nil {
						way[1].handled(t)
					}
				}
			}
		}
		if went == before {
			return went
		}
	}
	t.Fatalf("%d mails, and no end", went)
	return 0
}

func TestTwoInstallationsStayQuiet(t *testing.T) {
	t.Parallel()
	a, b := crossed(t)
	a.owe(t, digest(a.visit(t)))
	b.owe(t, digest(b.visit(t)))
	if went := play(t, a, b, func(text string) string { return text }); went != 2 {
		t.Errorf("%d mails went, want the two reminders", went)
	}
}

var marks = regexp.MustCompile(`(?mi)^(auto-submitted|x-loop|list-id|precedence|message-id):.*\n(?:[ \t].*\n)*`)

// A relay that takes away every mark of an automatic mail: it ends all the
// same, by the limits of a day.
func TestTwoInstallationsComeToAnEnd(t *testing.T) {
	t.Parallel()
	a, b := crossed(t)
	a.owe(t, digest(a.visit(t)))
	if went := play(t, a, b, func(text string) string { return marks.ReplaceAllString(text, "") }); went < 3 || went > 2*20+1 {
		t.Errorf("%d mails went", went)
	}
}
