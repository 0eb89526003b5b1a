package web

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"pryday/store"
)

// cookieKeys are the installation's, so that every daemon reads what another
// wrote.
func (s *Server) cookieKeys(ctx context.Context) (*store.Keys, error) {
	return s.cfg.Store.Keys(ctx, "goal")
}

// setSignInCookie keeps a value for the pages that sign in, and for them alone.
func (s *Server) setSignInCookie(w http.ResponseWriter, name, value string, seconds int) {
	http.SetCookie(w, &http.Cookie{
		Name: name, Value: value, Path: "/sign-in", MaxAge: seconds,
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.cfg.PublicURL.Scheme == "https",
	})
}

// seal writes what a cookie of a name says, until when it holds, and a
// signature of all three.
func seal(key []byte, name, says string, until time.Time) string {
	said := strconv.FormatInt(until.Unix(), 10) + " " + says
	return encodeCookie([]byte(said)) + "." + encodeCookie(signCookie(key, name, said))
}

// unseal returns what seal wrote with one of the keys; empty for what it did
// not, or too long ago.
func unseal(keys [][]byte, name, value string, now time.Time) string {
	said, signature, _ := strings.Cut(value, ".")
	saidBytes, err := base64.RawURLEncoding.DecodeString(said)
	signed, err2 := base64.RawURLEncoding.DecodeString(signature)
	ours := slices.ContainsFunc(keys, func(key []byte) bool { return hmac.Equal(signed, signCookie(key, name, string(saidBytes))) })
	oneWay := encodeCookie(saidBytes) == said && encodeCookie(signed) == signature // to write it, not the others that are read as well
	if err != nil || err2 != nil || !ours || !oneWay {
		return ""
	}
	until, says, _ := strings.Cut(string(saidBytes), " ")
	if seconds, err := strconv.ParseInt(until, 10, 64); err != nil || now.Unix() > seconds {
		return ""
	}
	return says
}

func signCookie(key []byte, name, said string) []byte {
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte(name + " " + said))
	return mac.Sum(nil)
}

func encodeCookie(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }
