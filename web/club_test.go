package web

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	netmail "net/mail"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/storetest"
)

// today is the day on which the tests play.
var today = scheduler.NewDate(2027, 6, 1)

// testClock stands still on a day, at nine in the morning UTC.
type testClock struct{ day scheduler.Date }

func (c testClock) Now() time.Time   { return time.Now() }
func (c testClock) Civil() time.Time { return c.day.At(9*60, time.UTC) }

// testClub is a served club: Ansel organises, Brida keeps Quarry, Corin keeps
// nothing, and Dorrit belongs to another club.
type testClub struct {
	t        testing.TB
	server   *Server
	http     *httptest.Server
	line     *lateHandler
	store    *store.Store
	database string // its address for the owner of the tables
	notify   *notify.Service
	id       int64
	other    int64
	member   map[string]int64
	person   map[string]int64
}

// sameDay returns the usual rules of a club that goes to overdue boxes on the same
// day, so that its first visit is today.
func sameDay() scheduler.Rules {
	r := scheduler.DefaultRules()
	r.LeadDays = 0
	return r
}

// serveClub serves a club and its neighbour; replyTo is the address that
// answers to its mails come to, if any do.
func serveClub(t testing.TB, replyTo ...string) *testClub {
	t.Helper()
	return serveAt(t, storetest.From(t, "served", fillServed), replyTo...)
}

// asOwner runs a statement as the owner of the tables, for what the serving role
// cannot do.
func (c *testClub) asOwner(sql string, args ...any) {
	c.t.Helper()
	conn, err := pgx.Connect(context.Background(), c.database)
	if err != nil {
		c.t.Fatal(err)
	}
	defer conn.Close(context.Background())
	if _, err := conn.Exec(context.Background(), sql, args...); err != nil {
		c.t.Fatal(err)
	}
}

func serveAt(t testing.TB, database string, replyTo ...string) *testClub {
	t.Helper()
	return serveFrom(t, database, "", replyTo...)
}

// serveFrom is serveAt with a replica.
func serveFrom(t testing.TB, database, replica string, replyTo ...string) *testClub {
	t.Helper()
	ctx := context.Background()
	cfg := store.Config{
		URL: storetest.Serving(database), Apart: true, MaxConns: 6, Replica: replica, Logger: slog.New(slog.DiscardHandler),
	}
	st, err := store.Open(ctx, cfg)
	if store.Away(err) { // a machine with more to do than it can may keep a connection waiting for longer than a daemon would
		st, err = store.Open(ctx, cfg)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	c := &testClub{t: t, store: st, database: database, id: served.id, other: served.other, member: maps.Clone(served.member), person: maps.Clone(served.person)}
	late := &lateHandler{}
	c.http = httptest.NewServer(late)
	t.Cleanup(c.http.Close)
	// By its name, since browsers offer no passkeys at a bare IP address.
	c.http.URL = strings.Replace(c.http.URL, "127.0.0.1", "localhost", 1)
	public, err := url.Parse(c.http.URL)
	if err != nil {
		t.Fatal(err)
	}
	sender, err := notify.NewMaildir(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	log := slog.New(slog.NewTextHandler(newTestLog(t), &slog.HandlerOptions{Level: slog.LevelWarn}))
	clock := testClock{today}
	c.notify, err = notify.New(ctx, notify.Config{
		Store: st, Sender: sender, Clock: clock, PublicURL: public, From: netmail.Address{Address: "bees@example.org"}, Logger: log,
		ReplyTo: strings.Join(replyTo, ""),
	})
	if err != nil {
		t.Fatal(err)
	}
	c.server, err = New(Config{Store: st, Clock: clock, PublicURL: public, Logger: log, Notify: c.notify})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.server.Close)
	late.Handler, c.line = c.server, late
	return c
}

// lateHandler is filled in once the address of its server is known. Without a
// signal it drops every connection; where the line breaks, one at the point
// that it is told.
type lateHandler struct {
	http.Handler
	noSignal atomic.Bool
	breaks   atomic.Pointer[func(*http.Request) lineBreak]
}

// lineBreak is where a line broke.
type lineBreak int

const (
	unbroken lineBreak = iota
	beforeItArrived
	beforeTheAnswer
	hanging
)

func (h *lateHandler) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	at := unbroken
	if breaks := h.breaks.Load(); breaks != nil {
		at = (*breaks)(r)
	}
	if h.noSignal.Load() || at == beforeItArrived {
		panic(http.ErrAbortHandler)
	}
	if at == hanging {
		_, _ = io.Copy(io.Discard, r.Body) // before that nobody notices that the other side is gone
		<-r.Context().Done()
		return
	}
	if at == beforeTheAnswer {
		h.Handler.ServeHTTP(httptest.NewRecorder(), r)
		panic(http.ErrAbortHandler)
	}
	h.Handler.ServeHTTP(w, r)
}

// testLog fails the test on what the server logs as an error. What else it warns of
// is told when the test fails.
type testLog struct {
	t      testing.TB
	mu     sync.Mutex
	warned []string
}

func newTestLog(t testing.TB) *testLog {
	l := &testLog{t: t}
	t.Cleanup(func() {
		l.mu.Lock()
		defer l.mu.Unlock()
		if t.Failed() {
			t.Log("the server warned:\n" + strings.Join(l.warned, ""))
		}
	})
	return l
}

func (l *testLog) Write(b []byte) (int, error) {
	if bytes.Contains(b, []byte("level=ERROR")) {
		l.t.Errorf("the server logged: %s", b)
		return len(b), nil
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.warned = append(l.warned, string(b))
	return len(b), nil
}

// quarryClubOf is quarryClub of other people, whose addresses begin so.
func quarryClubOf(prefix string) *scheduler.Club {
	c := quarryClub()
	for i := range c.Members {
		c.Members[i].Email = prefix + c.Members[i].Email
	}
	return c
}

// quarryClub is invented: two apiaries with two hives of three boxes.
func quarryClub() *scheduler.Club {
	c := &scheduler.Club{
		Name: "Old Mill Beekeepers", Rules: sameDay(),
		Members: []scheduler.Member{
			{ID: 1, Name: "Ansel Whitlow", Email: "ansel@example.org", Role: scheduler.Organiser},
			{ID: 2, Name: "Brida Okonjo", Email: "brida@example.org", Role: scheduler.Keeper, Units: text.Inches},
			{ID: 3, Name: "Corin Tasker", Email: "corin@example.org", Role: scheduler.Keeper},
		},
	}
	box := int64(0)
	for a, name := range []string{"Orchard", "Quarry"} {
		apiary := scheduler.Apiary{
			ID: int64(a + 1), Name: name, Latitude: 47.5 + float64(a), Longitude: 15, Region: scheduler.Continental, ElevationM: 300, Timezone: "UTC",
			AccessNotes: "gate code 4711 at " + name,
		}
		if name == "Quarry" {
			apiary.Keepers = []int64{2}
		}
		for h := range 2 {
			hive := scheduler.Hive{ID: int64(10*a + h + 1), Name: fmt.Sprintf("%s hive %d", name, h+1)}
			for b := range 3 {
				box++
				hive.Boxes = append(hive.Boxes, scheduler.Box{
					ID: box, Name: fmt.Sprintf("%s%d%d", name[:1], h+1, b+1), Kind: "deep", SetUpOn: scheduler.NewDate(2025, 4, 10),
					Openings: []scheduler.Opening{{
						ID: uuid.NewSHA1(uuid.NameSpaceOID, fmt.Appendf(nil, "%d", box)).String(), On: scheduler.NewDate(2026, 5, 9),
						Joint: scheduler.Difficulty(b), Frames: scheduler.NotTried, Scraped: scheduler.ScrapedPart, By: 2,
					}},
				})
			}
			apiary.Hives = append(apiary.Hives, hive)
		}
		c.Apiaries = append(c.Apiaries, apiary)
	}
	return c
}

// served is what every served club begins with: two clubs, and their members
// and persons by their first names.
var served struct {
	id, other      int64
	member, person map[string]int64
}

func fillServed(url string) error {
	ctx := context.Background()
	st, err := store.Open(ctx, store.Config{URL: storetest.Serving(url), Apart: true})
	if err != nil {
		return err
	}
	defer st.Close()
	served.member, served.person = map[string]int64{}, map[string]int64{}
	if served.id, err = importClub(ctx, st, quarryClub(), served.member, served.person); err != nil {
		return err
	}
	served.other, err = importClub(ctx, st, &scheduler.Club{
		Name: "Elsewhere", Rules: sameDay(),
		Members: []scheduler.Member{{ID: 1, Name: "Dorrit Vane", Email: "dorrit@example.org", Role: scheduler.Organiser}},
	}, served.member, served.person)
	return err
}

// importClub brings one more club in.
func (c *testClub) importClub(records *scheduler.Club) int64 {
	c.t.Helper()
	id, err := importClub(context.Background(), c.store, records, c.member, c.person)
	if err != nil {
		c.t.Fatal(err)
	}
	return id
}

// alsoElsewhere makes a member an organiser of the other club too.
func (c *testClub) alsoElsewhere(name string) {
	c.t.Helper()
	err := c.store.InClub(context.Background(), c.other, func(tx *store.Tx) error {
		_, err := tx.AddMember(context.Background(), scheduler.Member{Name: name, Email: strings.ToLower(name) + "@example.org", Role: scheduler.Organiser})
		return err
	})
	if err != nil {
		c.t.Fatal(err)
	}
}

// importClub brings records in and plans them, and notes its members and persons
// by their first names.
func importClub(ctx context.Context, st *store.Store, records *scheduler.Club, member, person map[string]int64) (int64, error) {
	id, err := st.CreateClub(ctx, records.Name)
	if err != nil {
		return 0, err
	}
	return id, st.InClub(ctx, id, func(tx *store.Tx) error {
		if _, err := tx.Import(ctx, records); err != nil {
			return err
		}
		if _, err := tx.ReplanAll(ctx, today); err != nil {
			return err
		}
		members, err := tx.Members(ctx)
		for _, m := range members {
			name, _, _ := strings.Cut(m.Name, " ")
			member[name], person[name] = m.ID, m.PersonID
		}
		return err
	})
}

// club reads all records of the first club.
func (c *testClub) club() *scheduler.Club {
	c.t.Helper()
	var club *scheduler.Club
	c.in(func(tx *store.Tx) (err error) {
		club, err = tx.Club(context.Background())
		return err
	})
	return club
}

func (c *testClub) in(fn func(*store.Tx) error) {
	c.t.Helper()
	if err := c.store.InClub(context.Background(), c.id, fn); err != nil {
		c.t.Fatal(err)
	}
}

// visit returns the first open visit of an apiary.
func (c *testClub) visit(apiary string) scheduler.Visit {
	c.t.Helper()
	club := c.club()
	names := scheduler.NewNames(club)
	for _, v := range club.Visits {
		if v.Status.Open() && names.Apiary(v.ApiaryID) == apiary && len(v.Boxes) > 0 {
			return v
		}
	}
	c.t.Fatalf("%s has no open visit", apiary)
	return scheduler.Visit{}
}

func (c *testClub) visitByUID(uid string) *store.VisitRecord {
	c.t.Helper()
	var v *store.VisitRecord
	c.in(func(tx *store.Tx) (err error) {
		v, err = tx.VisitByUID(context.Background(), uid)
		return err
	})
	return v
}

func (c *testClub) act(do notify.Deed, member string, v scheduler.Visit) string {
	return "/act/" + c.notify.Signer().Sign(notify.Action{
		Do: do, Club: c.id, Member: c.member[member], VisitUID: v.UID, Sequence: v.Sequence, On: v.On, Expires: time.Now().Add(time.Hour),
		Ended: c.club().Member(c.member[member]).ButtonsEnded,
	})
}

// browser is one person's browser; nobody's when never signed in.
type browser struct {
	c      *testClub
	client *http.Client
}

func (c *testClub) stranger() *browser {
	jar, _ := cookiejar.New(nil)
	// Not the transport that all share: the end of any test's server closes what is idle there.
	return &browser{c, &http.Client{Transport: c.http.Client().Transport, Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

// as signs somebody in.
func (c *testClub) as(name string) *browser {
	c.t.Helper()
	return c.signedInFrom(name, "")
}

// answer is what came back.
type answer struct {
	t      testing.TB
	status int
	body   string
	header http.Header
}

func (b *browser) get(path string) *answer { return b.send("GET", path, nil, nil) }

func (b *browser) post(path string, fields url.Values) *answer {
	return b.send("POST", path, fields, nil)
}

// follow posts and then reads the page that the answer leads to.
func (b *browser) follow(path string, fields url.Values) *answer {
	b.c.t.Helper()
	got := b.post(path, fields)
	if got.status != http.StatusSeeOther {
		b.c.t.Fatalf("POST %s: %d, want to be led on\n%s", path, got.status, got.text())
	}
	return b.get(got.header.Get("Location"))
}

func (b *browser) send(method, path string, fields url.Values, header map[string]string) *answer {
	b.c.t.Helper()
	var body io.Reader
	if fields != nil {
		body = strings.NewReader(fields.Encode())
	}
	r, err := http.NewRequest(method, b.c.http.URL+strings.Split(path, "#")[0], body)
	if err != nil {
		b.c.t.Fatal(err)
	}
	if fields != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for k, v := range header {
		r.Header.Set(k, v)
	}
	res, err := b.client.Do(r)
	if err != nil {
		b.c.t.Fatal(err)
	}
	defer res.Body.Close()
	var out bytes.Buffer
	if _, err := out.ReadFrom(res.Body); err != nil {
		b.c.t.Fatal(err)
	}
	return &answer{b.c.t, res.StatusCode, out.String(), res.Header}
}

var tags = regexp.MustCompile(`(?s)<script[^>]*>.*?</script>|<[^>]*>`)

// text is the body without its tags.
func (a *answer) text() string {
	return strings.Join(strings.Fields(tags.ReplaceAllString(a.body, " ")), " ")
}

// says fails unless the page has the status and holds every text.
func (a *answer) says(status int, texts ...string) *answer {
	a.t.Helper()
	if a.status != status {
		a.t.Errorf("status %d, want %d: %s", a.status, status, cutTo(a.text(), 800))
	}
	for _, want := range texts {
		if said := a.text(); !strings.Contains(said, want) && !strings.Contains(said, apostrophes(want)) {
			a.t.Errorf("the page does not say %q: %s", want, cutTo(a.text(), 800))
		}
	}
	return a
}

// apostrophes writes those of a text as pages do.
func apostrophes(s string) string { return strings.ReplaceAll(s, "'", "&#39;") }

func cutTo(s string, n int) string { return s[:min(len(s), n)] }

// holds looks for markup.
func (a *answer) holds(markup string) *answer {
	a.t.Helper()
	if !strings.Contains(a.body, markup) {
		a.t.Errorf("the page lacks %s", markup)
	}
	return a
}

// drawnByLot matches tokens and identities, whose random letters may spell
// anything.
var drawnByLot = regexp.MustCompile(`[A-Za-z0-9_-]{20,}`)

func (a *answer) hides(texts ...string) *answer {
	a.t.Helper()
	body := drawnByLot.ReplaceAllString(a.body, "…")
	for _, bad := range texts {
		if drawnByLot.MatchString(bad) {
			body = a.body
		}
		if strings.Contains(body, bad) || strings.Contains(body, apostrophes(bad)) {
			a.t.Errorf("the page shows %q", bad)
		}
	}
	return a
}

// field finds the value of the first field of a name.
func (a *answer) field(name string) string {
	a.t.Helper()
	m := regexp.MustCompile(`name="` + regexp.QuoteMeta(name) + `" value="([^"]*)"`).FindStringSubmatch(a.body)
	if m == nil {
		a.t.Fatalf("the page has no field %s: %s", name, a.body)
	}
	return m[1]
}

func fields(pairs ...string) url.Values {
	v := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	return v
}

func mustURL(t testing.TB, s string) *url.URL {
	t.Helper()
	u, err := url.Parse(s)
	if err != nil {
		t.Fatal(err)
	}
	return u
}
