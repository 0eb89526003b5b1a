package store

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"fmt"
)

// Secret returns the installation's signing key of a name, 32 random bytes
// made at the first call and shared by all its daemons.
func (s *Store) Secret(ctx context.Context, name string) ([]byte, error) {
	fresh := make([]byte, 32)
	rand.Read(fresh) // never fails
	var value []byte
	_, err := s.pool.Exec(ctx, `INSERT INTO secret (name, value) VALUES ($1, $2) ON CONFLICT DO NOTHING`, name, fresh)
	if err == nil {
		err = s.pool.QueryRow(ctx, `SELECT value FROM secret WHERE name = $1`, name).Scan(&value)
	}
	if err != nil {
		return nil, fmt.Errorf("read the signing key %q: %w", name, err)
	}
	return value, nil
}

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
