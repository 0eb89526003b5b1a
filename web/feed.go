package web

import "pryday/web/feed"

// CalendarAddress is the address of the calendar that a token opens.
func (s *Server) CalendarAddress(token string) string { return feed.Address(s.cfg.PublicURL, token) }
