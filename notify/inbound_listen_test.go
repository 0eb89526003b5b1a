package notify_test

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	gosmtp "github.com/emersion/go-smtp"

	"pryday/notify/inbox"
	"pryday/store"
	"pryday/testdata/testrun"
)

// A daemon does all of it by itself: takes in, reads, changes, passes on.
func TestInboundMailInARunningDaemon(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	v := p.nobodyGoes(t, p.visit(t))
	event, _, organiser := p.invite(t, digest(v))
	start(t, p.n)
	if err := bring(p.server, "kay@keepers.test", organiser, fromCalendar(organiser, "1", exchange(event, "ACCEPTED", "20270503T101000Z", "with oil"))); err != nil {
		t.Fatal(err)
	}
	testrun.Until(t, "the visit is taken", func() bool { return len(p.visitNow(t, v.ID).Who) == 1 })
	testrun.Until(t, "the organiser has the note", func() bool {
		for _, l := range p.out.all() {
			if l.To == "mo@keepers.test" && strings.Contains(string(l.Text), "with oil") {
				return true
			}
		}
		return false
	})
}

// What is not stored is not acknowledged.
func TestNothingIsAcknowledgedThatIsNotStored(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	to := replyAddress(t, p.remind(t, digest(p.visit(t))))
	p.exec(t, `REVOKE INSERT ON inbound_mail FROM pryday_app`)
	err := bring(p.server, "kay@keepers.test", to, written(to, "Re", "x"))
	var reply *gosmtp.SMTPError
	var each gosmtp.LMTPDataError
	if !errors.As(err, &reply) && errors.As(err, &each) {
		for _, reply = range each {
		}
	}
	if reply == nil || reply.Code != 451 {
		t.Errorf("not stored, and answered %v", err)
	}
	p.exec(t, `GRANT INSERT ON inbound_mail TO pryday_app`)
	if err := bring(p.server, "kay@keepers.test", to, written(to, "Re", "x")); err != nil || p.howMany(t) != 1 {
		t.Errorf("the second try: %v, %d stored", err, p.howMany(t))
	}
}

// dialogue speaks to a server in its own words, and returns its replies.
func dialogue(t testing.TB, network, address string, lines ...string) (replies []string) {
	t.Helper()
	c, err := net.DialTimeout(network, address, 5*time.Second)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	c.SetDeadline(time.Now().Add(20 * time.Second))
	read := func() string {
		var all []byte
		for one := make([]byte, 1); ; {
			if _, err := c.Read(one); err != nil {
				return string(all) + " (" + err.Error() + ")"
			}
			all = append(all, one[0])
			// The last line of a reply has a space after its code.
			if last := all[strings.LastIndexByte(strings.TrimSuffix(string(all), "\n"), '\n')+1:]; one[0] == '\n' && len(last) > 3 && last[3] == ' ' {
				return string(last)
			}
		}
	}
	read()
	for _, line := range lines {
		if _, err := c.Write([]byte(strings.ReplaceAll(line, "\n", "\r\n") + "\r\n")); err != nil {
			return append(replies, err.Error())
		}
		replies = append(replies, read())
	}
	return replies
}

func TestListening(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	to := replyAddress(t, p.remind(t, digest(p.visit(t))))
	dir, err := os.MkdirTemp("", "in") // a socket's path is short
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	socket := filepath.Join(dir, "lmtp.sock")
	dead, err := net.Listen("unix", socket)
	if err != nil {
		t.Fatal(err)
	}
	dead.(*net.UnixListener).SetUnlinkOnClose(false)
	dead.Close() // as a killed daemon leaves it
	server := listen(t, p.n, "lmtp:"+socket)
	if info, err := os.Stat(socket); err != nil || info.Mode().Perm() != 0o666 {
		t.Errorf("the mail server cannot write to it: %v %v", info.Mode(), err)
	}
	got := dialogue(t, "unix", socket, "LHLO mx.test", "MAIL FROM:<>", "RCPT TO:<"+strings.ToUpper(to)+">", "RCPT TO:<other@club.test>", "DATA", written(to, "Re", "by LMTP")+".")
	for i, code := range []string{"250", "250", "250", "550 5.1.1", "354", "250"} {
		if !strings.HasPrefix(got[i], code) {
			t.Errorf("LMTP: reply %d is %q, want %s", i, got[i], code)
		}
	}
	place, _ := inbox.ParsePlace(socket)
	if _, err := inbox.Listen(place, p.n.Inbox(), silent); err == nil || !strings.Contains(err.Error(), "another process") {
		t.Errorf("a second one listens at the same socket: %v", err)
	}
	if err := server.Shutdown(t.Context()); err != nil {
		t.Error(err)
	}
	smtp := listen(t, p.n, "smtp:127.0.0.1:0").Addr().String()
	got = dialogue(t, "tcp", smtp, "EHLO mx.test", "MAIL FROM:<kay@keepers.test>", "RCPT TO:<"+to+">", "DATA", written(to, "Re", "by SMTP")+".")
	if last := got[len(got)-1]; !strings.HasPrefix(last, "250") || p.howMany(t) != 2 {
		t.Errorf("SMTP: %q, %d stored", got, p.howMany(t))
	}
	file := filepath.Join(dir, "notes")
	if err := os.WriteFile(file, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := inbox.Listen(inbox.Place{LMTP: true, Network: "unix", Address: file}, p.n.Inbox(), silent); err == nil {
		t.Error("a file is taken for a socket")
	}
}

func TestBoundsOfAConnection(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	to := replyAddress(t, p.remind(t, digest(p.visit(t))))
	address := p.server.Addr().String()
	got := dialogue(t, "tcp", address, "LHLO mx.test", fmt.Sprintf("MAIL FROM:<> SIZE=%d", inbox.MaxBytes+1))
	if !strings.HasPrefix(got[1], "552") {
		t.Errorf("a mail that says it is too large: %q", got[1])
	}
	if err := bring(p.server, "kay@keepers.test", to, written(to, "Re", strings.Repeat("0123456789\n", inbox.MaxBytes/11+1))); err == nil || !strings.Contains(err.Error(), "552") {
		t.Errorf("a mail that is too large: %v", err)
	}
	lines := []string{"LHLO mx.test", "MAIL FROM:<>"}
	for range 11 {
		lines = append(lines, "RCPT TO:<"+to+">")
	}
	if got := dialogue(t, "tcp", address, lines...); !strings.HasPrefix(got[len(got)-1], "452") || !strings.HasPrefix(got[len(got)-2], "250") {
		t.Errorf("recipients: %q", got)
	}
	if got := dialogue(t, "tcp", address, "LHLO "+strings.Repeat("x", 100_000)); !strings.Contains(got[0], "500") {
		t.Errorf("a long line: %q", got)
	}
	if got := dialogue(t, "tcp", address, "LHLO mx.test", "AUTH PLAIN AHgAeQ==", "STARTTLS", "EXPN staff", "VRFY mo"); strings.HasPrefix(got[1], "2") || strings.HasPrefix(got[3], "250") {
		t.Errorf("what is not offered: %q", got)
	}
	if p.howMany(t) != 0 {
		t.Errorf("%d stored", p.howMany(t))
	}
	// Whoever connects and says nothing keeps others out for a bounded time
	// only; how many can is bounded as well.
	var idle []net.Conn
	for range 20 {
		c, err := net.Dial("tcp", address)
		if err != nil {
			t.Fatal(err)
		}
		idle = append(idle, c)
	}
	c, err := net.Dial("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	greeted := make(chan error, 1)
	go func() { _, err := c.Read(make([]byte, 3)); greeted <- err }()
	for _, i := range idle {
		if _, err := i.Read(make([]byte, 3)); err != nil {
			t.Fatal(err)
		}
	}
	select {
	case <-greeted:
		t.Error("the 21st is answered at once")
	default:
	}
	for _, i := range idle {
		i.Close()
	}
	if err := <-greeted; err != nil {
		t.Errorf("the next: %v", err)
	}
}

// Texts go after two months, and what is left of a mail after thirteen.
func TestOldMailIsCleared(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	to := replyAddress(t, p.remind(t, digest(p.visit(t))))
	p.comesIn(t, "kay@keepers.test", to, written(to, "Re", "old words"))
	tend := func() {
		t.Helper()
		p.inClub(t, func(ctx context.Context, tx *store.Tx) error { return p.n.Inbox().Tend(ctx, tx) })
	}
	for _, step := range []struct {
		age        string
		rows, text int
	}{{"59 days", 1, 1}, {"61 days", 1, 0}, {"399 days", 1, 0}, {"401 days", 0, 0}} {
		p.exec(t, `UPDATE inbound_mail SET received_at = now() - interval '`+step.age+`'`)
		tend()
		rows, texts := 0, 0
		p.inClub(t, func(ctx context.Context, tx *store.Tx) error {
			all, err := tx.InboundMails(ctx, store.InboundMailFilter{})
			rows, texts = len(all), 0
			for _, in := range all {
				if in.Body != "" || in.Subject != "" || in.FromEmail != "" {
					texts++
				}
			}
			return err
		})
		if rows != step.rows || texts != step.text {
			t.Errorf("after %s: %d rows, %d with texts", step.age, rows, texts)
		}
	}
}

// A mail whose job is lost is read all the same.
func TestLostJobOfAMail(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	to := replyAddress(t, p.remind(t, digest(p.visit(t))))
	if err := bring(p.server, "kay@keepers.test", to, written(to, "Re", "do not lose me")); err != nil {
		t.Fatal(err)
	}
	p.exec(t, `DELETE FROM river_job`)
	start(t, p.n) // tends once
	testrun.Until(t, "it is passed on", func() bool { return p.cameIn(t)[0].Outcome == store.MailForwarded })
}
