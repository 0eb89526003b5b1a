package web_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"testing"
	"time"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/store"
	"pryday/store/storetest"
	"pryday/testdata/testrun/processor"
	"pryday/web"
)

// How long each server is asked, in turns, and how often.
const (
	benchTurn  = "1s"
	benchTurns = 9
)

// BenchmarkFeedAgainstNginx asks the whole service and nginx for the same
// bytes, in turns and with the same load generator (wrk), and reports how
// many requests a second it answers for each one of nginx's (x-nginx), and
// the same by the processor time that each takes for one (x-nginx-cpu), which
// other work on the machine sways less. The limit of both is what net/http makes of a
// handler that does nothing but give the answer (limit-x-nginx). Numbers are medians over
// the turns.
func BenchmarkFeedAgainstNginx(b *testing.B) {
	service := serveFeed(b, 400)
	_, _, body := ask(b, service, "")
	if n := bytes.Count(body, []byte("BEGIN:VEVENT")); n != 400 {
		b.Fatalf("the feed has %d events", n)
	}
	peer, nginx := serveWithNginx(b, body)
	limit := serveAlone(b, service)
	cases := []struct {
		name        string
		conditional bool
		reach       float64
	}{{"304", true, 0.7}, {"200", false, 0.85}}
	for _, c := range cases {
		b.Run(c.name, func(b *testing.B) {
			for range b.N {
				var rates, times, limits, ours, theirs []float64
				for range benchTurns {
					mine, myTime := load(b, service, c.conditional, os.Getpid())
					most, _ := load(b, limit, c.conditional, os.Getpid())
					its, itsTime := load(b, peer, c.conditional, nginx)
					rates, times, limits = append(rates, mine/its), append(times, itsTime/myTime), append(limits, most/its)
					ours, theirs = append(ours, mine), append(theirs, its)
				}
				b.ReportMetric(median(rates), "x-nginx")
				b.ReportMetric(median(times), "x-nginx-cpu")
				b.ReportMetric(median(limits), "limit-x-nginx")
				b.ReportMetric(median(ours), "requests/s")
				b.ReportMetric(median(theirs), "nginx-requests/s")
				b.ReportMetric(c.reach, "x-to-reach")
				b.ReportMetric(0, "ns/op")
			}
		})
	}
}

func median(x []float64) float64 { slices.Sort(x); return x[len(x)/2] }

// serveFeed runs the service on a club with so many confirmed visits and
// returns the address of its calendar.
func serveFeed(b testing.TB, visits int) string {
	b.Helper()
	ctx := context.Background()
	s, err := store.Open(ctx, store.Config{URL: storetest.Serving(storetest.New(b)), Apart: true, MaxConns: 4})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(s.Close)
	club, err := s.CreateClub(ctx, "Harbour Road Bees")
	if err != nil {
		b.Fatal(err)
	}
	var token string
	var records *scheduler.Club
	var link *store.Link
	err = s.InClub(ctx, club, func(tx *store.Tx) error {
		if _, err := tx.Import(ctx, clubOfVisits(visits)); err != nil {
			return err
		}
		members, err := tx.Members(ctx)
		if err != nil {
			return err
		}
		if records, err = tx.Apiaries(ctx); err != nil {
			return err
		}
		link, token, err = tx.CreateLink(ctx, store.ClubLink, members[0].ID, 0, store.LinkOptions{})
		return err
	})
	if err != nil {
		b.Fatal(err)
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		b.Fatal(err)
	}
	server, err := web.New(web.Config{
		Build: web.Build{Version: "0.1.0", Revision: "01f188d", Modified: true, Go: "go1.26.0"},
		Store: s, Clock: notify.RealClock{}, PublicURL: &url.URL{Scheme: "http", Host: listener.Addr().String()},
		Logger: slog.New(slog.NewTextHandler(io.Discard, nil)), FeedPerMinute: 1e9,
	})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(server.Close)
	serve(b, listener, server)
	return server.CalendarAddress(token, records, link)
}

// serveAlone gives the answers of the service's calendar at a link, without working
// them out, and returns its address.
func serveAlone(b *testing.B, link string) string {
	b.Helper()
	first, body := request(b, link, "")
	again, _ := request(b, link, first.Header.Get("ETag"))
	whole, same, tag := first.Header, again.Header, first.Header["Etag"]
	whole.Del("Date")
	same.Del("Date")
	on, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		b.Fatal(err)
	}
	serve(b, on, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if slices.Equal(r.Header["If-None-Match"], tag) {
			maps.Copy(w.Header(), same)
			w.WriteHeader(http.StatusNotModified)
			return
		}
		maps.Copy(w.Header(), whole)
		_, _ = w.Write(body)
	}))
	return "http://" + on.Addr().String() + "/feed.ics"
}

// serve serves as the daemon does.
func serve(b testing.TB, on net.Listener, handler http.Handler) {
	b.Helper()
	h := &http.Server{Handler: handler, ReadHeaderTimeout: 10 * time.Second, ReadTimeout: time.Minute, WriteTimeout: time.Minute}
	go func() { _ = h.Serve(on) }()
	b.Cleanup(func() { h.Close() })
}

// clubOfVisits is an invented club with visits to ten apiaries over the
// coming year, each of two boxes.
func clubOfVisits(n int) *scheduler.Club {
	today := scheduler.DateOf(time.Now().UTC())
	c := &scheduler.Club{
		Rules:   scheduler.DefaultRules(),
		Members: []scheduler.Member{{ID: 1, Name: "Ottilie Brand", Email: "ottilie@example.org", Role: scheduler.Organiser}},
	}
	for a := range int64(10) {
		c.Apiaries = append(c.Apiaries, scheduler.Apiary{
			ID: a + 1, Name: fmt.Sprint("Jetty ", a+1), Latitude: 51, Longitude: 4, Timezone: "Europe/Brussels",
			Hives: []scheduler.Hive{{ID: a + 1, Name: "Willow", Boxes: []scheduler.Box{
				{ID: 2*a + 1, Name: fmt.Sprint("J", 2*a+1), Kind: "deep", SetUpOn: today - 700},
				{ID: 2*a + 2, Name: fmt.Sprint("J", 2*a+2), Kind: "medium", SetUpOn: today - 700},
			}}},
		})
	}
	for i := range n {
		a, on := int64(i%10), today+1+scheduler.Date(i*350/n)
		c.Visits = append(c.Visits, scheduler.Visit{
			ID: int64(i + 1), UID: fmt.Sprintf("0b3c9d52-0000-4000-8000-%012d", i), ApiaryID: a + 1, On: on, Status: scheduler.Confirmed,
			Who: []int64{1}, Boxes: []scheduler.VisitBox{
				{BoxID: 2*a + 2, Due: on + 5, Reason: scheduler.BecauseAbove, Odds: 0.1},
				{BoxID: 2*a + 1, Due: on + 5, Reason: scheduler.BecauseOdds, Odds: 0.2},
			},
		})
	}
	return c
}

// serveWithNginx serves body as a file and returns its address, and the
// number of nginx's first process.
func serveWithNginx(b *testing.B, body []byte) (string, int) {
	b.Helper()
	dir := b.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "feed.ics"), body, 0o644); err != nil {
		b.Fatal(err)
	}
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		b.Fatal(err)
	}
	address := free.Addr().String()
	free.Close()
	user := ""
	if os.Getuid() == 0 {
		user = "user root;" // the workers must reach the test's directory
	}
	config := fmt.Sprintf(`%s
		daemon off; worker_processes auto; pid %[2]s/pid; error_log %[2]s/error.log;
		events { worker_connections 1024; }
		http {
			access_log off; sendfile on; tcp_nopush on; keepalive_requests 1000000000;
			client_body_temp_path %[2]s/1; proxy_temp_path %[2]s/2; fastcgi_temp_path %[2]s/3; uwsgi_temp_path %[2]s/4; scgi_temp_path %[2]s/5;
			types { text/calendar ics; } charset utf-8;
			server { listen %[3]s; root %[2]s; add_header Cache-Control "private, no-cache"; }
		}`, user, dir, address)
	if err := os.WriteFile(filepath.Join(dir, "nginx.conf"), []byte(config), 0o644); err != nil {
		b.Fatal(err)
	}
	program := "nginx"
	if _, err := exec.LookPath(program); err != nil {
		program = "/usr/sbin/nginx"
	}
	var said bytes.Buffer
	cmd := exec.Command(program, "-e", filepath.Join(dir, "error.log"), "-c", filepath.Join(dir, "nginx.conf"))
	cmd.Stderr = &said
	if err := cmd.Start(); err != nil {
		b.Fatalf("nginx: %v (deploy/setup bench installs it)", err)
	}
	b.Cleanup(func() {
		_ = cmd.Process.Signal(os.Interrupt)
		_ = cmd.Wait()
	})
	link := "http://" + address + "/feed.ics"
	for range 100 {
		if res, err := http.Get(link); err == nil {
			res.Body.Close()
			return link, cmd.Process.Pid
		}
		time.Sleep(20 * time.Millisecond)
	}
	b.Fatalf("nginx does not answer: %s", said.String())
	return "", 0
}

// ask makes one request for a calendar, uncompressed.
func ask(b *testing.B, link, etag string) (status int, sameAs string, body []byte) {
	b.Helper()
	res, body := request(b, link, etag)
	return res.StatusCode, res.Header.Get("ETag"), body
}

func request(b *testing.B, link, etag string) (res *http.Response, body []byte) {
	b.Helper()
	req, err := http.NewRequestWithContext(b.Context(), http.MethodGet, link, nil)
	if err != nil {
		b.Fatal(err)
	}
	req.Header.Set("Accept-Encoding", "identity")
	if etag != "" {
		req.Header.Set("If-None-Match", etag)
	}
	if res, err = http.DefaultClient.Do(req); err != nil {
		b.Fatal(err)
	}
	defer res.Body.Close()
	if body, err = io.ReadAll(res.Body); err != nil {
		b.Fatal(err)
	}
	return res, body
}

var (
	requestRate  = regexp.MustCompile(`Requests/sec:\s+([0-9.]+)`)
	requestCount = regexp.MustCompile(`([0-9]+) requests in`)
	wentWrong    = regexp.MustCompile(`Non-2xx or 3xx responses|Socket errors`)
)

// load asks a server on 32 connections and returns the answers per second,
// and the processor time that its process and their children took for one.
func load(b *testing.B, link string, conditional bool, pid int) (rate, perAnswer float64) {
	b.Helper()
	args := []string{"-t2", "-c32", "-d", benchTurn}
	if conditional {
		_, etag, _ := ask(b, link, "")
		if status, _, _ := ask(b, link, etag); status != http.StatusNotModified {
			b.Fatalf("%s answers %d to who has it", link, status)
		}
		args = append(args, "-H", "If-None-Match: "+etag)
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	before := processorTime(b, pid)
	out, err := exec.CommandContext(ctx, "wrk", append(args, link)...).CombinedOutput()
	used := processorTime(b, pid) - before
	if errors.Is(err, exec.ErrNotFound) {
		b.Fatalf("wrk is missing (deploy/setup bench installs it)")
	}
	m, n := requestRate.FindSubmatch(out), requestCount.FindSubmatch(out)
	if err != nil || m == nil || n == nil || wentWrong.Match(out) {
		b.Fatalf("wrk: %v\n%s", err, out)
	}
	rate, err = strconv.ParseFloat(string(m[1]), 64)
	if err != nil {
		b.Fatal(err)
	}
	answers, err := strconv.ParseFloat(string(n[1]), 64)
	if err != nil {
		b.Fatal(err)
	}
	return rate, used / answers
}

// processorTime is that of a server and its workers, in seconds.
func processorTime(b *testing.B, pid int) float64 {
	b.Helper()
	t, err := processor.Time(pid, "nginx")
	if err != nil {
		b.Fatal(err)
	}
	return t.Seconds()
}
