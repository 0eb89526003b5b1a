package notify_test

import (
	"bytes"
	netmail "net/mail"
	"strings"
	"testing"
	"time"

	"pryday/notify/smtp/smtptest"
	"pryday/store"
	"pryday/testdata/testrun"
)

// longDead has the job engine take a daemon that was just killed for one that
// died an hour ago. Otherwise it waits for the dead one's lease of its tables to
// run out, and for its jobs to have run too long, and the test with it.
func (b *fixture) longDead(t testing.TB) {
	b.exec(t, "DELETE FROM river_leader")
	b.exec(t, "UPDATE river_job SET attempted_at = attempted_at - interval '1 hour' WHERE state = 'running'")
}

// TestKilledBetweenRecordingAndSending: what was recorded by a daemon that was
// killed before it sent anything is delivered by the next, once; with the
// times that the daemon really uses, within a minute.
func TestKilledBetweenRecordingAndSending(t *testing.T) {
	t.Parallel()
	modes := []string{"hurried"}
	if testrun.Soak() {
		modes = append(modes, "patient") // nothing helped along: takes up to a minute
	}
	for _, mode := range modes {
		t.Run(mode, func(t *testing.T) {
			b := newFixture(t)
			server := smtptest.NewSink(t)
			first := b.daemon(t, "stuck", "first.test", server.Port)
			first.expect(t, "sending")
			first.kill()
			killed := time.Now()
			owed := b.messages(t)
			if len(owed) == 0 {
				t.Fatal("the killed daemon recorded nothing")
			}
			for _, m := range owed {
				if m.State == store.Sent {
					t.Errorf("message %d is on record as sent", m.ID)
				}
			}
			if mode == "hurried" {
				b.longDead(t)
			}
			second := b.daemon(t, mode, "second.test", server.Port)
			testrun.Until(t, "the second daemon has delivered", func() bool { return b.allSent(t) })
			if took := time.Since(killed); took > time.Minute {
				t.Errorf("delivered %s after the kill", took.Round(time.Second))
			}
			second.stop(t)
			for id, n := range byMessageID(t, server) {
				if n != 1 {
					t.Errorf("%s arrived %d times", id, n)
				}
			}
			if after := b.messages(t); len(after) != len(owed) || len(server.All()) != len(sent(after)) {
				t.Errorf("%d messages recorded before, %d after; %d arrived, %d on record as sent", len(owed), len(after), len(server.All()), len(sent(after)))
			}
		})
	}
}

// TestKilledAgainAndAgain: however often the daemon is killed with signal 9 in
// the midst of delivering, every message arrives. One may arrive twice, with
// the same Message-ID, where the kill fell between the server's answer and the
// record: no more than the connections that were open.
func TestKilledAgainAndAgain(t *testing.T) {
	t.Parallel()
	kills, messages := 3, 300
	if testrun.Soak() {
		kills, messages = 20, 5000
	}
	b := newFixture(t)
	server := smtptest.NewSink(t)
	server.Pause = 2 * time.Millisecond
	owed := b.oweReminders(t, messages)
	lots := testrun.Rand(t)
	for k := range kills {
		d := b.daemon(t, "hurried", "mortal.test", server.Port)
		goal := (k+1)*messages/(kills+1) - lots.IntN(messages/(kills+1)/2+1)
		testrun.Until(t, "the daemon has delivered its share", func() bool { return len(server.All()) >= goal })
		d.kill()
		b.longDead(t)
	}
	last := b.daemon(t, "hurried", "last.test", server.Port)
	testrun.Until(t, "the last daemon has delivered the rest", func() bool { return b.allSent(t) })
	last.stop(t)

	arrived := byMessageID(t, server)
	twice := 0
	for _, m := range owed {
		n := arrived["<"+m.MessageID+"@club.test>"]
		if n == 0 {
			t.Errorf("message %d never arrived", m.ID)
		}
		twice += max(n-1, 0)
	}
	if most := kills * 4; twice > most {
		t.Errorf("%d arrived twice; %d kills with 4 connections explain at most %d", twice, kills, most)
	}
	t.Logf("%d messages, %d kills: all arrived, %d of them twice with the same Message-ID", messages, kills, twice)
}

// TestTwoDaemonsShare: two daemons on one database share the work and send
// nothing twice.
func TestTwoDaemonsShare(t *testing.T) {
	t.Parallel()
	messages := 400
	if testrun.Soak() {
		messages = 10000
	}
	b := newFixture(t)
	server := smtptest.NewSink(t)
	names := []string{"one.test", "two.test"}
	var daemons []*daemon
	for _, n := range names {
		d := b.daemon(t, "patient", n, server.Port)
		d.expect(t, "started")
		daemons = append(daemons, d)
	}
	owed := b.oweReminders(t, messages)
	testrun.Until(t, "two daemons have delivered", func() bool { return b.allSent(t) })
	for _, d := range daemons {
		d.stop(t)
	}
	arrived := byMessageID(t, server)
	for _, m := range owed {
		// Nothing may go twice, and all that the test asked for goes.
		n := arrived["<"+m.MessageID+"@club.test>"]
		if n > 1 || n == 0 && strings.HasPrefix(m.Key, "test/") {
			t.Errorf("message %d arrived %d times", m.ID, n)
		}
	}
	share := map[string]int{}
	for _, r := range server.All() {
		share[r.Helo]++
	}
	for _, n := range names {
		if share[n] < messages/20 {
			t.Errorf("%s delivered %d of %d", n, share[n], messages)
		}
	}
	t.Logf("%d messages: %v", messages, share)
}

func byMessageID(t testing.TB, s *smtptest.Sink) map[string]int {
	t.Helper()
	n := map[string]int{}
	for _, r := range s.All() {
		m, err := netmail.ReadMessage(bytes.NewReader(r.Text))
		if err != nil {
			t.Fatal(err)
		}
		n[m.Header.Get("Message-ID")]++
	}
	return n
}

func sent(all []store.Message) (out []store.Message) {
	for _, m := range all {
		if m.State == store.Sent {
			out = append(out, m)
		}
	}
	return out
}
