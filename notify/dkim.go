package notify

import (
	"bytes"
	"crypto"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/emersion/go-msgauth/dkim"
	gomail "github.com/wneessen/go-mail"
)

// signedHeaders are what a signature covers. RFC 8058, section 4 demands the
// two unsubscribe fields; From and Subject stand twice so that a second one
// cannot be added (RFC 6376, section 8.15).
var signedHeaders = []string{
	"From", "From", "Subject", "Subject", "Date", "To", "Message-ID", "In-Reply-To", "References", "MIME-Version",
	"Content-Type", "Content-Transfer-Encoding", "List-Id", "List-Unsubscribe", "List-Unsubscribe-Post", "Auto-Submitted",
}

// DKIM signs outgoing mail (RFC 6376). The public half of the key stands in
// the DNS at selector._domainkey.domain.
//
// go-mail can sign as well, but folds a long list of headers in the middle of
// a name, which breaks the signature.
type DKIM struct {
	domain   string
	selector string
	key      crypto.Signer
}

// LoadDKIM reads the private key, RSA or Ed25519 in PEM, from a file.
func LoadDKIM(domain, selector, keyFile string) (*DKIM, error) {
	if domain == "" || selector == "" {
		return nil, fmt.Errorf("dkim: domain %q and selector %q: both are needed beside the key file", domain, selector)
	}
	pem, err := os.ReadFile(keyFile)
	if err != nil {
		return nil, fmt.Errorf("dkim: %w", err)
	}
	key, err := gomail.PrivKeyFromPEM(pem)
	if err != nil {
		return nil, fmt.Errorf("dkim: %s: not an RSA or Ed25519 private key in PEM: %w", keyFile, err)
	}
	d := &DKIM{domain: strings.ToLower(domain), selector: selector, key: key}
	if _, err := d.sign([]byte("From: <a@b.test>\r\n\r\n")); err != nil {
		return nil, fmt.Errorf("dkim: %s: %w", keyFile, err)
	}
	return d, nil
}

// sign returns the message with a signature before it.
func (d *DKIM) sign(text []byte) ([]byte, error) {
	keys := signedHeaders
	if head, _, _ := bytes.Cut(text, []byte("\r\n\r\n")); bytes.Contains(head, []byte("\r\nReply-To:")) {
		keys = append(slices.Clone(keys), "Reply-To")
	}
	var signed bytes.Buffer
	err := dkim.Sign(&signed, bytes.NewReader(text), &dkim.SignOptions{
		Domain: d.domain, Selector: d.selector, Signer: d.key, Hash: crypto.SHA256,
		HeaderCanonicalization: dkim.CanonicalizationRelaxed, BodyCanonicalization: dkim.CanonicalizationRelaxed,
		HeaderKeys: keys,
	})
	if err != nil {
		return nil, fmt.Errorf("dkim signature of %s: %w", d.domain, err)
	}
	return signed.Bytes(), nil
}
