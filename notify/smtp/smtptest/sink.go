package smtptest

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"io"
	"math/big"
	"net"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"
)

// sink is a mail server that takes everything, built on another library than
// the one that sends.
type Sink struct {
	Server *smtp.Server
	Port   int
	Taken  chan Received     // nil: not told
	Pause  time.Duration     // before the reply to the final dot
	InHand func(step string) // nil, or called before the reply to rcpt and to the final dot

	user, password string // required when set

	mu       sync.Mutex
	messages []Received
	UTF8     []bool // SMTPUTF8 asked for, by message
}

type Received struct {
	From, To string
	Helo     string
	Text     []byte
	Secure   bool
}

type sinkOption func(*Sink)

func WithTLS(config *tls.Config) sinkOption { return func(s *Sink) { s.Server.TLSConfig = config } }
func WithSignIn(user, password string) sinkOption {
	return func(s *Sink) { s.user, s.password = user, password }
}

func NewSink(t testing.TB, options ...sinkOption) *Sink {
	t.Helper()
	s := &Sink{}
	s.Server = smtp.NewServer(s)
	s.Server.Domain, s.Server.EnableSMTPUTF8, s.Server.AllowInsecureAuth = "mx.test", true, true
	s.Server.ErrorLog = quiet{}
	for _, o := range options {
		o(s)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s.Port = l.Addr().(*net.TCPAddr).Port
	go s.Server.Serve(l)
	t.Cleanup(func() { s.Server.Close() })
	return s
}

func (s *Sink) All() []Received {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Received(nil), s.messages...)
}

func (s *Sink) NewSession(c *smtp.Conn) (smtp.Session, error) {
	return &sinkSession{sink: s, conn: c, signedIn: s.user == ""}, nil
}

type sinkSession struct {
	sink     *Sink
	conn     *smtp.Conn
	signedIn bool
	now      Received
	utf8     bool
}

func (s *sinkSession) AuthMechanisms() []string {
	if s.sink.user == "" {
		return nil
	}
	return []string{sasl.Plain}
}

func (s *sinkSession) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if user != s.sink.user || password != s.sink.password {
			return smtp.ErrAuthFailed
		}
		s.signedIn = true
		return nil
	}), nil
}

func (s *sinkSession) Mail(from string, o *smtp.MailOptions) error {
	if !s.signedIn {
		return smtp.ErrAuthRequired
	}
	_, secure := s.conn.TLSConnectionState()
	s.now, s.utf8 = Received{From: from, Helo: s.conn.Hostname(), Secure: secure}, o.UTF8
	return nil
}

func (s *sinkSession) Rcpt(to string, _ *smtp.RcptOptions) error {
	s.now.To = to
	s.sink.inHand("rcpt")
	return nil
}

func (s *sinkSession) Data(r io.Reader) error {
	text, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	s.now.Text = text
	s.sink.mu.Lock()
	s.sink.messages = append(s.sink.messages, s.now)
	s.sink.UTF8 = append(s.sink.UTF8, s.utf8)
	s.sink.mu.Unlock()
	if s.sink.Taken != nil {
		s.sink.Taken <- s.now
	}
	time.Sleep(s.sink.Pause) // as a real one writes to its disk, so that a kill can fall in between
	s.sink.inHand("dot")
	return nil
}

func (s *Sink) inHand(step string) {
	if s.InHand != nil {
		s.InHand(step)
	}
}

func (s *sinkSession) Reset()        {}
func (s *sinkSession) Logout() error { return nil }

type quiet struct{}

func (quiet) Printf(string, ...any) {}
func (quiet) Println(...any)        {}

// certificate makes a certificate for names and the pool that trusts it.
func Certificate(t testing.TB, until time.Time, names ...string) (*tls.Config, *x509.CertPool) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "mx.test"}, NotBefore: time.Now().Add(-48 * time.Hour), NotAfter: until,
		KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign, IsCA: true, BasicConstraintsValid: true,
	}
	for _, n := range names {
		if ip := net.ParseIP(n); ip != nil {
			template.IPAddresses = append(template.IPAddresses, ip)
		} else {
			template.DNSNames = append(template.DNSNames, n)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	pool.AddCert(cert)
	return &tls.Config{Certificates: []tls.Certificate{{Certificate: [][]byte{der}, PrivateKey: key}}}, pool
}
