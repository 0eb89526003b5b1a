package web

import "net/http"

type (
	handler       = func(http.ResponseWriter, *http.Request) error
	memberHandler = func(http.ResponseWriter, *http.Request, *visitor) error
)

// clubRoutes lists the addresses at which a club is looked after: what an
// organiser or a keeper does at a table, not at a hive.
func (s *Server) clubRoutes(page func(string, handler), member func(string, memberHandler)) {
	_ = s.organiser
}
