package web

import (
	"bytes"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
)

// metrics answers in Prometheus' text format, version 0.0.4. No number is told
// apart by person, club, address or link.
func (s *Server) metrics(w http.ResponseWriter, _ *http.Request) {
	var out bytes.Buffer
	head := func(name, kind, help string) {
		fmt.Fprintf(&out, "# HELP %s %s\n# TYPE %s %s\n", name, help, name, kind)
	}
	one := func(name, kind, help string, value float64) {
		head(name, kind, help)
		fmt.Fprintf(&out, "%s %s\n", name, strconv.FormatFloat(value, 'g', -1, 64))
	}
	head("pryday_build_info", "gauge", "1, with what is running: the release, or the commit and whether files differed.")
	fmt.Fprintf(&out, "pryday_build_info{version=%q,revision=%q,modified=\"%t\",goversion=%q} 1\n",
		s.cfg.Build.Version, s.cfg.Build.Revision, s.cfg.Build.Modified, s.cfg.Build.Go)
	f := s.feeds.Counts()
	head("pryday_feed_answers_total", "counter", "Answers to requests for calendars, by HTTP status.")
	for _, status := range slices.Sorted(maps.Keys(f.Answers)) {
		fmt.Fprintf(&out, "pryday_feed_answers_total{status=\"%d\"} %d\n", status, f.Answers[status])
	}
	one("pryday_feed_renders_total", "counter", "Calendars rendered.", float64(f.Renders))
	one("pryday_feed_render_failures_total", "counter", "Calendars that could not be rendered.", float64(f.RenderFailures))
	one("pryday_feed_render_seconds_total", "counter", "Time spent in rendering calendars.", f.RenderTime.Seconds())
	one("pryday_feed_stale_answers_total", "counter", "Answers from the last good copy.", float64(f.Stale))
	one("pryday_feed_version_queries_total", "counter", "Answers for which the database was asked whether memory is true.", float64(f.VersionQueries))
	one("pryday_feed_cached", "gauge", "Calendars in memory.", float64(f.Cached))
	one("pryday_feed_cached_bytes", "gauge", "Memory that they take.", float64(f.CachedBytes))
	one("pryday_feed_listener_connections_total", "counter", "Connections made to hear of changes.", float64(f.Connections))
	one("pryday_feed_listener_trusted", "gauge", "1 while changes are heard of.", map[bool]float64{true: 1}[f.Hears])
	if s.cfg.StateDir != "" {
		free, low := s.diskLeft()
		one("pryday_disk_free_bytes", "gauge", "Room on the disk of the state directory; the service is not ready below 256 MB.", float64(free))
		one("pryday_disk_low", "gauge", "1 while that is too little.", map[bool]float64{true: 1}[low])
	}
	if s.cfg.Backups != nil {
		b := s.cfg.Backups()
		if !b.Newest.MadeAt.IsZero() { // until there is one its age is not known
			one("pryday_backup_age_seconds", "gauge", "Age of the newest daily backup; organisers are warned at 180000.", s.cfg.Clock.Now().Sub(b.Newest.MadeAt).Seconds())
			one("pryday_backup_bytes", "gauge", "Its size.", float64(b.Newest.Bytes))
		}
		one("pryday_backup_failed", "gauge", "1 while the last attempt at a daily backup has failed.", map[bool]float64{true: 1}[b.Failed != ""])
	}
	if s.cfg.Notify != nil {
		m := s.cfg.Notify.Counts()
		head("pryday_messages_total", "counter", "Messages by what became of them in this process.")
		for _, row := range []struct {
			outcome string
			n       int64
		}{
			{"owed", m.Owed},
			{"delivered", m.Delivered},
			{"passed_over", m.PassedOver},
			{"refused", m.Refused},
			{"given_up", m.GivenUp},
			{"retried", m.Retried},
			{"unsure", m.Unsure},
		} {
			fmt.Fprintf(&out, "pryday_messages_total{outcome=%q} %d\n", row.outcome, row.n)
		}
	}
	w.Header().Set("Content-Type", "text/plain; version=0.0.4; charset=utf-8")
	_, _ = out.WriteTo(w)
}
