package notify

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"slices"
	"strings"
	"time"

	"pryday/scheduler"
)

// Action is what one address in a mail, or in a member's own calendar, lets one
// member do without signing in, about one visit as it stood when that was
// written. Following the address
// shows a question; only its answer, a POST, does anything.
type Action struct {
	Do       Deed
	Club     int64
	Member   int64
	VisitUID string         // empty where the deed is about no visit
	Change   string         // of address, as the store knows it; empty for all other deeds
	Sequence int            // the visit's when the mail was written
	On       scheduler.Date // and its day; 0 where the address does not say
	Expires  time.Time      // to the minute
	Link     int64          // the calendar address that it stands in, with which it ends; 0 in mails
	Ended    int            // how often the member's buttons had been ended when it was written; it ends with the next time
}

// Deed is the one thing that an address is good for.
type Deed string

// The deeds.
const (
	RecordDeed      Deed = "record"      // record what was found
	OpenedDeed      Deed = "opened"      // already opened
	RainedOffDeed   Deed = "rained-off"  // move the visit
	CantGoDeed      Deed = "cant-go"     // take oneself off
	GoDeed          Deed = "go"          // say that one goes
	AlsoOpenedDeed  Deed = "also-opened" // the boxes without a word were opened too
	NotOpenedDeed   Deed = "not-opened"  // they were not
	UnsubscribeDeed Deed = "unsubscribe" // no more reminders (RFC 8058)
	LookDeed        Deed = "look"        // see the visit, and choose from the others
	NewAddressDeed  Deed = "new-address" // have mail go to the address that was asked for
	OldAddressDeed  Deed = "old-address" // have it go to the address of before again
)

// deedCodes number the deeds in tokens. A number is never used again for
// another deed.
var deedCodes = []Deed{0: "", 1: RecordDeed, 2: OpenedDeed, 3: RainedOffDeed, 4: CantGoDeed, 5: UnsubscribeDeed, 6: GoDeed, 7: LookDeed, 8: NewAddressDeed, 9: OldAddressDeed, 10: AlsoOpenedDeed, 11: NotOpenedDeed}

// changesAddress reports whether the deed is about a change of address, and not
// about a visit.
func (d Deed) changesAddress() bool { return d == NewAddressDeed || d == OldAddressDeed }

// What Verify answers to a token that it does not accept.
var (
	ErrForged  = errors.New("this address was not made here or was cut short")
	ErrExpired = errors.New("this address has expired")
)

const (
	// A token's version says what it names beside a visit: the sum of those of
	// the numbers below that it names, in their order.
	tokenVersion = 1
	namesLink    = 1 // the calendar address that it stands in
	namesDay     = 2 // the day of its visit
	namesEnded   = 4 // how often the member's buttons had been ended
	lastVersion  = tokenVersion + namesLink + namesDay + namesEnded

	macBytes = 16 // of HMAC-SHA-256; RFC 2104, section 5 allows half
	maxToken = 400
)

// Signer makes the tokens in mailed addresses, and knows its own again.
type Signer struct{ keys func() [][]byte }

// NewSigner returns a signer with secret keys that all daemons of an installation
// share: the first that keys returns signs, and what any of them signed is known
// again.
func NewSigner(keys func() [][]byte) *Signer { return &Signer{keys: keys} }

// Sign returns the token of an action, in characters that need no escaping in
// an address.
func (s *Signer) Sign(a Action) string {
	code := 0
	for i, d := range deedCodes {
		if d == a.Do {
			code = i
		}
	}
	b := []byte{tokenVersion, byte(code)}
	if a.Link != 0 {
		b[0] += namesLink
		b = binary.AppendUvarint(b, uint64(a.Link))
	}
	if a.On > 0 {
		b[0] += namesDay
		b = binary.AppendUvarint(b, uint64(a.On))
	}
	if a.Ended > 0 {
		b[0] += namesEnded
		b = binary.AppendUvarint(b, uint64(a.Ended))
	}
	b = binary.AppendUvarint(b, uint64(a.Club))
	b = binary.AppendUvarint(b, uint64(a.Member))
	b = binary.AppendUvarint(b, uint64(max(a.Sequence, 0)))
	b = binary.AppendUvarint(b, uint64(max(a.Expires.Unix(), 0)/60))
	b = append(b, a.VisitUID+a.Change...) // one of them is empty
	return base64.RawURLEncoding.EncodeToString(append(b, mac(s.keys()[0], b)...))
}

// Verify reads a token that Sign made. The caller still compares Do with what
// it is about to do, and On, or where there is none Sequence, with the visit's
// present one.
func (s *Signer) Verify(token string, now time.Time) (Action, error) {
	// A token has one spelling. Strict sees to its last bits; breaks of lines it would
	// pass over.
	if len(token) > maxToken || strings.ContainsAny(token, "\r\n") {
		return Action{}, ErrForged
	}
	b, err := base64.RawURLEncoding.Strict().DecodeString(token)
	if err != nil || len(b) < 2+macBytes {
		return Action{}, ErrForged
	}
	b, signed := b[:len(b)-macBytes], b[len(b)-macBytes:]
	ours := slices.ContainsFunc(s.keys(), func(key []byte) bool { return hmac.Equal(signed, mac(key, b)) })
	if !ours || b[0] < tokenVersion || b[0] > lastVersion || b[1] == 0 || int(b[1]) >= len(deedCodes) {
		return Action{}, ErrForged
	}
	a := Action{Do: deedCodes[b[1]]}
	rest, names := b[2:], b[0]-tokenVersion
	var numbers [7]uint64
	for i := range numbers {
		if i < 3 && names&(namesLink<<i) == 0 {
			continue
		}
		v, n := binary.Uvarint(rest)
		if n <= 0 {
			return Action{}, ErrForged
		}
		numbers[i], rest = v, rest[n:]
	}
	a.Link, a.On, a.Ended = int64(numbers[0]), scheduler.Date(numbers[1]), int(numbers[2])
	a.Club, a.Member, a.Sequence = int64(numbers[3]), int64(numbers[4]), int(numbers[5])
	a.Expires = time.Unix(int64(numbers[6])*60, 0).UTC()
	if a.Do.changesAddress() {
		a.Change = string(rest)
	} else {
		a.VisitUID = string(rest)
	}
	if !now.Before(a.Expires) {
		return a, ErrExpired
	}
	return a, nil
}

func mac(key, b []byte) []byte {
	h := hmac.New(sha256.New, key)
	h.Write([]byte("pryday mailed address\x00")) // so that no other use of the key makes the same
	h.Write(b)
	return h.Sum(nil)[:macBytes]
}
