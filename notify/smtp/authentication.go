package smtp

import (
	"errors"
	"fmt"
	"strings"

	"github.com/wneessen/go-mail/smtp"
)

var errNoSignIn = errors.New("no way of signing in is shared with the server")

// signIn picks the safest SMTP AUTH mechanism that the server offers. The
// mechanisms that send the password itself are used under TLS or towards this
// machine only.
type authentication struct {
	user, password string
	chosen         smtp.Auth
}

// Start begins the mechanism chosen.
func (a *authentication) Start(server *smtp.ServerInfo) (string, []byte, error) {
	local := server.Name == "localhost" || server.Name == "127.0.0.1" || server.Name == "::1"
	offers := func(name string) bool {
		for _, m := range server.Auth {
			if strings.EqualFold(m, name) {
				return true
			}
		}
		return false
	}
	switch {
	case offers("SCRAM-SHA-256"):
		a.chosen = smtp.ScramSHA256Auth(a.user, a.password)
	case offers("PLAIN") && (server.TLS || local):
		a.chosen = smtp.PlainAuth("", a.user, a.password, server.Name, false)
	case offers("LOGIN") && (server.TLS || local):
		a.chosen = smtp.LoginAuth(a.user, a.password, server.Name, false)
	case offers("CRAM-MD5"):
		a.chosen = smtp.CRAMMD5Auth(a.user, a.password)
	default:
		return "", nil, fmt.Errorf("%w: it offers %q (TLS: %t); SCRAM-SHA-256, CRAM-MD5 and, under TLS, PLAIN and LOGIN are known",
			errNoSignIn, strings.Join(server.Auth, " "), server.TLS)
	}
	return a.chosen.Start(server)
}

// Next continues it.
func (a *authentication) Next(fromServer []byte, more bool) ([]byte, error) {
	return a.chosen.Next(fromServer, more)
}
