//go:build clients

// These need python3-icalendar, libical (gir1.2-ical-3.0 with python3-gi),
// php-sabre-vobject, khal, vdirsyncer and curl of Debian, Node.js and ical.js:
// deploy/setup soak, then go test -tags clients ./web/feed

package feed

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pryday/scheduler"
	"pryday/store"
	"pryday/testdata/testrun"
)

// run runs a program and returns what it printed.
func run(t *testing.T, input, name string, args ...string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Stdin = strings.NewReader(input)
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %q: %v\n%s%s", name, args, err, out, said.String())
	}
	return string(out)
}

// library finds ical.js where deploy/setup soak puts it.
func library(t *testing.T) string {
	t.Helper()
	dir, err := filepath.Abs(cmp.Or(os.Getenv("PRYDAY_ICALJS"), "../../bin/npm/node_modules/ical.js"))
	if err == nil {
		_, err = os.Stat(dir)
	}
	if err != nil {
		t.Fatalf("ical.js is missing: %v (deploy/setup soak fetches it)", err)
	}
	return dir
}

// Two decoders in other languages read every event as those in Go do, which
// agree with the plan.
func TestClientsReadTheSame(t *testing.T) {
	readers := map[string][]string{
		"python3-icalendar": {"/usr/bin/python3", "testdata/read.py"},
		"ical.js":           {"node", "testdata/read.cjs", library(t)},
	}
	for seed := range stories(8, 40) {
		t.Run(fmt.Sprint("club ", seed), func(t *testing.T) {
			b := newFixture(t, randomClub(4, 4).Example(seed))
			_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{Far: true, Alarms: true})
			body := b.calendar(t, token)
			want := byGoICal(t, body)
			for name, command := range readers {
				var rows [][9]string
				if err := json.Unmarshal([]byte(run(t, body, command[0], command[1:]...)), &rows); err != nil {
					t.Fatal(err)
				}
				if len(rows) != len(want) {
					t.Fatalf("%s reads %d events of %d", name, len(rows), len(want))
				}
				for i, r := range rows {
					expected := want[i]
					if name == "python3-icalendar" {
						// Version 4 takes a written backslash before an n for a line break,
						// against RFC 5545, 3.3.11.
						for _, field := range []*string{&expected.place, &expected.summary, &expected.description} {
							*field = strings.ReplaceAll(*field, `\n`, "\n")
						}
					}
					if got := (event{r[0], r[1], r[2], r[3], r[4], r[5], r[6], r[7], r[8]}); got != expected {
						t.Fatalf("%s reads\n%q\nnot\n%q", name, got, expected)
					}
				}
			}
		})
	}
}

// checkers are programs that say what is wrong with a calendar, and else print
// how many events they read.
var checkers = map[string][]string{
	"libical":       {"/usr/bin/python3", "testdata/libical.py"},
	"sabre/vobject": {"php", "-d", "include_path=/usr/share/php", "testdata/vobject.php"},
}

// Two libraries check each calendar against RFC 5545 and find nothing: one of
// every kind, in both languages, with every state of a visit, of an address
// that ended, and one without an entry.
func TestClientsFindNothing(t *testing.T) {
	check := func(t *testing.T, body string) {
		t.Helper()
		want := fmt.Sprintln(strings.Count(body, "\r\nBEGIN:VEVENT\r\n"))
		for name, command := range checkers {
			if got := run(t, body, command[0], command[1:]...); got != want {
				t.Errorf("%s reads %s events, not %s", name, got, want)
			}
		}
	}
	for seed := range stories(6, 30) {
		t.Run(fmt.Sprint("club ", seed), func(t *testing.T) {
			b := newFixture(t, randomClub(4, 4).Example(seed))
			b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
				m, err := tx.Member(ctx, b.member)
				if err != nil {
					return err
				}
				m.Prefs.VisitHours = &scheduler.HoursOfDay{From: 9 * 60, Until: 11 * 60}
				m.Language = []string{"en", "de"}[seed%2]
				return tx.UpdateMember(ctx, *m)
			})
			b.hears(t)
			_, club := b.link(t, store.ClubLink, 0, store.LinkOptions{Far: true, Alarms: true})
			id, own := b.link(t, store.MemberLink, 0, store.LinkOptions{Far: true, Alarms: true, Timed: true, ExactPlace: true})
			for _, d := range rapid.SliceOfN(deeds(), 8, 8).Example(seed) {
				d.do(t, b)
				b.hears(t)
				check(t, b.calendar(t, club))
				check(t, b.calendar(t, own))
			}
			b.inClub(t, func(ctx context.Context, tx *store.Tx) error { return tx.RevokeLink(ctx, id) })
			b.hears(t)
			check(t, b.calendar(t, own))
		})
	}
	t.Run("no entry", func(t *testing.T) {
		b := newFixture(t, &scheduler.Club{Members: []scheduler.Member{{Name: "Ilse Varga", Email: "ilse@weir.example", Role: scheduler.Organiser}}})
		_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
		check(t, b.calendar(t, token))
	})
}

// subscriber is vdirsyncer with khal on top, as a person sets them up.
type subscriber struct {
	dir string
}

func subscribe(t *testing.T, address string) *subscriber {
	t.Helper()
	s := &subscriber{t.TempDir()}
	t.Setenv("HOME", s.dir)
	t.Setenv("LC_ALL", "C.UTF-8")
	write := func(name, text string) {
		if err := os.WriteFile(filepath.Join(s.dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(s.dir, "calendar"), 0o700); err != nil {
		t.Fatal(err)
	}
	write("vdirsyncer", fmt.Sprintf(`[general]
status_path = "%[1]s/status"
[pair bees]
a = "remote"
b = "local"
collections = null
[storage remote]
type = "http"
url = "%[2]s"
[storage local]
type = "filesystem"
path = "%[1]s/calendar"
fileext = ".ics"
`, s.dir, address))
	write("khal", fmt.Sprintf(`[calendars]
[[bees]]
path = %s/calendar
[locale]
timeformat = %%H:%%M
dateformat = %%Y-%%m-%%d
longdateformat = %%Y-%%m-%%d
datetimeformat = %%Y-%%m-%%d %%H:%%M
longdatetimeformat = %%Y-%%m-%%d %%H:%%M
local_timezone = Europe/London
default_timezone = Europe/London
`, s.dir))
	run(t, "", "vdirsyncer", "-c", filepath.Join(s.dir, "vdirsyncer"), "discover")
	return s
}

func (s *subscriber) sync(t *testing.T) {
	t.Helper()
	run(t, "", "vdirsyncer", "-c", filepath.Join(s.dir, "vdirsyncer"), "sync")
}

// entries are the synced events by the address of their page, as khal shows
// them.
func (s *subscriber) entries(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	list := run(t, "", "khal", "-c", filepath.Join(s.dir, "khal"), "list", "--day-format", "", "--format", "{url}|{start-date} {title}", "2027-03-01", "500d")
	for line := range strings.Lines(list) {
		if page, shown, ok := strings.Cut(strings.TrimSpace(line), "|"); ok {
			out[page] = shown
		}
	}
	return out
}

// A person who subscribes sees a move as a move and a cancellation as one.
func TestClientsFollowAVisit(t *testing.T) {
	b := newFixture(t, records())
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{Far: true})
	s := subscribe(t, b.server.URL+"/calendar/"+token+".ics")
	s.sync(t)
	before := s.entries(t)
	if len(before) != len(byGoICal(t, b.calendar(t, token))) || len(before) < 3 {
		t.Fatalf("khal shows %v", before)
	}
	v := b.firstVisit(t)
	page := fmt.Sprintf("https://bees.example/visit/%s?club=%d", v.UID, b.club)
	to := v.On + 11
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.MoveVisit(ctx, v.ID, v.Sequence, to, b.today())
		return err
	})
	testrun.Until(t, "the move is served", func() bool {
		return strings.Contains(b.calendar(t, token), "DTSTART;VALUE=DATE:"+to.Format("20060102"))
	})
	s.sync(t)
	moved := s.entries(t)
	if !strings.HasPrefix(moved[page], to.String()+" ") || strings.HasPrefix(before[page], to.String()) {
		t.Errorf("moved from %q to %q, want %s\n%v", before[page], moved[page], to, before)
	}
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		now, err := tx.Visit(ctx, v.ID)
		if err != nil {
			return err
		}
		_, err = tx.CallOffVisit(ctx, v.ID, now.Sequence, b.today()+28, b.today())
		return err
	})
	testrun.Until(t, "the cancellation is served", func() bool { return strings.Contains(b.calendar(t, token), "STATUS:CANCELLED") })
	s.sync(t)
	if got := s.entries(t)[page]; !strings.HasPrefix(got, to.String()) || !strings.HasSuffix(got, ": cancelled") {
		t.Errorf("cancelled: khal shows %q", got)
	}
	b.clock.set(b.clock.Civil().AddDate(0, 0, 31))
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error { _, err := tx.ReplanAll(ctx, b.today()); return err })
	testrun.Until(t, "the cancelled visit leaves", func() bool { return !strings.Contains(b.calendar(t, token), v.UID) })
	s.sync(t)
	if got, there := s.entries(t)[page]; there {
		t.Errorf("after a month khal still shows %q", got)
	}
}

// A client that keeps the entity tag polls for nothing but 304.
func TestClientsPollFor304(t *testing.T) {
	b := newFixture(t, records())
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	tag := filepath.Join(t.TempDir(), "tag")
	poll := func() string {
		return run(t, "", "curl", "-sS", "--compressed", "--etag-save", tag, "--etag-compare", tag, "-o", os.DevNull,
			"-w", "%{http_code} %{size_download}", b.server.URL+"/calendar/"+token+".ics")
	}
	if got := poll(); !strings.HasPrefix(got, "200 ") {
		t.Fatalf("first %s", got)
	}
	for range 3 {
		if got := poll(); got != "304 0" {
			t.Errorf("then %s", got)
		}
	}
	v := b.move(t, 4)
	testrun.Until(t, "the move is served", func() bool {
		return strings.Contains(b.calendar(t, token), (v.On + scheduler.Date(4)).Format("20060102"))
	})
	if got := poll(); !strings.HasPrefix(got, "200 ") {
		t.Errorf("after a move %s", got)
	}
}
