package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/store"
	"pryday/store/backup"
	"pryday/store/localpg"
	"pryday/store/storetest"
	"pryday/testdata"
	"pryday/testdata/testrun"
)

// house is where an installation lives, as a volunteer has it: a state directory
// with a private PostgreSQL.
type house struct {
	state, inbox string // of the mail server
	now          time.Time
}

// newHouse makes the place for a state directory that every account can reach.
func newHouse(t *testing.T, inbox string, now time.Time) house {
	t.Helper()
	dir, err := os.MkdirTemp("", "pryday-house-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	return house{filepath.Join(dir, "state"), inbox, now}
}

func (h house) clock() time.Time { return h.now }

// run runs a command on the house's records.
func (h house) run(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	term := &terminal{in: strings.NewReader(""), out: &out, err: &errs, now: h.clock}
	if status := run(t.Context(), append(args, "--state-dir", h.state), term); status != 0 {
		t.Fatalf("pryday %s: status %d\n%s%s", strings.Join(args, " "), status, out.String(), errs.String())
	}
	return out.String()
}

// serve runs the daemon until its first tick is over and everything owed is sent.
func (h house) serve(t *testing.T) (address string, stop func()) {
	t.Helper()
	address, log, stop := startServeAt(t, h.clock, "-v", "--state-dir", h.state, "--listen", "127.0.0.1:0", "--public-url", "https://bees.example.org",
		"--mail-from", "Pryday <reminders@bees.example.org>", "--smtp-url", "smtp://"+h.inbox+"?tls=none")
	testrun.Until(t, "the first tick", func() bool { return strings.Contains(log(), "msg=tick") })
	s := h.store(t)
	defer s.Close()
	ids, err := s.ClubIDs(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	testrun.Until(t, "nothing is owed any more", func() bool {
		var owed []store.Message
		err := s.InClub(t.Context(), ids[0], func(tx *store.Tx) (err error) {
			owed, err = tx.Messages(t.Context(), store.MessageFilter{Limit: 1, State: "owed"})
			return err
		})
		return err == nil && len(owed) == 0
	})
	return address, stop
}

// store opens the records of a house in which a daemon runs.
func (h house) store(t *testing.T) *store.Store {
	t.Helper()
	at, err := localpg.Attach(t.Context(), h.state)
	if err != nil {
		t.Fatal(err)
	}
	s, err := store.Open(t.Context(), store.Config{URL: at.Serving, Apart: true, MaxConns: 2})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func fetch(t *testing.T, address string) []byte {
	t.Helper()
	res, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s, %v\n%s", address, res.Status, err, body)
	}
	return body
}

// TestMovingHouse is the restore drill: the demo's club backs up while it is
// served, loses its machine, and goes on from the backup on another one.
func TestMovingHouse(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	day, err := scheduler.ParseDate(testdata.DemoDay)
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	document, secret, file := filepath.Join(folder, "club.json"), filepath.Join(folder, "passphrase"), filepath.Join(folder, "bees.backup")
	for name, text := range map[string]string{document: string(testdata.Demo), secret: "seven smokers in a shed\n"} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	inbox := startMailServer(t)
	old := newHouse(t, inbox.address, day.At(int(demoHour.Minutes()), zone))
	old.run(t, "import", document, "--today", day.String())
	address, stop := old.serve(t)
	var paths []string
	for _, what := range [][]string{{"--whole", "--far"}, {"--apiary", "Mill Meadow", "--alarms"}, {"--exact-place"}} {
		link := strings.TrimSpace(old.run(t, append([]string{"link", "add", "marit@example.org", "--public-url", address}, what...)...))
		paths = append(paths, strings.TrimPrefix(link, address))
	}
	before := old.store(t)
	keep(t, before)
	before.Close()
	calendars := map[string][]byte{}
	for _, path := range paths {
		calendars[path] = fetch(t, address+path)
	}
	button := mailedButton(t, inbox)
	asked := fetch(t, address+button)

	old.run(t, "backup", file, "--passphrase-file", secret)
	export, sent := old.run(t, "export"), old.run(t, "messages", "--limit", "1000", "--format", "json")
	stop()
	drain(inbox)
	if err := os.RemoveAll(old.state); err != nil {
		t.Fatal(err)
	}

	next := newHouse(t, inbox.address, old.now.Add(10*time.Minute)) // past the next tick
	if said := next.run(t, "restore", file, "--passphrase-file", secret); !strings.Contains(said, "Wickerbrook Beekeepers") {
		t.Errorf("it does not say whose backup it was: %s", said)
	}
	if got := next.run(t, "export"); got != export {
		t.Error("the export is another one")
	}
	address, stop = next.serve(t)
	for path, want := range calendars {
		if got := fetch(t, address+path); !bytes.Equal(got, want) {
			t.Errorf("the calendar %s has other bytes", path)
		}
	}
	if got := fetch(t, address+button); !bytes.Equal(got, asked) {
		t.Errorf("the mailed button asks something else:\n%s", got)
	}
	after := next.store(t)
	if k, err := after.PasskeyByCredential(t.Context(), []byte("credential")); err != nil || k.Label != "phone" {
		t.Errorf("the passkey is %+v: %v", k, err)
	}
	if err := after.Sessions().Commit("signed-in", []byte("x"), time.Now().Add(24*time.Hour)); err != nil {
		t.Fatal(err)
	}
	after.Close()
	testrun.Until(t, "there is a daily backup", func() bool {
		made, err := backup.List(filepath.Join(next.state, backupFolder))
		return err == nil && len(made) == 1
	})
	if got := next.run(t, "messages", "--limit", "1000", "--format", "json"); got != sent || len(mailed(t, sent)) < 4 {
		t.Errorf("the messages have changed:\n%s", got)
	}
	stop()
	select {
	case letter := <-inbox.letters:
		t.Errorf("somebody was mailed after the move:\n%s", letter)
	default:
	}
	if testrun.Soak() { // the private database's own tests upgrade in every run
		upgrade(t, next, export)
	}

	// And whoever imports the export mails nobody again either.
	if err := os.WriteFile(document, []byte(export), 0o600); err != nil {
		t.Fatal(err)
	}
	database := storetest.New(t)
	mustRun(t, "import", document, "--today", day.String(), "--database-url", database)
	_, log, stop := startServeAt(t, next.clock, "-v", "--database-url", database, "--listen", "127.0.0.1:0", "--public-url", "https://bees.example.org",
		"--mail-from", "Pryday <reminders@bees.example.org>", "--smtp-url", "smtp://"+inbox.address+"?tls=none")
	testrun.Until(t, "the first tick", func() bool { return strings.Contains(log(), "msg=tick") })
	for again := range mailed(t, mustRun(t, "messages", "--limit", "1000", "--format", "json", "--database-url", database)) {
		// What was held back there for other mail of the day may go out here.
		if mailed(t, sent)[again] {
			t.Errorf("after the import %s is mailed again", again)
		}
	}
	stop()
}

// mailed are who was mailed what, of a list of messages.
func mailed(t *testing.T, list string) map[string]bool {
	t.Helper()
	var rows []messageRow
	if err := json.Unmarshal([]byte(list), &rows); err != nil {
		t.Fatal(err)
	}
	out := map[string]bool{}
	for _, m := range rows {
		out[fmt.Sprintf("%s of %s: %s", m.To, m.On, m.Kind)] = true
	}
	return out
}

// keep gives the club's organiser a passkey.
func keep(t *testing.T, s *store.Store) {
	t.Helper()
	ids, err := s.ClubIDs(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	member, err := organiserOf(t.Context(), s, ids[0])
	if err == nil {
		_, err = s.AddPasskey(t.Context(), store.Passkey{PersonID: member.PersonID, Credential: []byte("credential"), Data: json.RawMessage(`{}`), Label: "phone"})
	}
	if err != nil {
		t.Fatal(err)
	}
}

// mailedButton is the path of a button in one of the mails that came.
func mailedButton(t *testing.T, inbox *mailServer) string {
	t.Helper()
	path := regexp.MustCompile(`https://bees\.example\.org(/act/[A-Za-z0-9_.~-]+)`)
	for {
		// Lines of a mail are folded with "=" at their end, and "=" is written "=3D".
		letter := strings.ReplaceAll(inbox.next(t), "=\r\n", "")
		if m := path.FindStringSubmatch(letter); m != nil {
			return m[1]
		}
	}
}

func drain(inbox *mailServer) {
	for {
		select {
		case <-inbox.letters:
		default:
			return
		}
	}
}

func TestRestoreSaysWhatIsWrong(t *testing.T) {
	folder := t.TempDir()
	at := func(name, text string) string {
		file := filepath.Join(folder, name)
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return file
	}
	secret, other, short := at("passphrase", "seven smokers in a shed"), at("other", "eight smokers in a shed"), at("short", "smoke")
	from, to := storetest.New(t), storetest.New(t)
	club := at("club.json", string(nearClub(scheduler.NewDate(2027, 5, 1))))
	mustRun(t, "import", club, "--database-url", from)
	plain, sealed := filepath.Join(folder, "plain.backup"), filepath.Join(folder, "sealed.backup")
	mustRun(t, "backup", plain, "--database-url", from)
	mustRun(t, "backup", sealed, "--database-url", from, "--passphrase-file", secret)
	whole, err := os.ReadFile(plain)
	if err != nil {
		t.Fatal(err)
	}
	torn := at("torn.backup", string(whole[:len(whole)/2]))
	for name, c := range map[string]struct {
		args []string
		says string
	}{
		"over a file":           {[]string{"backup", plain, "--database-url", from}, "is there already, and nothing was written over it"},
		"short passphrase":      {[]string{"backup", filepath.Join(folder, "x"), "--passphrase-file", short, "--database-url", from}, "needs 12 letters or more"},
		"nobody to ask":         {[]string{"backup", filepath.Join(folder, "x"), "--encrypt", "--database-url", from}, "--passphrase-file FILE"},
		"no records":            {[]string{"backup", filepath.Join(folder, "x"), "--state-dir", filepath.Join(folder, "mistyped")}, "there are no records in " + filepath.Join(folder, "mistyped")},
		"no folder":             {[]string{"backup", filepath.Join(folder, "no", "x"), "--database-url", from}, "no such file or directory"},
		"torn":                  {[]string{"restore", torn, "--database-url", to}, "cannot be used, and nothing was changed"},
		"no backup":             {[]string{"restore", club, "--database-url", to}, "is no backup that this program knows"},
		"locked":                {[]string{"restore", sealed, "--database-url", to}, "--passphrase-file FILE"},
		"wrong passphrase":      {[]string{"restore", sealed, "--passphrase-file", other, "--database-url", to}, "this is not its passphrase"},
		"records there already": {[]string{"restore", plain, "--database-url", from}, "there are records already"},
	} {
		t.Run(name, func(t *testing.T) {
			if status, said := tryRun(t, c.args...); status != 1 || !strings.Contains(said, c.says) {
				t.Errorf("status %d, and it does not say %q:\n%s", status, c.says, said)
			}
		})
	}
	if err := backup.Empty(context.Background(), to); err != nil {
		t.Errorf("something was restored: %v", err)
	}
	if _, err := os.Stat(filepath.Join(folder, "mistyped")); err == nil {
		t.Error("a backup of nothing made a state directory")
	}
	if said := mustRun(t, "restore", plain, "--check", "--database-url", to); !strings.Contains(said, "is whole") {
		t.Error(said)
	}
	if err := backup.Empty(context.Background(), to); err != nil {
		t.Errorf("checking restored something: %v", err)
	}
	mustRun(t, "restore", sealed, "--passphrase-file", secret, "--database-url", to)
	if a, b := mustRun(t, "export", "--database-url", from), mustRun(t, "export", "--database-url", to); a != b {
		t.Error("the export is another one")
	}
}
