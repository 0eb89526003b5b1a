package web_test

import (
	"io"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// The lines of Prometheus' text format that the service uses:
// https://prometheus.io/docs/instrumenting/exposition_formats/
var (
	helpLine   = regexp.MustCompile(`^# HELP ([a-z_]+) \S.*$`)
	typeLine   = regexp.MustCompile(`^# TYPE ([a-z_]+) (counter|gauge)$`)
	sampleLine = regexp.MustCompile(`^([a-z_]+)(?:\{[a-z]+="[a-z0-9_.]+"(?:,[a-z]+="[a-z0-9_.]+")*\})? ([0-9.e+]+)$`)
)

// What is measured moves with what is served, in a form that collectors read,
// and names no address.
func TestMetricsCountCalendars(t *testing.T) {
	t.Parallel()
	link := serveFeed(t, 3)
	host, token, _ := strings.Cut(strings.TrimSuffix(link, ".ics"), "/calendar/")
	read := func(address string, headers ...string) (int, string, string) {
		req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, address, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i := 0; i < len(headers); i += 2 {
			req.Header.Set(headers[i], headers[i+1])
		}
		res, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		body, err := io.ReadAll(res.Body)
		if err != nil {
			t.Fatal(err)
		}
		return res.StatusCode, res.Header.Get("ETag"), string(body)
	}
	_, tag, _ := read(link)
	for range 3 {
		if status, _, _ := read(link, "If-None-Match", tag, "Accept-Encoding", "gzip"); status != http.StatusNotModified {
			t.Fatalf("status %d", status)
		}
	}
	read(host + "/calendar/unknown.ics")
	_, _, body := read(host + "/metrics")
	values := map[string]float64{}
	name, kind := "", ""
	for line := range strings.Lines(body) {
		line = strings.TrimSuffix(line, "\n")
		if m := helpLine.FindStringSubmatch(line); m != nil {
			name = m[1]
			continue
		}
		if m := typeLine.FindStringSubmatch(line); m != nil && m[1] == name {
			kind = m[2]
			continue
		}
		m := sampleLine.FindStringSubmatch(line)
		if m == nil || m[1] != name || kind == "counter" && !strings.HasSuffix(name, "_total") {
			t.Errorf("not in the format: %q", line)
			continue
		}
		value, err := strconv.ParseFloat(m[2], 64)
		if err != nil {
			t.Errorf("%q: %v", line, err)
		}
		values[strings.TrimSuffix(line, " "+m[2])] = value
	}
	for sample, want := range map[string]float64{
		`pryday_feed_answers_total{status="200"}`: 1, `pryday_feed_answers_total{status="304"}`: 3,
		`pryday_feed_answers_total{status="404"}`: 1, `pryday_feed_cached`: 1,
		`pryday_build_info{version="0.1.0",revision="01f188d",modified="true",goversion="go1.26.0"}`: 1,
	} {
		if values[sample] != want {
			t.Errorf("%s is %g, want %g", sample, values[sample], want)
		}
	}
	if strings.Contains(body, token) {
		t.Error("an address stands in the metrics")
	}
}
