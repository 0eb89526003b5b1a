package web

import (
	"bytes"
	"fmt"
	"log/slog"
	"maps"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil/promlint"
	dto "github.com/prometheus/client_model/go"
	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"

	"pryday/scheduler"
	owing "pryday/scheduler/owed"
	"pryday/store"
	"pryday/store/backup"
)

// measured are the families that a collector reads off the service now.
func (c *testClub) measured() map[string]*dto.MetricFamily {
	c.t.Helper()
	got := c.stranger().get("/metrics").says(http.StatusOK)
	parser := expfmt.NewTextParser(model.LegacyValidation)
	families, err := parser.TextToMetricFamilies(strings.NewReader(got.body))
	if err != nil {
		c.t.Fatalf("%v: %s", err, got.body)
	}
	return families
}

// values are the numbers of a gauge or counter by their labels' values, joined.
func values(f *dto.MetricFamily) map[string]float64 {
	out := map[string]float64{}
	for _, m := range f.GetMetric() {
		var key []string
		for _, l := range m.GetLabel() {
			key = append(key, l.GetValue())
		}
		out[strings.Join(key, " ")] = m.GetGauge().GetValue() + m.GetCounter().GetValue()
	}
	return out
}

func sum(values map[string]float64) (all float64) {
	for v := range maps.Values(values) {
		all += v
	}
	return all
}

// serveMeasured is a club of whose service everything is measured, now.
func serveMeasured(t *testing.T) *testClub {
	c := serveClub(t)
	c.server.metrics.counted.keep = 0
	c.server.cfg.StateDir = t.TempDir()
	c.server.cfg.Backups = func() backup.State { return backup.State{Newest: backup.Kept{MadeAt: time.Now(), Bytes: 4096}} }
	return c
}

// Names, units and words follow Prometheus' rules for them
// (https://prometheus.io/docs/practices/naming/), as its own linter reads them,
// and no label takes values without an end.
func TestMetricsFollowTheRulesForNames(t *testing.T) {
	t.Parallel()
	c := serveMeasured(t)
	ansel := c.as("Ansel")
	for _, page := range []string{"/", "/nothing-here", "/visit/" + c.visit("Orchard").UID, "/calendar/unknown.ics"} {
		ansel.get(page)
	}
	got := c.stranger().get("/metrics")
	problems, err := promlint.New(strings.NewReader(got.body)).Lint()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		t.Errorf("%s: %s", p.Metric, p.Text)
	}
	routes := map[string]bool{"none": true}
	for name, f := range c.measured() {
		if len(f.GetHelp()) < 8 {
			t.Errorf("%s says no more of itself than %q", name, f.GetHelp())
		}
		if n := len(f.GetMetric()); n > 150 {
			t.Errorf("%s has %d series", name, n)
		}
		for _, m := range f.GetMetric() {
			for _, l := range m.GetLabel() {
				if l.GetName() == "route" {
					routes[l.GetValue()] = true
				}
			}
		}
	}
	for _, want := range []string{"GET /{$}", "/", "GET /visit/{uid}", "GET /metrics"} {
		if !routes[want] {
			t.Errorf("the route %q is not measured: %v", want, slices.Sorted(maps.Keys(routes)))
		}
	}
}

// The same numbers in OpenMetrics, for collectors that ask for it
// (https://prometheus.io/docs/specs/om/open_metrics_spec/): counted families go
// without _total there, and no two may then have one name.
func TestMetricsAsOpenMetrics(t *testing.T) {
	t.Parallel()
	c := serveMeasured(t)
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/metrics", nil)
	r.Header.Set("Accept", "application/openmetrics-text; version=1.0.0")
	w := httptest.NewRecorder()
	c.server.ServeHTTP(w, r)
	if kind := w.Header().Get("Content-Type"); !strings.HasPrefix(kind, "application/openmetrics-text; version=1.0.0") {
		t.Errorf("the answer is %q", kind)
	}
	if !strings.HasSuffix(w.Body.String(), "\n# EOF\n") {
		t.Error("the end is missing")
	}
	named := map[string]int{}
	for line := range strings.Lines(w.Body.String()) {
		if name, ok := strings.CutPrefix(line, "# TYPE "); ok {
			name, _, _ = strings.Cut(name, " ")
			named[name]++
		}
	}
	for name, times := range named {
		if times != 1 {
			t.Errorf("%d families are called %s", times, name)
		}
	}
	if named["pryday_messages"] != 1 {
		t.Error("pryday_messages is missing")
	}
}

// Every message on record is in one state, and every one that is owed has one
// age; what became of them is told by the metrics as by the list of messages.
func TestMessagesInMetricsAddUp(t *testing.T) {
	t.Parallel()
	c := serveMeasured(t)
	before := values(c.measured()["pryday_messages_kept"])
	if _, err := c.notify.Tick(t.Context()); err != nil {
		t.Fatal(err)
	}
	var owed []store.Message
	c.in(func(tx *store.Tx) (err error) {
		var more []owing.Message
		for i := range 5 {
			more = append(more, owing.Message{Key: fmt.Sprintf("more %d", i), Kind: scheduler.InviteMessage, MemberID: c.member["Corin"], On: today})
		}
		if _, err := tx.Owe(t.Context(), more, time.Time{}); err != nil {
			return err
		}
		if owed, err = tx.Messages(t.Context(), store.MessageFilter{State: store.Owed}); err != nil {
			return err
		}
		if len(owed) < 5 {
			t.Fatalf("%d messages are owed, of which five are to be settled", len(owed))
		}
		for i, settle := range []func() error{
			func() error { return tx.Delivered(t.Context(), owed[0].ID, "250 ok") },
			func() error { return tx.Refused(t.Context(), owed[1].ID, "550 no") },
			func() error { return tx.GaveUp(t.Context(), owed[2].ID, "451 later") },
			func() error { return tx.TryFailed(t.Context(), owed[3].ID, "451 later") },
		} {
			if err := settle(); err != nil {
				t.Fatalf("%d: %v", i, err)
			}
		}
		return nil
	})
	now := c.measured()
	kept := values(now["pryday_messages_kept"])
	for _, state := range []string{"sent", "refused", "given-up"} {
		if kept[state] != before[state]+1 {
			t.Errorf("%s: %g, and %g before one more", state, kept[state], before[state])
		}
	}
	if all := sum(values(now["pryday_messages_recorded"])); all == 0 || sum(kept) != all {
		t.Errorf("%g messages by state, of %g", sum(kept), all)
	}
	waiting := values(now["pryday_messages_owed"])
	if sum(waiting) != kept["owed"] || sum(waiting) == 0 {
		t.Errorf("%g messages wait by age, of %g that are owed", sum(waiting), kept["owed"])
	}
	tried := 0.
	for key, n := range waiting {
		if strings.HasSuffix(key, "true") {
			tried += n
		}
	}
	if tried != 1 {
		t.Errorf("%g messages were tried in vain: %v", tried, waiting)
	}
	if ticks := values(now["pryday_ticks_total"]); ticks["done"] != 1 || ticks["failed"] != 0 {
		t.Errorf("ticks: %v", ticks)
	}
	if at := sum(values(now["pryday_tick_last_timestamp_seconds"])); time.Since(time.Unix(int64(at), 0)) > time.Hour {
		t.Errorf("the last tick was at %g", at)
	}
	if jobs := values(now["pryday_jobs"]); sum(jobs) < sum(waiting) {
		t.Errorf("%g jobs for %g messages: %v", sum(jobs), sum(waiting), jobs)
	}
}

// A request in which the program goes wrong is answered, counted and logged
// without who asked; net/http would have written down their address.
func TestPanicsAreCounted(t *testing.T) {
	t.Parallel()
	c := serveMeasured(t)
	var log bytes.Buffer
	c.server.cfg.Logger = slog.New(slog.NewTextHandler(&log, nil))
	w := httptest.NewRecorder()
	c.server.logged(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { panic("a page") })).ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil))
	if w.Code != http.StatusInternalServerError {
		t.Errorf("a page: status %d", w.Code)
	}
	w = httptest.NewRecorder()
	c.server.survived(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { panic("a calendar") })).ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil))
	if w.Code != http.StatusInternalServerError {
		t.Errorf("a calendar: status %d", w.Code)
	}
	for _, want := range []string{`panic="a page"`, `panic="a calendar"`, "metrics_test.go"} {
		if !strings.Contains(log.String(), want) {
			t.Errorf("the log does not say %q: %s", want, log.String())
		}
	}
	if strings.Contains(log.String(), "192.0.2.1") {
		t.Errorf("the log says who asked: %s", log.String())
	}
	if n := sum(values(c.measured()["pryday_panics_total"])); n != 2 {
		t.Errorf("%g panics", n)
	}
	if got := values(c.measured()["pryday_page_answers_total"]); got["5xx"] != 1 {
		t.Errorf("answers: %v", got)
	}
}

// Without a database the other numbers still come.
func TestMetricsWithoutADatabase(t *testing.T) {
	t.Parallel()
	c := serveMeasured(t)
	c.server.cfg.Logger = slog.New(slog.DiscardHandler)
	c.store.Close()
	got := c.measured()
	if up := got["pryday_database_up"]; up == nil || sum(values(up)) != 0 {
		t.Errorf("up: %v", up)
	}
	if got["pryday_messages_kept"] != nil || got["pryday_build_info"] == nil || got["go_goroutines"] == nil {
		t.Errorf("what is there: %v", slices.Sorted(maps.Keys(got)))
	}
}
