package inbox

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"encoding/binary"
	"fmt"
	netmail "net/mail"
	"regexp"
	"slices"
	"strings"

	"golang.org/x/net/idna"

	"pryday/scheduler"
	"pryday/store"
)

// Token is what a signed address says: whose mail comes to it, and about
// which of ours.
type Token struct {
	Purpose store.MailPurpose
	Club    int64
	Member  int64
	Message int64  // 0 on addresses of calendars, which outlive messages
	Ended   int    // how often the member's buttons had been ended when it was made, with which answers end; 0 on those for bounces
	To      string // for bounces: the address that the mail went to. Read gives a part of its hash
}

// Addresses makes and knows the signed addresses: what was configured, with a
// token after a plus sign (RFC 5233). Whoever has such an address was sent it.
type Addresses struct {
	local  string          // before the plus
	domain string          // in ASCII
	keys   func() [][]byte // the first signs
	find   *regexp.Regexp
}

const (
	macBytes = 10 // of HMAC-SHA-256: guesses go over the wire, one by one
	toBytes  = 3  // enough to see that an address was changed
	// maxLocal leaves room for a token in the 64 octets of a local part (RFC
	// 5321, 4.5.3.1.1), with ids of 28 bits.
	maxLocal = 20
	maxToken = 80 // characters
)

// namesEnded is added to the number of a purpose where a token names how often
// buttons had been ended: those of before, and of who never ended any, do not.
const namesEnded = 16

// tokenLetters is base32 in lower case: some servers change the case of local
// parts.
var tokenLetters = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

// purposes number the purposes in tokens. A number is never used again.
var purposes = []store.MailPurpose{0: "", 1: store.ReplyMail, 2: store.BounceMail, 3: store.CalendarMail}

// NewAddresses takes the address that replies come to, such as
// bees@club.example, and secret keys that all daemons share: the first that keys
// returns signs, and what any of them signed is known again.
func NewAddresses(reply string, keys func() [][]byte) (*Addresses, error) {
	const want = "want one such as bees@club.example"
	parsed, err := netmail.ParseAddress(reply)
	if err != nil || parsed.Name != "" || parsed.Address != strings.TrimSpace(reply) {
		return nil, fmt.Errorf("the reply address %q is not an e-mail address: %s", reply, want)
	}
	at := strings.LastIndexByte(parsed.Address, '@')
	a := &Addresses{local: strings.ToLower(parsed.Address[:at]), keys: keys}
	if !regexp.MustCompile(`^[a-z0-9._-]+$`).MatchString(a.local) || len(a.local) > maxLocal {
		return nil, fmt.Errorf("the reply address %q: before the @ stand at most %d letters, digits, dots and hyphens, since a plus and some 40 characters more go there: %s", reply, maxLocal, want)
	}
	if a.domain, err = idna.Lookup.ToASCII(parsed.Address[at+1:]); err != nil || a.domain == "" {
		return nil, fmt.Errorf("the reply address %q: %q is not a domain: %s", reply, parsed.Address[at+1:], want)
	}
	a.find = regexp.MustCompile(`(?i)` + regexp.QuoteMeta(a.local) + `\+([a-z2-7]{1,80})@` + regexp.QuoteMeta(a.domain))
	return a, nil
}

// Plain is the configured address, without a token.
func (a *Addresses) Plain() string { return a.local + "@" + a.domain }

// Signed is the address of a token.
func (a *Addresses) Signed(t Token) string {
	code := 0
	for i, p := range purposes {
		if p == t.Purpose {
			code = i
		}
	}
	b := []byte{byte(code)}
	b = binary.AppendUvarint(b, uint64(t.Club))
	b = binary.AppendUvarint(b, uint64(t.Member))
	b = binary.AppendUvarint(b, uint64(t.Message))
	if t.Ended > 0 && t.Purpose != store.BounceMail {
		b[0] += namesEnded
		b = binary.AppendUvarint(b, uint64(t.Ended))
	}
	if t.Purpose == store.BounceMail {
		b = append(b, hash(a.keys()[0], t.To)...)
	}
	return a.local + "+" + tokenLetters.EncodeToString(append(b, mac(a.keys()[0], b)...)) + "@" + a.domain
}

// Read knows a signed address again, in whatever case. Anything else is not ok.
func (a *Addresses) Read(address string) (t Token, ok bool) {
	m := a.find.FindStringSubmatch(address)
	if m == nil || len(m[0]) != len(address) {
		return Token{}, false
	}
	return a.token(m[1])
}

// Find returns the signed addresses in a text, each once.
func (a *Addresses) Find(text string) (found []string) {
	seen := map[string]bool{}
	for _, m := range a.find.FindAllStringSubmatch(text, 20) {
		address := strings.ToLower(m[0])
		if _, ok := a.token(m[1]); ok && !seen[address] {
			seen[address] = true
			found = append(found, address)
		}
	}
	return found
}

func (a *Addresses) token(s string) (t Token, ok bool) {
	s = strings.ToLower(s)
	b, err := tokenLetters.DecodeString(s)
	if err != nil || len(s) > maxToken || len(b) < 1+macBytes || tokenLetters.EncodeToString(b) != s {
		return Token{}, false
	}
	b, signed := b[:len(b)-macBytes], b[len(b)-macBytes:]
	ours := slices.ContainsFunc(a.keys(), func(key []byte) bool { return hmac.Equal(signed, mac(key, b)) })
	code, ended := b[0]&^namesEnded, b[0]&namesEnded != 0
	if !ours || code == 0 || int(code) >= len(purposes) {
		return Token{}, false
	}
	t.Purpose, b = purposes[code], b[1:]
	var times int64
	numbers := []*int64{&t.Club, &t.Member, &t.Message, &times}
	if !ended {
		numbers = numbers[:3]
	}
	for _, id := range numbers {
		v, n := binary.Uvarint(b)
		if n <= 0 {
			return Token{}, false
		}
		*id, b = int64(v), b[n:]
	}
	t.Ended, t.To = int(times), string(b)
	return t, true
}

// Holds reports whether a token's address still acts for a member: reports of
// mail that came back are always taken, answers until the member's buttons end.
func (t Token) Holds(m *scheduler.Member) bool {
	return t.Purpose == store.BounceMail || t.Ended == m.ButtonsEnded
}

// WentTo reports whether a bounce's token speaks of a mail to an address.
func (a *Addresses) WentTo(t Token, address string) bool {
	return t.Purpose == store.BounceMail && slices.ContainsFunc(a.keys(), func(key []byte) bool { return t.To == string(hash(key, address)) })
}

func hash(key []byte, address string) []byte {
	return sum(key, "to", []byte(strings.ToLower(address)))[:toBytes]
}
func mac(key, b []byte) []byte { return sum(key, "address", b)[:macBytes] }

func sum(key []byte, of string, b []byte) []byte {
	h := hmac.New(sha256.New, key)
	fmt.Fprintf(h, "pryday reply %s\x00", of) // so that no other use of the key makes the same
	h.Write(b)
	return h.Sum(nil)
}
