package notify_test

import (
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"log/slog"
	"net"
	netmail "net/mail"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	gosmtp "github.com/emersion/go-smtp"

	"pryday/notify"
	"pryday/notify/inbox"
	"pryday/notify/smtp"
	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// post is a fixture whose service takes mail in, over LMTP, and whose own mail
// goes nowhere.
type post struct {
	*fixture
	n      *notify.Service
	out    *nowhere
	server *inbox.Server
	sent   int // letters looked at
}

func newPost(t testing.TB) *post {
	t.Helper()
	p := &post{fixture: newFixture(t), out: &nowhere{}}
	p.n = p.replying(t, p.out, "bees@club.test")
	p.server = listen(t, p.n, "lmtp:127.0.0.1:0")
	return p
}

// replying is a service that replies to its mail come back to.
func (b *fixture) replying(t testing.TB, s notify.Sender, address string) *notify.Service {
	t.Helper()
	n, err := notify.New(t.Context(), notify.Config{
		Store: b.store, Sender: s, Clock: b.clock, PublicURL: &url.URL{Scheme: "https", Host: "bees.club.test"},
		From: netmail.Address{Address: "reminders@club.test"}, ReplyTo: address, Logger: silent,
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

var silent = slog.New(slog.DiscardHandler)

func listen(t testing.TB, n *notify.Service, at string) *inbox.Server {
	t.Helper()
	place, err := inbox.ParsePlace(at)
	if err != nil {
		t.Fatal(err)
	}
	server, err := inbox.Listen(place, n.Inbox(), silent)
	if err != nil {
		t.Fatal(err)
	}
	go server.Serve()
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		server.Shutdown(ctx)
	})
	return server
}

// remind mails the member about something and returns the mail.
func (p *post) remind(t testing.TB, it owed.Item) *smtp.Letter {
	t.Helper()
	letters := p.remindQuietly(t, it)
	if len(letters) != 1 {
		t.Fatalf("%d letters went out, want one", len(letters))
	}
	return letters[0]
}

// digest tells of a visit to come.
func digest(v store.VisitRecord) owed.Item {
	return owed.Item{Kind: scheduler.DigestMessage, Because: owed.BecauseDaysBefore, VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, VisitOn: v.On}
}

// deliver lets every owed message go out and returns the letters that are new.
func (p *post) deliver(t testing.TB) []*smtp.Letter {
	t.Helper()
	for _, m := range p.messages(t) {
		if m.State == store.Owed {
			if _, err := p.n.Attempt(t.Context(), p.club, m.ID); err != nil {
				t.Fatal(err)
			}
		}
	}
	all := p.out.all()
	fresh := all[p.sent:]
	p.sent = len(all)
	return fresh
}

func (p *post) next(t testing.TB) *smtp.Letter {
	t.Helper()
	letters := p.deliver(t)
	if len(letters) != 1 {
		t.Fatalf("%d letters went out, want one", len(letters))
	}
	return letters[0]
}

// comesIn brings a mail to the service and has it read; the result is what
// stands on record.
func (p *post) comesIn(t testing.TB, sender, to, text string) store.InboundMail {
	t.Helper()
	if err := bring(p.server, sender, to, text); err != nil {
		t.Fatal(err)
	}
	return p.handled(t)
}

// handled has everything read that came in, and returns the newest.
func (p *post) handled(t testing.TB) store.InboundMail {
	t.Helper()
	all := p.cameIn(t)
	for _, in := range slices.Backward(all) {
		if in.Outcome == "" {
			if err := p.n.ReadMail(t.Context(), p.club, in.ID); err != nil {
				t.Fatal(err)
			}
		}
	}
	return p.cameIn(t)[0]
}

func (p *post) cameIn(t testing.TB) (all []store.InboundMail) {
	t.Helper()
	p.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
		all, err = tx.InboundMails(ctx, store.InboundMailFilter{Limit: 1000})
		return err
	})
	if len(all) == 0 {
		t.Fatal("nothing came in")
	}
	return all
}

// bring hands a mail over as a mail server does.
func bring(server *inbox.Server, sender, to, text string) error {
	conn, err := net.Dial("tcp", server.Addr().String())
	if err != nil {
		return err
	}
	c := gosmtp.NewClientLMTP(conn)
	defer c.Close()
	if err := c.Hello("mx.test"); err != nil {
		return err
	}
	if err := c.Mail(sender, nil); err != nil {
		return err
	}
	if err := c.Rcpt(to, nil); err != nil {
		return err
	}
	w, err := c.Data()
	if err != nil {
		return err
	}
	if _, err := io.WriteString(w, strings.ReplaceAll(text, "\n", "\r\n")); err != nil {
		return err
	}
	return w.Close()
}

// header returns a field of a letter.
func header(t testing.TB, l *smtp.Letter, name string) string {
	t.Helper()
	h, _ := parts(t, l.Text)
	return h.Get(name)
}

// replyAddress is where an answer to a letter goes.
func replyAddress(t testing.TB, l *smtp.Letter) string {
	t.Helper()
	a, err := netmail.ParseAddress(header(t, l, "Reply-To"))
	if err != nil {
		t.Fatal(err)
	}
	return a.Address
}

// written is a plain mail from Kay.
func written(to, subject, text string) string {
	return fmt.Sprintf("From: Kay Orrin <kay@keepers.test>\nTo: %s\nSubject: %s\nMessage-ID: <%x@keepers.test>\nDate: Mon, 3 May 2027 10:00:00 +0100\n\n%s\n", to, subject, sha256.Sum256([]byte(text)), text)
}

// Without a reply address mail is as it was; with one, answers and reports
// come to addresses of this message, and the mail is known when it comes back.
func TestReplyAddresses(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	l := p.remind(t, digest(p.visit(t)))
	to := replyAddress(t, l)
	if !strings.HasPrefix(to, "bees+") || !strings.HasSuffix(to, "@club.test") || !strings.HasPrefix(l.From, "bees+") || l.From == to {
		t.Errorf("from %s, answers to %s", l.From, to)
	}
	for _, address := range []string{to, l.From} { // RFC 5321, 4.5.3.1.1
		if local, _, _ := strings.Cut(address, "@"); len(local) > 64 || local != strings.ToLower(local) {
			t.Errorf("%s: %d characters", address, len(local))
		}
	}
	if header(t, l, "X-Loop") != "bees@club.test" || header(t, l, "Auto-Submitted") != "auto-generated" {
		t.Errorf("%s", l.Text[:800])
	}
}

// A member's words reach the organisers with the visit that they are about,
// and an organiser's answer goes to the member. Nothing that would let the
// organiser act as the member goes along.
func TestPlainReplyReachesTheOrganisers(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	v := p.visit(t)
	reminder := p.remind(t, digest(v))
	_, bodies := parts(t, reminder.Text)
	quoted := "> " + strings.ReplaceAll(bodies["text/plain"], "\n", "\n> ")
	to := replyAddress(t, reminder)
	in := p.comesIn(t, "kay@keepers.test", strings.ToUpper(to), // servers may change the case
		written(to, "Re: Orchard", "I can go, but the gate is stuck.\nWho has oil?\n\nOn Mon, 3 May 2027, Hollow Lane Bees <"+to+"> wrote:\n"+quoted))
	if in.Outcome != store.MailForwarded || in.VisitID != v.ID || in.MemberID != p.member || in.Body != "I can go, but the gate is stuck.\nWho has oil?" {
		t.Fatalf("%+v", in)
	}
	l := p.next(t)
	h, got := parts(t, l.Text)
	if l.To != "mo@keepers.test" || h.Get("Reply-To") != `"Kay Orrin" <kay@keepers.test>` || h.Get("Auto-Submitted") != "auto-generated" {
		t.Errorf("to %s, answers to %s, %s", l.To, h.Get("Reply-To"), h.Get("Auto-Submitted"))
	}
	for _, want := range []string{"Kay Orrin", "Orchard", "| I can go, but the gate is stuck.\n| Who has oil?", "Re: Orchard"} {
		if !strings.Contains(strings.ReplaceAll(got["text/plain"], "\r\n", "\n"), want) {
			t.Errorf("the text lacks %q:\n%s", want, got["text/plain"])
		}
	}
	for kind, body := range got {
		if strings.Contains(body, "/act/") || strings.Contains(body, "bees+") {
			t.Errorf("%s tells what only the member may have:\n%s", kind, body)
		}
	}
	again := p.comesIn(t, "kay@keepers.test", to, written(to, "Re: Orchard", "I can go, but the gate is stuck.\nWho has oil?\n\nOn Mon, 3 May 2027, Hollow Lane Bees <"+to+"> wrote:\n"+quoted))
	if again.ID != in.ID || len(p.deliver(t)) != 0 {
		t.Errorf("what came twice was taken twice: %+v", again)
	}
}

// Where there is nobody to tell, a reply stays for the messages page.
func TestReplyOfTheOnlyOrganiserIsKept(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	p.exec(t, `UPDATE member SET role = CASE WHEN id = `+fmt.Sprint(p.member)+` THEN 'organiser' ELSE 'keeper' END`)
	to := replyAddress(t, p.remind(t, digest(p.visit(t))))
	in := p.comesIn(t, "kay@keepers.test", to, written(to, "Re", "Is anybody there?"))
	if in.Outcome != store.MailKept || in.Body != "Is anybody there?" || len(p.deliver(t)) != 0 {
		t.Errorf("%+v", in)
	}
}

// Only signed addresses are taken, for as long as what they name is on record.
func TestOtherAddressesAreRefused(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	to := replyAddress(t, p.remind(t, digest(p.visit(t))))
	last := len(to) - len("@club.test") - 1
	swapped := map[bool]byte{true: 'b', false: 'a'}[to[last] == 'a']
	forged := to[:last] + string(swapped) + to[last+1:]
	for _, address := range []string{"bees@club.test", "mo@club.test", forged, strings.Replace(to, "club.test", "other.test", 1), "bees+@club.test"} {
		err := bring(p.server, "kay@keepers.test", address, written(address, "Hello", "x"))
		if reply, ok := err.(*gosmtp.SMTPError); !ok || reply.Code != 550 || reply.EnhancedCode != (gosmtp.EnhancedCode{5, 1, 1}) {
			t.Errorf("%s: %v", address, err)
		}
	}
	p.exec(t, `DELETE FROM message`)
	if err := bring(p.server, "kay@keepers.test", to, written(to, "Hello", "x")); err == nil || !strings.Contains(err.Error(), "550") {
		t.Errorf("an answer to a mail that is not on record any more: %v", err)
	}
}

// remindQuietly owes what remind does, and returns what went out, if anything.
func (p *post) remindQuietly(t testing.TB, it owed.Item) []*smtp.Letter {
	t.Helper()
	p.owe(t, it)
	return p.deliver(t)
}

func (p *post) owe(t testing.TB, it owed.Item) {
	t.Helper()
	p.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.Owe(ctx, []owed.Message{{
			Key: fmt.Sprint("post/", len(p.messages(t))), Kind: it.Kind, MemberID: p.member, On: p.today(), Reason: it.Because, Items: []owed.Item{it},
		}}, p.clock.civil)
		return err
	})
}
