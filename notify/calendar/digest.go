package calendar

import (
	"crypto/sha256"
	"encoding/json"
	"time"
)

// form counts the ways in which events were ever written: raise it when
// component writes the same Event otherwise.
const form = 1

// Digest stands for all that an event says but when it changed: it differs
// where an event differs in anything else.
func (e Event) Digest() [16]byte {
	e.Sequence, e.ChangedAt = 0, time.Time{}
	text, err := json.Marshal(struct {
		Form  int
		Event Event
	}{form, e})
	if err != nil {
		panic(err) // of a place that is not a number, which no record can hold
	}
	sum := sha256.Sum256(text)
	return [16]byte(sum[:16])
}
