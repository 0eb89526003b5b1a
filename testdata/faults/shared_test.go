package faults

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"pryday/store/localpg"
)

// sharedRows have two daemons on one database.
func sharedRows() []row {
	return []row{{"two daemons on one database", "recording and sending", func(t *testing.T, r *result, times int) {
		ctx := context.Background()
		a := newHouse(t, r, startFrom(t))
		server := a.apart(ctx)
		if said, err := a.alone("serve", "--listen", "127.0.0.1:0"); err == nil || !strings.Contains(said, "another") {
			r.bad("a second program on the same state directory is not refused: %v, %s", err, said)
		}
		b := newHouse(t, r, "")
		b.env, b.mails = a.env, a.mails
		const first = "Shared Circle"
		a.bringIn(first, 6)
		a.start()
		k := a.signIn("keeper01@shared-circle.example")
		rec := k.recorder(first)
		other := &keeper{b, k.http} // the session is of both
		for n := range times {
			a.stop()
			b.stop()
			club := fmt.Sprintf("Shared Circle %02d", n)
			a.bringIn(club, 10)
			a.mails.next()
			began := time.Now()
			a.launch() // both decide what is owed
			b.launch()
			a.ready()
			b.ready()
			for range 10 {
				rec.record(other) // one form to both
			}
			a.settle()
			r.times++
			r.within++
			r.back(began)
			rec.check()
			a.mail(0)
			a.isFresh(club)
		}
		a.stop()
		b.stop()
		if err := server.Stop(ctx); err != nil {
			t.Error(err)
		}
	}}}
}

// apart runs the house's PostgreSQL from here, so that daemons come and go.
func (h *house) apart(ctx context.Context) *localpg.Server {
	h.Helper()
	server, err := localpg.Start(ctx, localpg.Options{StateDir: h.state})
	if err != nil {
		h.Fatal(err)
	}
	h.Cleanup(func() { server.Stop(ctx) })
	at := server.Addresses()
	h.env = append(h.env, "PRYDAY_DATABASE_URL="+at.Serving, "PRYDAY_OWNER_URL="+at.Owner)
	return server
}

// alone runs a command that has nothing but the state directory, and returns all it said.
func (h *house) alone(args ...string) (string, error) {
	cmd := h.command(args...)
	cmd.Env = nil
	out, err := cmd.CombinedOutput()
	return string(out), err
}
