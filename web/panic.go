package web

import (
	"net/http"
	"runtime/debug"
)

// survive answers where the program itself went wrong, and notes where, by
// route: net/http would write down who asked. Nothing recovered is no fault.
func (s *Server) survive(w http.ResponseWriter, r *http.Request, recovered any) {
	switch recovered {
	case nil:
		return
	case http.ErrAbortHandler:
		panic(recovered)
	}
	s.metrics.panics.Inc()
	s.cfg.Logger.Error("request panicked", "method", r.Method, "route", r.Pattern, "panic", recovered, "stack", string(debug.Stack()))
	http.Error(w, http.StatusText(http.StatusInternalServerError), http.StatusInternalServerError)
}

// survived survives what next does not.
func (s *Server) survived(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() { s.survive(w, r, recover()) }()
		next.ServeHTTP(w, r)
	})
}
