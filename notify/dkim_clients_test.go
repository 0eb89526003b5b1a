//go:build clients

// These need python3-dkim of Debian: deploy/setup soak installs it.

package notify_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"encoding/base64"
	netmail "net/mail"
	"net/url"
	"os/exec"
	"strings"
	"testing"

	"pryday/notify"
)

// verifier prints whether the first signature of a message on its standard
// input holds, and the fields that it covers; argument 1 is the key's record.
const verifier = `
import sys, dkim
asked = []
def txt(name, timeout=5):
    asked.append(name.decode())
    return sys.argv[1].encode()
d = dkim.DKIM(sys.stdin.buffer.read())
try:
    holds = d.verify(dnsfunc=txt)
except dkim.DKIMException as e:
    print(e, file=sys.stderr)
    holds = False
print(holds, " ".join(asked), " ".join(h[0].decode().lower() for h in d.signed_headers or []))
`

// TestDKIMInPython has whole reminders checked by an implementation in another
// language (RFC 6376, RFC 8463). RFC 8058, section 4: the signature covers the
// fields that unsubscribe.
func TestDKIMInPython(t *testing.T) {
	rsaKey, err := rsa.GenerateKey(rand.Reader, 2048)
	if err != nil {
		t.Fatal(err)
	}
	rsaPublic, err := x509.MarshalPKIXPublicKey(&rsaKey.PublicKey)
	if err != nil {
		t.Fatal(err)
	}
	edPublic, edKey, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	b := newFixture(t)
	id := b.oweReminders(t, 1)[0].ID
	tests := []struct {
		name, record string
		key          any
	}{
		{"RSA", "v=DKIM1; k=rsa; p=" + base64.StdEncoding.EncodeToString(rsaPublic), rsaKey},
		{"Ed25519", "v=DKIM1; k=ed25519; p=" + base64.StdEncoding.EncodeToString(edPublic), edKey},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := notify.LoadDKIM("club.test", "pry1", keyFile(t, tt.key))
			if err != nil {
				t.Fatal(err)
			}
			s, err := notify.New(t.Context(), notify.Config{
				Store: b.store, Sender: &nowhere{}, Clock: b.clock, PublicURL: &url.URL{Scheme: "https", Host: "bees.club.test"},
				From: netmail.Address{Address: "reminders@club.test"}, DKIM: d,
			})
			if err != nil {
				t.Fatal(err)
			}
			draft, err := s.Read(t.Context(), b.club, id)
			if err != nil {
				t.Fatal(err)
			}
			l, err := s.Letter(t.Context(), draft)
			if err != nil {
				t.Fatal(err)
			}
			said := verify(t, l.Text, tt.record)
			if !strings.HasPrefix(said, "True pry1._domainkey.club.test.") {
				t.Errorf("the verifier says %q of\n%.2000s", said, l.Text)
			}
			for _, field := range []string{"from", "to", "subject", "date", "message-id", "references", "list-id", "list-unsubscribe", "list-unsubscribe-post"} {
				if !strings.Contains(said+" ", " "+field+" ") {
					t.Errorf("%s is not signed: %s", field, said)
				}
			}
			for _, change := range [][2]string{{"bees.club.test/unsubscribe/", "bees.other.test/unsubscribe/"}, {"One-Click", "Two-Clicks"}, {"Larch", "Birch"}} {
				forged := bytes.Replace(l.Text, []byte(change[0]), []byte(change[1]), 1)
				if bytes.Equal(forged, l.Text) {
					t.Errorf("%q does not stand in the letter", change[0])
				}
				if said := verify(t, forged, tt.record); !strings.HasPrefix(said, "False") {
					t.Errorf("changed %q to %q and the verifier says %q", change[0], change[1], said)
				}
			}
		})
	}
}

func verify(t *testing.T, letter []byte, record string) string {
	t.Helper()
	cmd := exec.Command("/usr/bin/python3", "-c", verifier, record)
	cmd.Stdin = bytes.NewReader(letter)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("python3-dkim (deploy/setup soak installs it): %v", err)
	}
	return strings.TrimSpace(string(out))
}
