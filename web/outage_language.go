package web

import (
	"net/http"
	"slices"

	"pryday/scheduler/text"
)

// spokenCookie keeps the language in which a member was last spoken to, for what is
// said while no record of them can be read. Nobody is known by it, and who forges it
// is spoken to in another language.
const spokenCookie = "pryday-speaks"

// remember keeps how a member is spoken to, where that is news to the browser.
func (s *Server) remember(w http.ResponseWriter, r *http.Request, say *text.Speaker) {
	if c, err := r.Cookie(spokenCookie); err != nil || c.Value != say.Language() {
		s.setSpoken(w, say.Language(), knownDays*24*60*60)
	}
}

// forgetSpoken takes it off the browser of whoever signs out.
func (s *Server) forgetSpoken(w http.ResponseWriter) { s.setSpoken(w, "", -1) }

func (s *Server) setSpoken(w http.ResponseWriter, language string, seconds int) {
	http.SetCookie(w, &http.Cookie{
		Name: spokenCookie, Value: language, Path: "/", MaxAge: seconds,
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.cfg.PublicURL.Scheme == "https",
	})
}

// lastSpoken speaks without asking for any record: as to the member who was last
// shown a page, or else as the browser asks.
func lastSpoken(r *http.Request) *text.Speaker {
	c, err := r.Cookie(spokenCookie)
	if err != nil || !slices.ContainsFunc(text.Languages(), func(l text.Language) bool { return l.Tag == c.Value }) {
		return stranger(r)
	}
	return text.In(c.Value, "")
}
