package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/emersion/go-message/mail"
	"github.com/emersion/go-smtp"

	"pryday/scheduler"
	"pryday/store/storetest"
)

// TestFromRecordsToCalendarAndMail follows the whole thread as its user does:
// records in, daemon up, calendar read by a decoder that did not write it,
// reminder taken by a real mail server and read by a parser that did not
// write it.
func TestFromRecordsToCalendarAndMail(t *testing.T) {
	zone, err := time.LoadLocation("Africa/Nairobi")
	if err != nil {
		t.Fatal(err)
	}
	today := scheduler.DateOf(leapDay().In(zone))
	file := filepath.Join(t.TempDir(), "club.json")
	if err := os.WriteFile(file, nearClub(today), 0o600); err != nil {
		t.Fatal(err)
	}
	database := storetest.New(t)
	inbox := startMailServer(t)

	mustRun(t, "import", file, "--today", today.String(), "--database-url", database)
	address, stop := startServe(t, "--database-url", database, "--listen", "127.0.0.1:0",
		"--public-url", "https://bees.example.org", "--mail-from", "Pryday <reminders@bees.example.org>",
		"--smtp-url", "smtp://"+inbox.address+"?tls=none")
	link := strings.TrimSpace(mustRun(t, "link", "add", "ada@example.org", "--whole", "--far", "--public-url", address, "--database-url", database))

	var plan planReport
	if err := json.Unmarshal([]byte(mustRun(t, "plan", "--today", today.String(), "--format", "json", "--database-url", database)), &plan); err != nil {
		t.Fatal(err)
	}
	if len(plan.Visits) == 0 || len(plan.Visits[0].Boxes) == 0 {
		t.Fatalf("the plan has no visit with boxes: %+v", plan)
	}
	compareCalendar(t, link, &plan)

	letter := inbox.next(t)
	first := plan.Visits[0]
	checkReminder(t, letter, first, zone)
	stop() // which lets what is under way arrive
	if said := mustRun(t, "messages", "--database-url", database); !strings.HasPrefix(said, "day ") || !strings.Contains(said, "visit today  delivered ") || !strings.Contains(said, "the visit was on this day") {
		t.Errorf("the messages are said as\n%s", said)
	}
	select {
	case again := <-inbox.letters:
		t.Errorf("a second mail came for the same day:\n%s", again)
	default:
	}
}

// compareCalendar reads the feed and compares it with the printed plan.
func compareCalendar(t *testing.T, link string, plan *planReport) {
	t.Helper()
	res, err := http.Get(link)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if res.StatusCode != http.StatusOK || !strings.HasPrefix(res.Header.Get("Content-Type"), "text/calendar") {
		t.Fatalf("calendar answered %s, %s", res.Status, res.Header.Get("Content-Type"))
	}
	calendar, err := ics.ParseCalendar(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	var shown, planned []string
	for _, e := range calendar.Events() {
		on, err := e.GetAllDayStartAt()
		if err != nil {
			t.Fatal(err)
		}
		shown = append(shown, on.Format(time.DateOnly)+" "+e.GetProperty(ics.ComponentPropertyLocation).Value+" "+
			strings.ToLower(e.GetProperty(ics.ComponentPropertyStatus).Value))
	}
	for _, v := range plan.Visits {
		planned = append(planned, fmt.Sprintf("%s %s %s", v.On, v.Apiary, v.Status))
	}
	slices.Sort(shown)
	slices.Sort(planned)
	if !slices.Equal(shown, planned) {
		t.Errorf("calendar and plan differ\ncalendar: %q\nplan:     %q", shown, planned)
	}
}

// checkReminder reads the mail as a mail program does.
func checkReminder(t *testing.T, letter string, visit visitRow, zone *time.Location) {
	t.Helper()
	r, err := mail.CreateReader(strings.NewReader(letter))
	if err != nil {
		t.Fatalf("read the mail: %v\n%s", err, letter)
	}
	if to, err := r.Header.AddressList("To"); err != nil || len(to) != 1 || to[0].Address != "ada@example.org" {
		t.Errorf("mail goes to %v, %v", to, err)
	}
	parts := map[string]string{}
	for {
		p, err := r.NextPart()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(p.Body)
		if err != nil {
			t.Fatal(err)
		}
		kind, _, _ := p.Header.(*mail.InlineHeader).ContentType()
		parts[kind] = string(body)
	}
	day := visit.On.At(0, zone).Format("2 January")
	for _, kind := range []string{"text/plain", "text/html"} {
		body := strings.Join(strings.Fields(parts[kind]), " ")
		for _, want := range []string{visit.Apiary, day, visit.Boxes[0].Hive, visit.Boxes[0].Box} {
			if !strings.Contains(body, want) {
				t.Errorf("the %s part does not say %q:\n%s", kind, want, parts[kind])
			}
		}
		// One item of the checklist for each due box: its joint is judged.
		for _, b := range visit.Boxes {
			if !regexp.MustCompile(`(?i)\b` + regexp.QuoteMeta(b.Box) + `\b`).MatchString(body) {
				t.Errorf("the %s part has nothing about box %s", kind, b.Box)
			}
		}
	}
	if subject, err := r.Header.Subject(); err != nil || !strings.Contains(subject, visit.Apiary) {
		t.Errorf("the subject %q does not name %s", subject, visit.Apiary)
	}
}

// nearClub is a club in the tropics, where boxes may be opened on any day, with
// one box that has waited too long and one that was just opened.
func nearClub(today scheduler.Date) []byte {
	doc := map[string]any{
		"club": map[string]any{"name": "Thornhill Hive Circle", "members": []any{map[string]any{
			"name": "Ada Quill", "email": "ada@example.org", "role": "organiser", "apiaries": []any{"Terrace"},
			"timezone": "Africa/Nairobi", "preferences": map[string]any{"send_at": "00:00"},
		}}},
		"rules": map[string]any{"lead_days": 0},
		"apiaries": []any{map[string]any{
			"name": "Terrace", "latitude": -1.2, "longitude": 36.9, "elevation_m": 1600, "timezone": "Africa/Nairobi",
			"hives": []any{map[string]any{"name": "Larch", "boxes": []any{
				map[string]any{"name": "R14", "kind": "deep", "set_up_on": (today - 500).String(), "openings": []any{
					map[string]any{"on": (today - 300).String(), "joint": 3, "frames": 2, "scraped": "all"},
				}},
				map[string]any{"name": "R15", "kind": "medium", "set_up_on": (today - 500).String(), "openings": []any{
					map[string]any{"on": (today - 30).String(), "joint": 1, "frames": 1, "scraped": "all"},
				}},
			}}},
		}},
	}
	data, err := json.Marshal(doc)
	if err != nil {
		panic(err)
	}
	return data
}

// leapDay is the day on which the commands are given, late in the morning, so
// that no test runs into the next day.
func leapDay() time.Time { return time.Date(2028, time.February, 29, 9, 0, 0, 0, time.UTC) }

// mustRun runs one command line in this process and returns what it printed.
func mustRun(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	term := &terminal{in: strings.NewReader(""), out: &out, err: &errs, now: leapDay}
	if status := run(t.Context(), args, term); status != 0 {
		t.Fatalf("pryday %s: status %d\n%s%s", strings.Join(args, " "), status, out.String(), errs.String())
	}
	return out.String()
}

// startServe runs the daemon, and returns its address and what stops it, at the
// latest when the test ends.
func startServe(t *testing.T, args ...string) (address string, stop func()) {
	t.Helper()
	address, _, stop = startServeAt(t, leapDay, args...)
	return address, stop
}

// startServeAt is startServe at another time, with the daemon's log.
func startServeAt(t *testing.T, now func() time.Time, args ...string) (address string, log func() string, stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	errs := &lines{found: make(chan string, 1), want: regexp.MustCompile(`address=(http://[0-9.:]+)`)}
	done := make(chan int, 1)
	go func() {
		done <- run(ctx, append([]string{"serve"}, args...), &terminal{in: strings.NewReader(""), out: io.Discard, err: errs, now: now})
	}()
	stop = sync.OnceFunc(func() {
		cancel()
		if status := <-done; status != 0 {
			t.Errorf("serve ended with status %d\n%s", status, errs.text())
		}
	})
	t.Cleanup(stop)
	select {
	case address := <-errs.found:
		return address, errs.text, stop
	case status := <-done:
		done <- status
		t.Fatalf("serve ended at once\n%s", errs.text())
	case <-time.After(2 * time.Minute):
		t.Fatalf("serve did not come up\n%s", errs.text())
	}
	return "", nil, nil
}

// lines keeps what is written and tells when a wanted word came by.
type lines struct {
	mu    sync.Mutex
	buf   bytes.Buffer
	want  *regexp.Regexp
	found chan string
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.buf.Write(p)
	if m := l.want.FindSubmatch(l.buf.Bytes()); m != nil {
		select {
		case l.found <- string(m[1]):
		default:
		}
	}
	return len(p), nil
}

func (l *lines) text() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.String()
}

// mailServer keeps what it takes.
type mailServer struct {
	address string
	letters chan string
}

func startMailServer(t *testing.T) *mailServer {
	t.Helper()
	in := &mailServer{letters: make(chan string, 100)}
	server := smtp.NewServer(smtp.BackendFunc(func(*smtp.Conn) (smtp.Session, error) { return &taking{in}, nil }))
	server.Domain = "localhost"
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	in.address = listener.Addr().String()
	go func() { _ = server.Serve(listener) }()
	t.Cleanup(func() { server.Close() })
	return in
}

func (in *mailServer) next(t *testing.T) string {
	t.Helper()
	select {
	case letter := <-in.letters:
		return letter
	case <-time.After(2 * time.Minute):
		t.Fatal("no mail came")
		return ""
	}
}

// taking is one dialogue with the inbox.
type taking struct{ in *mailServer }

func (s *taking) Mail(string, *smtp.MailOptions) error { return nil }
func (s *taking) Rcpt(string, *smtp.RcptOptions) error { return nil }
func (s *taking) Reset()                               {}
func (s *taking) Logout() error                        { return nil }

func (s *taking) Data(r io.Reader) error {
	b, err := io.ReadAll(r)
	if err == nil {
		s.in.letters <- string(b)
	}
	return err
}
