package notify_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"encoding/base64"
	"encoding/pem"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/emersion/go-msgauth/dkim"
	gomail "github.com/wneessen/go-mail"

	"pryday/notify"
	"pryday/notify/mail"
)

func keyFile(t *testing.T, key any) string {
	t.Helper()
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "dkim.pem")
	if err := os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestDKIM has the signature checked by another library than the one that
// made it (RFC 6376; Ed25519: RFC 8463). RFC 8058, section 4: the signature
// must cover List-Unsubscribe and List-Unsubscribe-Post.
func TestDKIM(t *testing.T) {
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
	tests := []struct {
		name, record string
		key          any
	}{
		{"RSA", "v=DKIM1; k=rsa; p=" + base64.StdEncoding.EncodeToString(rsaPublic), rsaKey},
		{"Ed25519", "v=DKIM1; k=ed25519; p=" + base64.StdEncoding.EncodeToString(edPublic), edKey},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := notify.LoadDKIM("Club.test", "pry1", keyFile(t, tt.key))
			if err != nil {
				t.Fatal(err)
			}
			m := message(t, "one@club.test", "kay@keepers.test")
			m.SetGenHeader("List-Unsubscribe", "<https://club.test/unsubscribe/x>")
			m.SetGenHeader("List-Unsubscribe-Post", "List-Unsubscribe=One-Click")
			m.AddAlternativeString(gomail.TypeTextHTML, "<p>Larch: box R14.</p>")
			l, err := notify.NewLetter(&mail.Message{Msg: m}, d)
			if err != nil {
				t.Fatal(err)
			}
			var asked string
			check := func(text []byte) *dkim.Verification {
				found, err := dkim.VerifyWithOptions(bytes.NewReader(text), &dkim.VerifyOptions{LookupTXT: func(name string) ([]string, error) {
					asked = name
					return []string{tt.record}, nil
				}})
				if err != nil || len(found) != 1 {
					t.Fatalf("%d signatures, %v", len(found), err)
				}
				return found[0]
			}
			v := check(l.Text)
			if v.Err != nil || v.Domain != "club.test" || asked != "pry1._domainkey.club.test" {
				t.Errorf("%+v, looked up at %s", v, asked)
			}
			for _, h := range []string{"From", "Subject", "Message-ID", "List-Unsubscribe", "List-Unsubscribe-Post"} {
				signed := false
				for _, k := range v.HeaderKeys {
					signed = signed || strings.EqualFold(k, h)
				}
				if !signed {
					t.Errorf("%s is not signed: %v", h, v.HeaderKeys)
				}
			}
			for _, change := range [][2]string{{"unsubscribe/x", "unsubscribe/y"}, {"R14", "R15"}, {"Two boxes", "Six boxes"}} {
				if v := check(bytes.Replace(l.Text, []byte(change[0]), []byte(change[1]), 1)); v.Err == nil {
					t.Errorf("changed %q to %q and the signature holds", change[0], change[1])
				}
			}
			second := append([]byte("Subject: Another one\r\n"), l.Text...)
			if v := check(second); v.Err == nil {
				t.Error("a second Subject was added and the signature holds")
			}
		})
	}
}

func TestLoadDKIM(t *testing.T) {
	dir := t.TempDir()
	bad := filepath.Join(dir, "bad.pem")
	if err := os.WriteFile(bad, []byte("not a key"), 0o600); err != nil {
		t.Fatal(err)
	}
	tests := []struct{ name, domain, selector, file, wrong string }{
		{"no file", "club.test", "pry1", filepath.Join(dir, "none.pem"), "none.pem"},
		{"no key in it", "club.test", "pry1", bad, "not an RSA or Ed25519 private key"},
		{"no domain", "", "pry1", bad, "both are needed"},
		{"no selector", "club.test", "", bad, "both are needed"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if _, err := notify.LoadDKIM(tt.domain, tt.selector, tt.file); err == nil || !strings.Contains(err.Error(), tt.wrong) {
				t.Errorf("error %v, want %q in it", err, tt.wrong)
			}
		})
	}
}
