package feed

import (
	"cmp"
	"net/http"
	"net/url"
	"strings"

	"github.com/gosimple/slug"

	"pryday/scheduler"
	"pryday/store"
)

const (
	// longestToken is more than any token has.
	longestToken = 64
	// longestName keeps the readable part of an address short, in letters.
	longestName = 60
)

// Routes adds the addresses of calendars. Those without a name were given out
// before addresses had one.
func (f *Feeds) Routes(mux *http.ServeMux) {
	mux.HandleFunc("/calendar/{token}/{name}", f.serve)
	mux.HandleFunc("/calendar/{file}", f.serve)
}

// tokenOf is the token in an address. The name behind it is for people: it is
// not checked, so that renaming a place breaks no address.
func tokenOf(r *http.Request) (token string, ok bool) {
	if token = r.PathValue("token"); token == "" {
		if token, ok = strings.CutSuffix(r.PathValue("file"), ".ics"); !ok {
			return "", false
		}
	}
	return token, len(token) <= longestToken
}

// Address is the address of a calendar on a service that people reach at
// public. It ends in the calendar's name, which some clients show.
func Address(public *url.URL, token string, club *scheduler.Club, link *store.Link) string {
	return public.JoinPath("calendar", token, fileOf(club, link)+".ics").String()
}

// fileOf is the name of a calendar in plain letters, as its reader's language
// writes them.
func fileOf(club *scheduler.Club, link *store.Link) string {
	language := ""
	if m := club.Member(link.MemberID); m != nil {
		language, _, _ = strings.Cut(m.Language, "-")
	}
	name := slug.MakeLang(nameOf(club, link), language)
	if len(name) > longestName {
		name = name[:longestName]
		if end := strings.LastIndexByte(name, '-'); end > 0 {
			name = name[:end]
		}
	}
	return cmp.Or(name, "visits")
}

// nameOf is what calendar programs list a link under.
func nameOf(club *scheduler.Club, link *store.Link) string {
	switch link.Kind {
	case store.MemberLink:
		if m := club.Member(link.MemberID); m != nil {
			return m.Name + ", " + club.Name
		}
	case store.ApiaryLink:
		if a := club.Apiary(link.ApiaryID); a != nil {
			return a.Name + ", " + club.Name
		}
	}
	return club.Name
}
