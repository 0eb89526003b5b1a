package web

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"github.com/alexedwards/scs/v2"

	"pryday/store"
)

// withSession gives a request its session, and keeps what changed of that before
// the first byte of the answer goes out.
func (s *Server) withSession(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx, cancel := context.WithTimeout(r.Context(), timeOf(r))
		defer cancel()
		w.Header().Add("Vary", "Cookie")
		token := ""
		if c, err := r.Cookie(s.sessions.Cookie.Name); err == nil {
			token = c.Value
		}
		ctx, err := s.sessions.Load(ctx, token)
		if err != nil {
			s.fail(w, r, fmt.Errorf("read the session: %w", err))
			return
		}
		r = r.WithContext(ctx)
		var reader *store.Reader
		if s.cfg.Store.HasReplica() {
			r, reader = s.knows(r)
		}
		sw := &sessionWriter{ResponseWriter: w, s: s, r: r, reader: reader, came: s.sessions.Token(ctx)}
		next.ServeHTTP(sw, r)
		if !sw.begun {
			sw.WriteHeader(http.StatusOK)
		}
	})
}

// fail answers a request that nobody can do anything about but ask again.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	switch {
	case r.Context().Err() == context.Canceled: //nolint:errorlint // whoever asked went away
	case store.Away(err):
		s.away(w, r, err)
	default:
		s.cfg.Logger.Error("page failed", "route", r.Pattern, "err", err)
		s.explain(w, r, newProblem(http.StatusInternalServerError, "problem.failed"), lastSpoken(r))
	}
}

// sessionWriter keeps the session as an answer begins.
type sessionWriter struct {
	http.ResponseWriter
	s        *Server
	r        *http.Request
	reader   *store.Reader // nil without a replica
	came     string        // the token that the request came with
	begun    bool
	replaced bool // another answer went out: what follows of this one is dropped
}

func (w *sessionWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }

func (w *sessionWriter) Write(b []byte) (int, error) {
	if !w.begun {
		w.WriteHeader(http.StatusOK)
	}
	if w.replaced {
		return len(b), nil
	}
	return w.ResponseWriter.Write(b)
}

func (w *sessionWriter) WriteHeader(status int) {
	if !w.begun {
		w.begun = true
		if err := w.keep(); err != nil {
			w.replaced = w.instead(status, fmt.Errorf("write the session: %w", err))
		}
		w.s.keepSeen(w.ResponseWriter, w.r, w.reader)
	}
	if !w.replaced {
		w.ResponseWriter.WriteHeader(status)
	}
}

func (w *sessionWriter) keep() error {
	ctx, all := w.r.Context(), w.s.sessions
	switch all.Status(ctx) {
	case scs.Modified:
		token, expiry, err := all.Commit(ctx)
		if err != nil {
			return err
		}
		all.WriteSessionCookie(ctx, w.ResponseWriter, token, expiry)
	case scs.Destroyed:
		all.WriteSessionCookie(ctx, w.ResponseWriter, "", time.Time{})
	}
	return nil
}

// instead answers where the session could not be written. What was done is done,
// and never looks failed: only a session that begins is nothing without being
// written. A page goes out as it is, and where another page was to tell what was
// saved, it is said at once.
func (w *sessionWriter) instead(status int, err error) (replaced bool) {
	to := w.Header().Get("Location")
	switch {
	case w.s.sessions.Token(w.r.Context()) != w.came:
		w.Header().Del("Location")
		w.s.fail(w.ResponseWriter, w.r, err)
		return true
	case status == http.StatusSeeOther && w.r.Method == http.MethodPost && section(to) != "sign-in":
		w.Header().Del("Location")
		w.note(err)
		if err := w.s.savedOnly(w.ResponseWriter, w.r, to); err != nil {
			w.s.cfg.Logger.Error("page failed", "route", w.r.Pattern, "err", err)
		}
		return true
	}
	w.note(err)
	return false
}

func (w *sessionWriter) note(err error) {
	if store.Away(err) {
		w.s.outages.note(w.s.cfg.Logger, w.r.Pattern, err)
	} else {
		w.s.cfg.Logger.Error("session failed", "route", w.r.Pattern, "err", err)
	}
}
