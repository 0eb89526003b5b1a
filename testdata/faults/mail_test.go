package faults

import (
	"fmt"
	netmail "net/mail"
	"strings"
	"testing"
	"time"

	"pryday/notify/smtp/smtptest"
	"pryday/testdata/testrun"
)

// mailRows have a mail server that does each first few deliveries wrong, and
// then what is asked of it.
func mailRows() (out []row) {
	for _, f := range []struct {
		fault, at, what string
		refused         bool // for good
		cutOff          bool // it had the mail
	}{
		{fault: "SMTP server hangs", at: "rcpt", what: "stall"},
		{fault: "SMTP server drops the connection", at: "data", what: "drop"},
		{fault: "SMTP server answers 4xx", at: "rcpt", what: "451 4.3.0 later"},
		{fault: "SMTP server answers 5xx", at: "dot", what: "554 5.6.0 not this", refused: true},
		{fault: "SMTP server is cut off after DATA", at: "dot", what: "drop", cutOff: true},
	} {
		out = append(out, row{f.fault, "sending", func(t *testing.T, r *result, times int) {
			const club = "Mailed Circle"
			h := newHouse(t, r, startFrom(t))
			server := smtptest.NewFaultyServer(t, f.at, f.what, times)
			h.mails.at = fmt.Sprintf("127.0.0.1:%d", server.Port())
			h.bringIn(club, times+5)
			r.ack(1)
			began := time.Now()
			h.launch()
			h.ready()
			r.times, r.within = times, times
			// What failed is tried again two minutes later, which need not be waited for.
			h.until(4*time.Minute, "all is owed and nothing any more", func() bool {
				counts := ask[struct{ All, Owed, Untried int }](h, `
					SELECT count(*), count(*) FILTER (WHERE state = 'owed'), count(*) FILTER (WHERE state = 'owed' AND attempts = 0) FROM message`)[0]
				if counts.All == times+5 && counts.Untried == 0 {
					h.bringForward()
				}
				return counts.All == times+5 && counts.Owed == 0
			})
			r.back(began)
			came := map[string]int{}
			for _, text := range server.Messages() {
				m, err := netmail.ReadMessage(strings.NewReader(text))
				if err != nil {
					t.Fatal(err)
				}
				id, _, _ := strings.Cut(strings.Trim(m.Header.Get("Message-ID"), "<>"), "@")
				came[id]++
			}
			refused, twice := 0, 0
			type message struct {
				ID, State, Address string
				Attempts           int
			}
			for _, m := range ask[message](h, `SELECT message_id, state, address, attempts FROM message`) {
				n := came[m.ID]
				switch {
				case m.State == "refused" && n == 0:
					refused++
				case m.State != "sent" || n == 0:
					r.lost++
					r.bad("a message to %s is %s after %d attempts, and came %d times", m.Address, m.State, m.Attempts, n)
				case n == 2 && f.cutOff && m.Attempts == 2:
					twice++
				case n > 1:
					r.doubled += n - 1
					r.bad("a message to %s came %d times", m.Address, n)
				}
			}
			r.cutOff = twice
			if f.refused && refused != times || !f.refused && refused != 0 {
				r.bad("%d messages are refused for good, of %d that were", refused, times)
			}
			if f.refused {
				r.note("%d noted as refused", refused)
			}
			if f.cutOff && twice != times {
				r.bad("%d mails came again, of %d that were cut off", twice, times)
			}
			h.isFresh(club)
			h.stop()
		}})
	}
	return out
}

// until waits longer than testrun does.
func (h *house) until(most time.Duration, what string, done func() bool) {
	h.Helper()
	for end := time.Now().Add(most); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
		if done() {
			return
		}
	}
	testrun.Until(h, what, done)
}
