package web

import (
	"context"
	"math"
	"net/http"
	"strconv"
	"time"

	"pryday/store"
)

// seenCookie says how far the database was when its browser last changed
// something, so that no page from a replica shows less than that. Who alters it
// sees older pages, or asks the primary.
const seenCookie = "pryday-seen"

// seenFor is longer than any replica lags that is read from.
const seenFor = time.Minute

// knows puts into a request's context on whose behalf it reads.
func (s *Server) knows(r *http.Request) (*http.Request, *store.Reader) {
	var seen store.Position
	if c, err := r.Cookie(seenCookie); err == nil {
		if n, err := strconv.ParseInt(c.Value, 10, 64); err == nil && n > 0 {
			seen = store.Position(n)
		}
	}
	ctx, reader := store.WithReader(r.Context(), seen)
	return r.WithContext(ctx), reader
}

// keepSeen tells the browser how far the database is, where its request changed
// something. Where that is not to be learned, it reads from the primary for a while.
func (s *Server) keepSeen(w http.ResponseWriter, r *http.Request, reader *store.Reader) {
	if reader == nil || !reader.Wrote() {
		return
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(r.Context()), 2*time.Second)
	defer cancel()
	at, err := s.cfg.Store.Position(ctx)
	if err != nil {
		at = math.MaxInt64
	}
	http.SetCookie(w, &http.Cookie{
		Name: seenCookie, Value: strconv.FormatInt(int64(at), 10), Path: "/", MaxAge: int(seenFor.Seconds()),
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.cfg.PublicURL.Scheme == "https",
	})
}
