package smtp

import (
	"errors"
	"net/textproto"
	"testing"

	"github.com/wneessen/go-mail/smtp"
)

// TestSignInCodesAreOurSettings: the codes that speak of signing in (RFC 4954,
// section 6) say nothing against a letter or its reader, at whatever point.
func TestSignInCodesAreOurSettings(t *testing.T) {
	for code := range signInCodes {
		err := &textproto.Error{Code: code, Msg: "no"}
		if o := connectOutcome(err); !o.Settings || o.Verdict != Later {
			t.Errorf("%d while connecting: %+v", code, o)
		}
		if o := sendOutcome(RcptTo, err); o.Verdict != Later || o.BadAddress || o.Settings != (code >= 500) {
			t.Errorf("%d in reply to RCPT: %+v", code, o)
		}
	}
	if o := connectOutcome(&textproto.Error{Code: 421, Msg: "4.3.2 closing"}); o.Settings {
		t.Errorf("a server that is closing: %+v", o)
	}
	if o := sendOutcome(MailFrom, &textproto.Error{Code: 550, Msg: "5.7.1 relay denied"}); o.Verdict != Later || !o.Settings {
		t.Errorf("a sender whom the server does not want: %+v", o)
	}
}

// TestOneLine: a server's words stay on the line of a record or a log.
func TestOneLine(t *testing.T) {
	for in, want := range map[string]string{
		"550 no\r\nlevel=ERROR": "550 no level=ERROR", "a\x1b[31m\tb\x7fc": "a [31m b c", "\xff ok": "? ok",
	} {
		if got := OneLine(in); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
}

// TestPasswordsStayOffOpenLines: what sends the password itself goes under TLS
// or towards this machine (RFC 4954, section 4).
func TestPasswordsStayOffOpenLines(t *testing.T) {
	for _, offer := range []string{"PLAIN", "LOGIN"} {
		for _, tt := range []struct {
			server smtp.ServerInfo
			ok     bool
		}{
			{smtp.ServerInfo{Name: "mx.example", Auth: []string{offer}}, false},
			{smtp.ServerInfo{Name: "mx.example", TLS: true, Auth: []string{offer}}, true},
			{smtp.ServerInfo{Name: "localhost", Auth: []string{offer}}, true},
			{smtp.ServerInfo{Name: "localhost.example", Auth: []string{offer}}, false},
		} {
			a := authentication{user: "club", password: "secret"}
			_, _, err := a.Start(&tt.server)
			if tt.ok && err != nil || !tt.ok && !errors.Is(err, errNoSignIn) {
				t.Errorf("%s at %s, TLS %t: %v", offer, tt.server.Name, tt.server.TLS, err)
			}
		}
	}
}
