package faults

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/store/localpg"
	"pryday/testdata/testrun"
)

// scarceRows take away what the service lives on.
func scarceRows() []row {
	return []row{
		{"disk full", "recording", func(t *testing.T, r *result, times int) {
			if os.Getuid() != 0 {
				r.skipped = "it takes root to mount a small disk"
				return
			}
			scarce(t, r, times, onSmallDisk(t), func(h *house) (giveBack func()) {
				// On a full disk nobody gets a connection any more.
				conn := h.connect("postgres")
				filler := filepath.Join(h.files(), "filler")
				f, err := os.Create(filler)
				if err != nil {
					h.Fatal(err)
				}
				defer f.Close()
				io.Copy(f, zeros{}) // until there is no room
				// PostgreSQL has a log to write on in already; the next one needs room.
				conn.Exec(h.Context(), `SELECT pg_switch_wal(), pg_logical_emit_message(false, 'faults', 'next')`) // which may end it
				conn.Close(h.Context())
				return func() { os.Remove(filler) }
			})
		}},
		{"connections used up", "recording", func(t *testing.T, r *result, times int) {
			scarce(t, r, times, newHouse(t, r, startFrom(t)), useUp)
		}},
	}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// scarce takes something away, has openings written down, and gives it back.
func scarce(t *testing.T, r *result, times int, h *house, take func(*house) (giveBack func())) {
	h.r = r
	j := recording.start(h)
	span, lots := h.unharmed(j), testrun.Rand(t)
	for n := range times {
		h.amid(n+1, recording, j, lots, span, func(*moment) {
			giveBack := take(h)
			time.Sleep(5 * time.Second) // so long it is away
			giveBack()
		})
	}
	h.stop()
}

// useUp takes every connection that the server gives, also those that the
// daemon has.
func useUp(h *house) (giveBack func()) {
	ctx := context.Background()
	owner := h.owner()
	var held []*pgx.Conn
	for refused := 0; refused < 20; {
		c, err := pgx.Connect(ctx, h.urlOf(localpg.OwnerRole))
		if err == nil {
			held = append(held, c)
			continue
		}
		refused++
		// The serving role's own: whoever is cut off finds no other.
		if _, err := owner.Exec(ctx, `SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = 'pryday_app'`); err != nil {
			h.r.note("the owner could not cut the daemon's connections: %v", err)
			break
		}
	}
	h.r.note("%d connections taken", len(held))
	return sync.OnceFunc(func() {
		for _, c := range held {
			c.Close(ctx)
		}
		owner.Close(ctx)
	})
}

// onSmallDisk is a house in a mount namespace of its own, on a disk of memory.
func onSmallDisk(t *testing.T) *house {
	t.Helper()
	h := newHouse(t, &result{}, "")
	small := filepath.Join(filepath.Dir(h.log), "small")
	if err := os.Mkdir(small, 0o711); err != nil {
		t.Fatal(err)
	}
	holder := exec.Command("unshare", "-m", "--propagation", "private", "sh", "-c",
		fmt.Sprintf("mount -t tmpfs -o size=420m,mode=711 tmpfs %s && echo mounted && exec sleep 100000", small))
	out, err := holder.StdoutPipe()
	if err == nil {
		err = holder.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	// Last of all: the house's own clean-up comes before, since it was put in later.
	pid := holder.Process.Pid
	t.Cleanup(func() { h.end(); holder.Process.Kill(); holder.Wait() })
	if n, err := out.Read(make([]byte, 8)); err != nil || n == 0 {
		t.Fatalf("no small disk can be mounted: %v", err)
	}
	h.within = []string{"nsenter", "-t", fmt.Sprint(pid), "-m"}
	h.state = filepath.Join(small, "state")
	h.seen = filepath.Join("/proc", fmt.Sprint(pid), "root", h.state)
	return h
}
