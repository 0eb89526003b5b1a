package web

import (
	"net/http"
	"regexp"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// metrics are what is measured of requests, and what is counted when somebody
// asks. No number is told apart by person, club, address or link.
type metrics struct {
	pages   *prometheus.HistogramVec
	answers *prometheus.CounterVec
	feeds   prometheus.Histogram
	panics  prometheus.Counter
	counted serviceCounts
	handler http.Handler
}

// pageSeconds and feedSeconds are around what they should take: a page 15 ms, a
// calendar well below one.
var (
	pageSeconds = []float64{.005, .015, .05, .15, .5, 1.5, 5, 15}
	feedSeconds = []float64{.0001, .0003, .001, .003, .01, .05, .25, 1, 5}
)

func newMetrics(s *Server) *metrics {
	m := &metrics{
		counted: serviceCounts{keep: countedFor},
		pages: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "pryday_page_duration_seconds", Buckets: pageSeconds,
			Help: "Time until a page, an asset or a probe was answered, by route; 'none' is what no route took.",
		}, []string{"route"}),
		answers: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "pryday_page_answers_total", Help: "Answers to requests for all but calendars, by the class of their HTTP status.",
		}, []string{"class"}),
		feeds: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name: "pryday_feed_duration_seconds", Buckets: feedSeconds, Help: "Time until a calendar was answered.",
		}),
		panics: prometheus.NewCounter(prometheus.CounterOpts{
			Name: "pryday_panics_total", Help: "Requests in which the program itself went wrong; the log has where.",
		}),
	}
	for _, class := range []string{"1xx", "2xx", "3xx", "4xx", "5xx"} {
		m.answers.WithLabelValues(class)
	}
	registry := prometheus.NewRegistry()
	registry.MustRegister(m.pages, m.answers, m.feeds, m.panics, serviceCollector{s},
		// The classes of memory that say whether it grows. What else there is of it
		// has two families of one name in OpenMetrics.
		collectors.NewGoCollector(collectors.WithGoCollectorMemStatsMetricsDisabled(), collectors.WithGoCollectorRuntimeMetrics(
			collectors.GoRuntimeMetricsRule{Matcher: regexp.MustCompile(`^/memory/classes/(heap/objects|total):bytes$`)})),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	m.handler = promhttp.HandlerFor(registry, promhttp.HandlerOpts{EnableOpenMetrics: true, MaxRequestsInFlight: 4})
	return m
}

// answered notes an answer to all but calendars.
func (m *metrics) answered(route string, status int, took time.Duration) {
	if route == "" {
		route = "none"
	}
	m.pages.WithLabelValues(route).Observe(took.Seconds())
	m.answers.WithLabelValues(string('0'+rune(status/100%10)) + "xx").Inc()
}
