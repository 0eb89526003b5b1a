package fleet

import (
	"bytes"
	"fmt"
	"net/http"
	netmail "net/mail"
	"strings"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/testdata/testrun"
)

const (
	fleetClubs = 120
	moreMails  = 300
	underWay   = 4 // mails of one daemon at a time, any of which a kill may leave unrecorded
)

const (
	countPlanned = `SELECT count(DISTINCT club_id) FROM apiary WHERE planned_on IS NOT NULL`
	countBehind  = `SELECT count(*) FROM apiary WHERE planned_on IS NULL`
	countOwed    = `SELECT count(*) FROM message WHERE state = 'owed'`
)

// TestFleet: three daemons share a night and its mail; one is killed amid the
// night, one amid sending, the primary is lost and the replica promoted. Every
// message arrives; only what was under way at a death may arrive again, and that with
// the same Message-ID.
func TestFleet(t *testing.T) {
	if !testrun.Soak() {
		t.Log("a small fleet that nobody kills; PRYDAY_SOAK=1 for the deaths")
	}
	deaths, clubs := testrun.Soak(), 6
	if deaths {
		clubs = fleetClubs
	}
	program := build(t)
	primary := newPrimary(t)
	all := found(t, primary, clubs, func(*scheduler.Club) {})
	replica := primary.follow()
	var fleet []*daemon
	for i := range 3 {
		d := newDaemon(t, fmt.Sprint("daemon ", i+1), program,
			"PRYDAY_DATABASE_URL="+primary.url("pryday_app", "pryday", replica), "PRYDAY_REPLICA_URL="+replica.url("pryday_app", "pryday"))
		fleet = append(fleet, d)
	}
	var table []string
	row := func(what, format string, args ...any) {
		table = append(table, fmt.Sprintf("| %s | %s |", what, fmt.Sprintf(format, args...)))
	}
	killed := 0
	for _, d := range fleet {
		d.start()
	}
	begun := time.Now()
	if deaths {
		testrun.Until(t, "a part of the night is planned", func() bool { return primary.count(countPlanned) >= clubs/4 })
		fleet[0].kill()
		killed++
		row("killed amid the night", "%d of %d clubs planned", primary.count(countPlanned), clubs)
		testrun.Until(t, "mail is sent", func() bool { return arrived(fleet) >= clubs/4 })
		fleet[1].kill()
		killed++
		row("killed amid sending", "%d mails had arrived, %d were owed", arrived(fleet), primary.count(countOwed))
		fleet[0].start()
		fleet[1].start()
	}
	testrun.Until(t, "the night is planned", func() bool { return primary.count(countBehind) == 0 })
	row("the night, with its deaths", "%s", time.Since(begun).Round(100*time.Millisecond))
	testrun.Until(t, "all mail is sent", func() bool {
		return primary.count(countOwed) == 0 && primary.count(`SELECT count(*) FROM river_job WHERE state IN ('available', 'running', 'retryable')`) == 0
	})
	row("and its mail", "%s", time.Since(begun).Round(100*time.Millisecond))
	messages := primary.count(`SELECT count(*) FROM message WHERE state = 'sent'`)
	if messages < clubs {
		t.Errorf("%d clubs mailed %d messages", clubs, messages)
	}
	check(t, fleet, messages, killed*underWay, row)
	for _, d := range fleet {
		row(d.name, "planned %d times, sent %d mails", d.planned(), len(d.mail.All()))
		if deaths && (d.planned() == 0 || len(d.mail.All()) == 0) {
			t.Errorf("%s did nothing", d.name)
		}
	}

	// Calendars and the reads that may lag.
	kept := map[string]string{}
	for _, c := range all[:min(5, len(all))] {
		for _, d := range fleet {
			status, body := d.get(c.calendar)
			if status != http.StatusOK || !strings.Contains(body, "BEGIN:VEVENT") {
				t.Fatalf("%s: a calendar is %d\n%.300s", d.name, status, body)
			}
			if before, ok := kept[c.calendar]; ok && body != before {
				t.Errorf("%s shows another calendar than the one before it", d.name)
			}
			kept[c.calendar] = body
		}
	}
	reads := 0
	for _, d := range fleet {
		_, text := d.get("/metrics")
		var n int
		if _, found, ok := strings.Cut(text, "\npryday_snapshots_total{server=\"replica\"} "); ok {
			fmt.Sscan(found, &n)
		}
		reads += n
	}
	if reads == 0 {
		t.Error("nothing was read from the replica")
	}
	row("snapshots from the replica", "%d", reads)
	if deaths {
		st := open(t, primary.url("pryday_app", "pryday"))
		owe(t, st, all[0], moreMails)
		st.Close()
		before := arrived(fleet)
		testrun.Until(t, "more mail is sent", func() bool { return arrived(fleet) >= before+moreMails/4 })
		primary.crash()
		lost := time.Now()
		for path, body := range kept {
			for _, d := range fleet {
				if status, got := d.get(path); status != http.StatusOK || got != body {
					t.Errorf("%s: without a primary a calendar is %d, the same %t", d.name, status, got == body)
				}
			}
		}
		row("calendars without a primary", "%d, as they were, from memory", len(kept)*len(fleet))
		var promoted bool
		if err := replica.query(`SELECT pg_promote(true, 30)`, &promoted); err != nil || !promoted {
			t.Fatalf("promoted %t: %v", promoted, err)
		}
		since := time.Now()
		for _, d := range fleet {
			testrun.Until(t, d.name+" has its pages back", func() bool {
				status, _ := d.get("/sign-in/abcdef") // which the database is asked for
				ready, _ := d.get("/readyz")
				return status == http.StatusGone && ready == http.StatusOK
			})
			row(d.name+": pages back", "%s after the promotion, %s after the loss", time.Since(since).Round(100*time.Millisecond), time.Since(lost).Round(100*time.Millisecond))
		}
		testrun.Until(t, "the rest is sent", func() bool { return replica.count(countOwed) == 0 })
		messages = replica.count(`SELECT count(*) FROM message WHERE state = 'sent'`)
		row("the rest of the mail", "%s after the promotion", time.Since(since).Round(100*time.Millisecond))
		check(t, fleet, messages, (killed+len(fleet))*underWay, row)
		for path, body := range kept {
			if status, got := fleet[0].get(path); status != http.StatusOK || events(got) != events(body) {
				t.Errorf("after the promotion a calendar is %d, with %d entries, want %d", status, events(got), events(body))
			}
		}
	}
	for _, d := range fleet {
		d.stop()
	}
	t.Log("\n| what | |\n| --- | --- |\n" + strings.Join(table, "\n"))
}

func arrived(fleet []*daemon) (n int) {
	for _, d := range fleet {
		n += len(d.mail.All())
	}
	return n
}

func events(calendar string) int { return strings.Count(calendar, "BEGIN:VEVENT") }

// check holds what arrived against what is on record as sent: all of it, and again
// no more than deaths explain.
func check(t *testing.T, fleet []*daemon, messages, explained int, row func(what, format string, args ...any)) {
	t.Helper()
	byID := map[string]int{}
	for _, d := range fleet {
		for _, r := range d.mail.All() {
			m, err := netmail.ReadMessage(bytes.NewReader(r.Text))
			if err != nil {
				t.Fatal(err)
			}
			byID[m.Header.Get("Message-ID")]++
		}
	}
	again := 0
	for _, n := range byID {
		again += n - 1
	}
	row("mails", "%d on record as sent, %d arrived, %d of them again with the same Message-ID", messages, len(byID), again)
	if len(byID) != messages {
		t.Errorf("%d messages are on record as sent, %d arrived", messages, len(byID))
	}
	if again > explained {
		t.Errorf("%d arrived again; the deaths explain at most %d", again, explained)
	}
}
