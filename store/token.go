package store

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
)

var tokenAlphabet = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

// newToken makes 160 random bits, as 32 letters and digits that survive being
// read aloud, and the hash under which they are kept.
func newToken() (token string, hash []byte) {
	bits := make([]byte, 20)
	rand.Read(bits) // never fails
	token = tokenAlphabet.EncodeToString(bits)
	return token, hashToken(token)
}

// hashToken needs no salt and no stretching: the token is random.
func hashToken(token string) []byte {
	sum := sha256.Sum256([]byte(token))
	return sum[:]
}
