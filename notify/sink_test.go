package notify_test

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
type sink struct {
	server *smtp.Server
	port   int
	taken  chan received // nil: not told
	pause  time.Duration // before the reply to the final dot

	user, password string // required when set

	mu       sync.Mutex
	messages []received
	utf8     []bool // SMTPUTF8 asked for, by message
}

type received struct {
	from, to string
	helo     string
	text     []byte
	secure   bool
}

type sinkOption func(*sink)

func withTLS(config *tls.Config) sinkOption { return func(s *sink) { s.server.TLSConfig = config } }
func withSignIn(user, password string) sinkOption {
	return func(s *sink) { s.user, s.password = user, password }
}

func newSink(t testing.TB, options ...sinkOption) *sink {
	t.Helper()
	s := &sink{}
	s.server = smtp.NewServer(s)
	s.server.Domain, s.server.EnableSMTPUTF8, s.server.AllowInsecureAuth = "mx.test", true, true
	s.server.ErrorLog = quiet{}
	for _, o := range options {
		o(s)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s.port = l.Addr().(*net.TCPAddr).Port
	go s.server.Serve(l)
	t.Cleanup(func() { s.server.Close() })
	return s
}

func (s *sink) all() []received {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]received(nil), s.messages...)
}

func (s *sink) NewSession(c *smtp.Conn) (smtp.Session, error) {
	return &sinkSession{sink: s, conn: c, signedIn: s.user == ""}, nil
}

type sinkSession struct {
	sink     *sink
	conn     *smtp.Conn
	signedIn bool
	now      received
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
	s.now, s.utf8 = received{from: from, helo: s.conn.Hostname(), secure: secure}, o.UTF8
	return nil
}

func (s *sinkSession) Rcpt(to string, _ *smtp.RcptOptions) error { s.now.to = to; return nil }

func (s *sinkSession) Data(r io.Reader) error {
	text, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	s.now.text = text
	s.sink.mu.Lock()
	s.sink.messages = append(s.sink.messages, s.now)
	s.sink.utf8 = append(s.sink.utf8, s.utf8)
	s.sink.mu.Unlock()
	if s.sink.taken != nil {
		s.sink.taken <- s.now
	}
	time.Sleep(s.sink.pause)
	return nil
}

func (s *sinkSession) Reset()        {}
func (s *sinkSession) Logout() error { return nil }

type quiet struct{}

func (quiet) Printf(string, ...any) {}
func (quiet) Println(...any)        {}

// certificate makes a certificate for names and the pool that trusts it.
func certificate(t testing.TB, until time.Time, names ...string) (*tls.Config, *x509.CertPool) {
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
