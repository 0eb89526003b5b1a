package notify_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"pryday/store"
)

// report is a delivery status notification in the shape of RFC 3464, appendix E.
func report(to, action, status, said string) string {
	return fmt.Sprintf(`Return-Path: <>
From: MAILER-DAEMON@mx.keepers.test (Mail Delivery System)
Subject: Undelivered Mail Returned to Sender
To: %s
Auto-Submitted: auto-replied
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status; boundary="b1"
Message-Id: <20270503.1@mx.keepers.test>

--b1
Content-Description: Notification
Content-Type: text/plain; charset=us-ascii

I'm sorry to have to inform you that your message could not be delivered.

--b1
Content-Description: Delivery report
Content-Type: message/delivery-status

Reporting-MTA: dns; mx.keepers.test
Arrival-Date: Mon,  3 May 2027 08:00:00 +0000 (UTC)

Final-Recipient: rfc822; kay@keepers.test
Original-Recipient: rfc822;kay@keepers.test
Action: %s
Status: %s
Remote-MTA: dns; mail.keepers.test
Diagnostic-Code: smtp; %s

--b1
Content-Description: Undelivered Message Headers
Content-Type: text/rfc822-headers

From: Hollow Lane Bees <reminders@club.test>
To: Kay Orrin <kay@keepers.test>
Subject: Orchard

--b1--
`, to, action, status, said)
}

// refused reports whether nothing more is sent to the member.
func (p *post) refused(t testing.TB) (reply string, is bool) {
	t.Helper()
	p.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		all, err := tx.RefusedMembers(ctx)
		reply, is = all[p.member]
		return err
	})
	return reply, is
}

func TestReportsOfReturnedMail(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name                 string
		action, status, said string
		returned             store.Return
		marked               bool
	}{
		// RFC 3463, 3.2: addressing; section 3.3: mailbox.
		{"nobody is there", "failed", "5.1.1", "550 5.1.1 <kay@keepers.test>: Recipient address rejected", store.ReturnedFailed, true},
		{"the mailbox is closed", "failed", "5.2.1", "550 5.2.1 disabled", store.ReturnedFailed, true},
		{"the domain is gone", "failed", "5.4.4", "X-Postfix; Host or domain name not found", store.ReturnedFailed, true},
		{"it says no more than no", "failed", "5.0.0", "550 unknown user", store.ReturnedFailed, true},
		{"the mailbox is full", "failed", "5.2.2", "552 5.2.2 over quota", store.ReturnedFailed, false},
		{"the server does not like us", "failed", "5.7.1", "550 5.7.1 blocked", store.ReturnedFailed, false},
		{"tried for days", "failed", "4.4.1", "connection timed out", store.Delayed, false},
		{"being tried", "delayed", "4.2.1", "450 4.2.1 try later", store.Delayed, false},
		{"it arrived", "delivered", "2.0.0", "250 ok", "", false},
		{"it went on", "relayed", "2.0.0", "250 ok", "", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			p := newPost(t)
			l := p.remind(t, digest(p.visit(t)))
			in := p.comesIn(t, "", l.From, report(l.From, tt.action, tt.status, tt.said))
			m := p.messages(t)[0]
			said, marked := p.refused(t)
			if m.State != store.Sent || m.Returned != tt.returned || marked != tt.marked || in.Body != "" && in.Outcome == store.MailForwarded {
				t.Errorf("message %s, returned %q (%s), marked %t (%s), %+v", m.State, m.Returned, m.ReturnedReply, marked, said, in)
			}
			if tt.returned != "" && !strings.Contains(m.ReturnedReply, strings.TrimPrefix(tt.said, "X-Postfix; ")) {
				t.Errorf("on record: %q", m.ReturnedReply)
			}
			if n := len(p.deliver(t)); n != 0 {
				t.Errorf("%d mails answer a report", n)
			}
		})
	}
}

// A full mailbox is worth some more tries; three mails in a row that came back
// are enough.
func TestThirdFailureInARowPauses(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	v := p.visit(t)
	for i, want := range []bool{false, false, true} {
		l := p.remind(t, digest(v))
		p.comesIn(t, "", l.From, report(l.From, "failed", "5.2.2", "552 5.2.2 over quota"))
		if _, marked := p.refused(t); marked != want {
			t.Errorf("after %d: marked %t", i+1, marked)
		}
	}
	if letters := p.remindQuietly(t, digest(v)); len(letters) != 0 {
		t.Errorf("%d more mails to an address that is marked", len(letters))
	}
}

// A late report about the old address does not mark the new one.
func TestReportAboutAnAddressThatChanged(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	l := p.remind(t, digest(p.visit(t)))
	p.exec(t, `UPDATE person SET email = 'kay.orrin@elsewhere.test' WHERE email = 'kay@keepers.test'`)
	p.comesIn(t, "", l.From, report(l.From, "failed", "5.1.1", "550 5.1.1 unknown"))
	if m := p.messages(t)[0]; m.Returned != store.ReturnedFailed {
		t.Errorf("on record: %q", m.Returned)
	}
	if said, marked := p.refused(t); marked {
		t.Errorf("the new address is marked: %s", said)
	}
}

// What older servers write says no more than that something came back.
func TestReturnedInWordsAlone(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	l := p.remind(t, digest(p.visit(t)))
	in := p.comesIn(t, "", l.From, "From: Mail Delivery System <mailer-daemon@old.test>\nTo: "+l.From+"\nSubject: Mail delivery failed: returning message to sender\nX-Failed-Recipients: kay@keepers.test\nMessage-ID: <1@old.test>\n\nA message that you sent could not be delivered.\n")
	if m := p.messages(t)[0]; in.Outcome != store.MailReturned || m.Returned != store.ReturnUnclear {
		t.Errorf("%+v, message %q", in, m.Returned)
	}
	if _, marked := p.refused(t); marked {
		t.Error("marked without a reason")
	}
	p.comesIn(t, "", l.From, report(l.From, "failed", "5.2.2", "full"))
	p.comesIn(t, "", l.From, report(l.From, "delayed", "4.2.2", "full"))
	if m := p.messages(t)[0]; m.Returned != store.ReturnedFailed || m.ReturnedReply != "5.2.2 full" {
		t.Errorf("a failure that is known: %q %q", m.Returned, m.ReturnedReply)
	}
}
