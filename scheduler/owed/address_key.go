package owed

import (
	"strings"

	"pryday/scheduler"
)

// AddressKey is the key of a mail about a change of address, of the kinds
// NewAddressMessage and OldAddressMessage; change is the public identifier of
// the change, which its mailed address is signed over.
func AddressKey(kind scheduler.MessageKind, change string) string { return string(kind) + "/" + change }

// ChangeOf returns the identifier in a key that AddressKey made.
func ChangeOf(key string) string {
	_, change, _ := strings.Cut(key, "/")
	return change
}
