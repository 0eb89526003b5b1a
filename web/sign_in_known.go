package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"
)

// A browser that somebody signed in with is known by a signed cookie, also after
// signing out. It signs nobody in: mails that it asks for are counted apart from
// those that strangers ask for, who could spend them all.
const (
	knownCookie = "pryday-known"
	knownDays   = 400 // browsers keep no cookie longer (RFC 6265bis)
	mostKnown   = 5   // people at one browser
)

// knownHere lists who signed in with this browser, the last one first.
func (s *Server) knownHere(r *http.Request) (people []int64, err error) {
	c, err := r.Cookie(knownCookie)
	if err != nil {
		return nil, nil //nolint:nilerr // there is none
	}
	keys, err := s.cookieKeys(r.Context())
	if err != nil {
		return nil, err
	}
	for _, id := range strings.Split(unseal(keys.Valid(), knownCookie, c.Value, time.Now()), ",") {
		if n, err := strconv.ParseInt(id, 10, 64); err == nil {
			people = append(people, n)
		}
	}
	return people, nil
}

// knowHere notes who signed in with this browser.
func (s *Server) knowHere(w http.ResponseWriter, r *http.Request, person int64) error {
	people, err := s.knownHere(r)
	if err != nil {
		return err
	}
	keys, err := s.cookieKeys(r.Context())
	if err != nil {
		return err
	}
	people = append([]int64{person}, slices.DeleteFunc(people, func(id int64) bool { return id == person })...)
	var ids []string
	for _, id := range people[:min(len(people), mostKnown)] {
		ids = append(ids, strconv.FormatInt(id, 10))
	}
	life := knownDays * 24 * time.Hour
	s.setSignInCookie(w, knownCookie, seal(keys.Signing(), knownCookie, strings.Join(ids, ","), time.Now().Add(life)), int(life.Seconds()))
	return nil
}
