package faults

import (
	"context"
	"fmt"
	"os"
	"regexp"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/testdata/testrun"
)

const roundsOfOpenings = 10 // of each of two phones

// recording is two phones that write openings down.
var recording = work{during: "recording", serves: true, start: func(h *house) job {
	const club = "Recording Circle"
	h.bringIn(club, 12)
	h.start()
	rec := h.signIn("keeper01@recording-circle.example").recorder(club)
	begin := func(_ int, m *moment) (amid, done func()) {
		var phones sync.WaitGroup
		for range 2 {
			phones.Go(func() {
				for n := 0; n < roundsOfOpenings || !m.over(); n++ {
					rec.record()
				}
				rec.record()
			})
		}
		return nil, phones.Wait
	}
	return job{begin, func() { h.settle(); rec.check() }}
}}

// importing is an organiser who uploads more and more apiaries.
var importing = work{during: "import", serves: true, start: func(h *house) job {
	const club = "Importing Circle"
	h.bringIn(club, 4)
	h.start()
	k := h.signIn("keeper01@importing-circle.example")
	acked := map[string]bool{}
	// whole looks for a document that came in part.
	whole := func(name string, hives int) {
		had := 0
		c, _ := h.exported(club)
		for note := range notes(c) {
			if strings.HasPrefix(note, "first of "+name+"/") {
				had++
			}
		}
		if had != 0 && had != 3*hives {
			h.r.bad("of %d openings of an import that was cut off, %d are there", 3*hives, had)
		}
	}
	added := 0
	bring := func() {
		const hives = 8
		added++
		name := fmt.Sprintf("Added %02d", added)
		file := h.file(document(fields{"club": fields{"name": club, "members": []any{}}, "apiaries": []any{apiaryOf(name, hives)}}))
		k.again(func() (bool, error) { return k.bring(file) }, func() {
			if h.isReady() {
				whole(name, hives)
			}
		})
		for i := range hives {
			for b := range 3 {
				acked[fmt.Sprintf("first of %s/%d/%d", name, i+1, b+1)] = true
			}
		}
		h.r.ack(1)
	}
	begin := func(_ int, m *moment) (amid, done func()) {
		over := make(chan struct{})
		go func() {
			defer close(over)
			for bring(); !m.over(); bring() {
			}
		}()
		return nil, func() { <-over }
	}
	return job{begin, func() {
		h.settle()
		h.keeps(acked, h.isFresh(club))
	}}
}}

// planning is an organiser who changes the rules of a club with many apiaries.
var planning = work{during: "planning", serves: true, start: func(h *house) job {
	const club, apiaries = "Planning Circle", 60
	h.bringIn(club, apiaries)
	h.start()
	h.settle()
	want, span := "", time.Second
	begin := func(_ int, m *moment) (amid, done func()) {
		file, days := h.otherRules(club)
		held := h.owner()
		h.holding(held, m, `SELECT FROM apiary ORDER BY id DESC LIMIT 1 FOR NO KEY UPDATE`)
		h.must("rules", "apply", file, "--club", club)
		want = days
		h.r.ack(1)
		// Planned so many apiaries, or all that go without the one that is held.
		amid = func() {
			h.await("so many apiaries are planned", `
				SELECT (SELECT count(*) FROM apiary a WHERE a.planned_rules = (SELECT max(version) FROM rules)) >= $1
				    OR EXISTS (SELECT FROM pg_locks WHERE NOT granted)`, m.among(apiaries))
			m.pause(span / apiaries)
		}
		return amid, func() {
			began := time.Now()
			<-m.come
			h.settle()
			span = max(time.Since(began), apiaries)
		}
	}
	return job{begin, func() {
		if !strings.Contains(h.must("rules", "show", "--club", club), want) {
			h.r.lost++
			h.r.bad("rules that were applied do not hold: no %s", want)
		}
		h.isFresh(club)
	}}
}}

var maxDays = regexp.MustCompile(`max_days = \d+`)

// otherRules is a file with rules of a club that let boxes wait for other than
// they do now, and what it says of that.
func (h *house) otherRules(club string) (file, days string) {
	h.Helper()
	rules := withoutBase(h.must("rules", "show", "--club", club))
	days = "max_days = 380"
	if maxDays.FindString(rules) == days {
		days = "max_days = 381"
	}
	file = h.log + ".rules.toml"
	if err := os.WriteFile(file, []byte(maxDays.ReplaceAllString(rules, days)), 0o600); err != nil {
		h.Fatal(err)
	}
	return file, days
}

// withoutBase takes the comment out by which a file replaces one version only.
func withoutBase(rules string) string {
	var kept []string
	for _, l := range strings.Split(rules, "\n") {
		if !strings.HasPrefix(l, "#") {
			kept = append(kept, l)
		}
	}
	return strings.Join(kept, "\n")
}

// sending is a daemon that starts when a club has come whose members are all owed
// a mail.
var sending = work{during: "sending", serves: true, start: func(h *house) job {
	const members = 40
	kills := -1
	club := ""
	begin := func(n int, m *moment) (amid, done func()) {
		kills++
		club = fmt.Sprintf("Sending Circle %02d", n)
		h.stop()
		h.bringIn(club, members)
		h.r.ack(1)
		held := h.mails.hold(m, members)
		h.launch()
		return func() { <-held; m.pause(50 * time.Millisecond) }, func() {
			<-m.come
			testrun.Until(h, "it serves", h.isReady)
			h.await("each is owed a mail", `SELECT count(*) = $2 FROM message m JOIN club c ON c.id = m.club_id WHERE c.name = $1`, club, members)
			testrun.Until(h, "all mails are told", func() bool {
				h.bringForward()
				return h.settled()
			})
		}
	}
	return job{begin, func() {
		h.mail(kills * 4) // as many as go at once
		h.isFresh(club)
	}}
}}

// bringForward makes mails due that are to be tried again later, as if that
// time had passed.
func (h *house) bringForward() {
	h.Helper()
	ask[one[int64]](h, `UPDATE river_job SET scheduled_at = now(), state = 'available' WHERE state = 'scheduled' AND kind = 'deliver' AND scheduled_at > now() RETURNING id`)
}

// holding keeps a lock in the database until the fault has come.
func (h *house) holding(conn *pgx.Conn, m *moment, lock string) {
	h.Helper()
	tx, err := conn.Begin(h.Context())
	if err == nil {
		_, err = tx.Exec(h.Context(), lock)
	}
	if err != nil {
		h.Fatalf("%s: %v", lock, err)
	}
	go func() {
		<-m.come
		ended, cancel := context.WithTimeout(context.Background(), time.Second)
		defer cancel()
		conn.Close(ended) // PostgreSQL may be dead, or stopped
	}()
}

// await waits until a query says true.
func (h *house) await(what, sql string, args ...any) {
	h.Helper()
	conn := h.owner()
	defer conn.Close(context.Background())
	testrun.Until(h, what, func() (is bool) {
		if err := conn.QueryRow(h.Context(), sql, args...).Scan(&is); err != nil {
			h.Fatalf("%s: %v", sql, err)
		}
		return is
	})
}
