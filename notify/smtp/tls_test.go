package smtp_test

import (
	"crypto/tls"
	"crypto/x509"
	"net"
	"strings"
	"testing"
	"time"

	"pryday/notify/smtp"
	"pryday/notify/smtp/smtptest"
)

// TestTLS: mail goes over checked TLS or, towards strangers, not at all.
func TestTLS(t *testing.T) {
	good, goodPool := smtptest.Certificate(t, time.Now().Add(time.Hour), "127.0.0.1")
	otherName, otherPool := smtptest.Certificate(t, time.Now().Add(time.Hour), "mx.elsewhere.test")
	old, oldPool := smtptest.Certificate(t, time.Now().Add(-time.Hour), "127.0.0.1")
	tests := []struct {
		name    string
		server  *tls.Config // nil: no STARTTLS offered
		pool    *x509.CertPool
		use     smtp.TLSUse
		arrives bool
	}{
		{"required and offered", good, goodPool, smtp.TLSRequired, true},
		{"required, not offered", nil, nil, smtp.TLSRequired, false},
		{"required, unknown authority", good, x509.NewCertPool(), smtp.TLSRequired, false},
		{"required, another name", otherName, otherPool, smtp.TLSRequired, false},
		{"required, expired", old, oldPool, smtp.TLSRequired, false},
		{"opportunistic and offered", good, goodPool, smtp.TLSOpportunistic, true},
		{"opportunistic, not offered", nil, nil, smtp.TLSOpportunistic, true},
		{"opportunistic, another name", otherName, otherPool, smtp.TLSOpportunistic, false},
		{"none, though offered", good, goodPool, smtp.TLSNone, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			server := smtptest.NewSink(t)
			if tt.server != nil {
				server = smtptest.NewSink(t, smtptest.WithTLS(tt.server))
			}
			s := sender(t, server.Port, func(c *smtp.Config) { c.TLS, c.RootCAs = tt.use, tt.pool })
			o := s.Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test"))
			got := server.All()
			if tt.arrives {
				wantSecure := tt.server != nil && tt.use != smtp.TLSNone
				if o.Verdict != smtp.Delivered || len(got) != 1 || got[0].Secure != wantSecure {
					t.Errorf("got %+v; arrived: %v", o, got)
				}
				return
			}
			if o.Verdict != smtp.Later || !o.Settings || len(got) != 0 {
				t.Errorf("got %+v; %d messages arrived", o, len(got))
			}
		})
	}
}

func TestTLSFromTheStart(t *testing.T) {
	config, pool := smtptest.Certificate(t, time.Now().Add(time.Hour), "127.0.0.1")
	server := smtptest.NewSink(t, smtptest.WithSignIn("kay", "pa ss"))
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	go server.Server.Serve(tls.NewListener(l, config))
	port := l.Addr().(*net.TCPAddr).Port
	for _, password := range []string{"pa ss", "wrong"} {
		s := sender(t, port, func(c *smtp.Config) {
			c.TLS, c.RootCAs, c.User, c.Password = smtp.TLSImplicit, pool, "kay", password
		})
		o := s.Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test"))
		if password == "wrong" {
			if o.Verdict != smtp.Later || !o.Settings {
				t.Errorf("wrong password: %+v", o)
			}
		} else if got := server.All(); o.Verdict != smtp.Delivered || len(got) != 1 || !got[0].Secure {
			t.Errorf("got %+v; arrived: %v", o, got)
		}
		if strings.Contains(o.Reply, password) {
			t.Errorf("the reply holds the password: %q", o.Reply)
		}
	}
	if n := len(server.All()); n != 1 {
		t.Errorf("%d messages arrived, want 1", n)
	}
}

func TestSignIn(t *testing.T) {
	config, pool := smtptest.Certificate(t, time.Now().Add(time.Hour), "127.0.0.1")
	tests := []struct {
		name, user, password string
		verdict              smtp.Verdict
	}{
		{"right", "kay", "pa ss", smtp.Delivered},
		{"wrong password", "kay", "pass", smtp.Later},
		{"none given", "", "", smtp.Later},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			server := smtptest.NewSink(t, smtptest.WithTLS(config), smtptest.WithSignIn("kay", "pa ss"))
			s := sender(t, server.Port, func(c *smtp.Config) {
				c.TLS, c.RootCAs, c.User, c.Password = smtp.TLSRequired, pool, tt.user, tt.password
			})
			o := s.Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test"))
			if o.Verdict != tt.verdict || o.Settings != (tt.verdict == smtp.Later) {
				t.Errorf("got %+v", o)
			}
		})
	}
}

// TestSMTPUTF8 asks for it only where an address needs it (RFC 6531, 3.1).
func TestSMTPUTF8(t *testing.T) {
	server := smtptest.NewSink(t)
	s := sender(t, server.Port, nil)
	for i, to := range []string{"kay@keepers.test", "käthe@keepers.test"} {
		if o := s.Send(t.Context(), letter(t, "one@club.test", to)); o.Verdict != smtp.Delivered {
			t.Fatalf("%s: %+v", to, o)
		}
		if got := server.All()[i].To; got != to || server.UTF8[i] != (i == 1) {
			t.Errorf("%s arrived as %s, SMTPUTF8 %t", to, got, server.UTF8[i])
		}
	}
}
