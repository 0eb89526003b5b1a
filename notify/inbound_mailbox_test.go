package notify_test

import (
	"bytes"
	"context"
	"crypto/tls"
	"fmt"
	"io"
	"log"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-imap/v2"
	"github.com/emersion/go-imap/v2/imapserver"
	"github.com/emersion/go-imap/v2/imapserver/imapmemserver"

	"pryday/notify/inbox"
	"pryday/notify/smtp/smtptest"
	"pryday/store"
	"pryday/testdata/testrun"
)

// imapServer is a mail server in memory with one user, bees.
type imapServer struct {
	user *imapmemserver.User
	addr string
}

func newIMAPServer(t testing.TB, certificate *tls.Config) *imapServer {
	t.Helper()
	s := &imapServer{user: imapmemserver.NewUser("bees", "hush")}
	if err := s.user.Create("INBOX", nil); err != nil {
		t.Fatal(err)
	}
	memory := imapmemserver.New()
	memory.AddUser(s.user)
	server := imapserver.New(&imapserver.Options{
		NewSession: func(*imapserver.Conn) (imapserver.Session, *imapserver.GreetingData, error) {
			return memory.NewSession(), nil, nil
		},
		Caps:         imap.CapSet{imap.CapIMAP4rev1: {}, imap.CapIdle: {}},
		InsecureAuth: true, Logger: log.New(io.Discard, "", 0),
	})
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s.addr = l.Addr().String()
	if certificate != nil {
		l = tls.NewListener(l, certificate)
	}
	go server.Serve(l)
	t.Cleanup(func() { server.Close() })
	return s
}

type literal struct{ *bytes.Reader }

func (l literal) Size() int64 { return int64(l.Len()) }

func (s *imapServer) put(t testing.TB, text string) {
	t.Helper()
	raw := []byte(strings.ReplaceAll(text, "\n", "\r\n"))
	if _, err := s.user.Append("INBOX", literal{bytes.NewReader(raw)}, &imap.AppendOptions{}); err != nil {
		t.Fatal(err)
	}
}

func (s *imapServer) unseen(t testing.TB) uint32 {
	t.Helper()
	status, err := s.user.Status("INBOX", &imap.StatusOptions{NumUnseen: true})
	if err != nil {
		t.Fatal(err)
	}
	return *status.NumUnseen
}

func (p *post) mailbox(s *imapServer) *inbox.Mailbox {
	return inbox.NewMailbox(inbox.MailboxConfig{Host: s.addr, User: "bees", Password: "hush", Folder: "INBOX", Plain: true}, p.n.Inbox(), silent)
}

// A plain mailbox is read: what came to a signed address is taken once and
// marked seen, whatever happens in between; all else is left as it is.
func TestMailboxIsRead(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	server := newIMAPServer(t, nil)
	reminder := p.remind(t, digest(p.visit(t)))
	to := replyAddress(t, reminder)
	server.put(t, "From: shop@example.test\nTo: bees@club.test\nSubject: Honey jars\n\nOn offer.\n")
	server.put(t, written(to, "Re: Orchard", "The gate is stuck."))
	server.put(t, "Delivered-To: "+reminder.From+"\nX: 1\n"+report("somebody@else.test", "failed", "5.1.1", "550 5.1.1 nobody"))
	server.put(t, written(to, "A film", strings.Repeat("x", inbox.MaxBytes+1)))
	server.put(t, written("bees+aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa@club.test", "Forged", "x"))
	m := p.mailbox(server)
	for range 2 { // the second time nothing is new
		if err := m.Read(t.Context(), false); err != nil {
			t.Fatal(err)
		}
	}
	p.handled(t)
	all := p.cameIn(t)
	if len(all) != 2 || all[1].Outcome != store.MailForwarded || all[1].Body != "The gate is stuck." || all[0].Outcome != store.MailReturned || all[0].Sender != "" {
		t.Fatalf("%d came in: %+v", len(all), all)
	}
	if _, marked := p.refused(t); !marked {
		t.Error("the address is not marked")
	}
	if n := server.unseen(t); n != 3 {
		t.Errorf("%d are unseen, want the three that are not ours", n)
	}
	letters := len(p.deliver(t))
	// A daemon that died before it noted how far it came, and a server that
	// counts anew: all is looked at again, and nothing is taken twice.
	for _, sql := range []string{`DELETE FROM mailbox`, `UPDATE mailbox SET uid_validity = uid_validity + 7`, `UPDATE mailbox SET uid = 1`} {
		p.exec(t, sql)
		if err := m.Read(t.Context(), false); err != nil {
			t.Fatal(err)
		}
		p.handled(t)
		if n := len(p.cameIn(t)); n != 2 || len(p.deliver(t)) != 0 {
			t.Errorf("after %s: %d came in", sql, n)
		}
	}
	if letters != 1 {
		t.Errorf("%d letters to organisers", letters)
	}
}

// While a server tells of new mail, it is taken at once, and a connection that
// breaks is made again.
func TestMailboxIsWaitedOn(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	certificate, roots := smtptest.Certificate(t, time.Now().Add(time.Hour), "127.0.0.1")
	server := newIMAPServer(t, certificate)
	to := replyAddress(t, p.remind(t, digest(p.visit(t))))
	m := inbox.NewMailbox(inbox.MailboxConfig{
		Host: server.addr, User: "bees", Password: "hush", Folder: "INBOX", TLS: &tls.Config{RootCAs: roots},
	}, p.n.Inbox(), silent)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() { defer close(done); m.Run(ctx) }()
	for i := range 3 {
		server.put(t, written(to, "Re", fmt.Sprint("the ", i)))
		testrun.Until(t, "what is new in the mailbox is taken in", func() bool {
			// The server in memory tells nobody of what comes just before it is waited on.
			server.put(t, "Subject: somebody's own\n\nx\n")
			return p.howMany(t) == i+1
		})
	}
	cancel()
	<-done
}

func (p *post) howMany(t testing.TB) (n int) {
	t.Helper()
	p.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
		n, err = tx.CountMail(ctx, p.member, time.Time{})
		return err
	})
	return n
}

func TestMailboxThatCannotBeRead(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	server := newIMAPServer(t, nil)
	for want, change := range map[string]func(*inbox.MailboxConfig){
		"sign in":         func(c *inbox.MailboxConfig) { c.Password = "wrong" },
		"open the folder": func(c *inbox.MailboxConfig) { c.Folder = "Elsewhere" },
		"dial":            func(c *inbox.MailboxConfig) { c.Host = "127.0.0.1:1" },
		"":                func(c *inbox.MailboxConfig) { c.Plain = false },
	} {
		c := p.mailbox(server).MailboxConfig
		change(&c)
		ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
		if err := inbox.NewMailbox(c, p.n.Inbox(), silent).Read(ctx, true); err == nil || !strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "wrong") {
			t.Errorf("%q: %v", want, err)
		}
		cancel()
	}
}
