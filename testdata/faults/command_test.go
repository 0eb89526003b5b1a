package faults

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"pryday/migrations"
	"pryday/store/localpg"
	"pryday/testdata/testrun"
)

var oldClubs = []string{"Old Circle", "Older Circle"}

// migrating is a daemon that finds the schema of an early release.
var migrating = work{during: "migration", serves: true, mayEnd: true, start: func(h *house) job {
	old, err := early()
	if err != nil {
		h.Fatal(err)
	}
	var export, plan []string // of a migration that nothing disturbed
	begin := func(_ int, m *moment) (amid, done func()) {
		h.stop()
		h.end()
		h.copyFrom(old)
		h.launch()
		return func() { h.holdMigration(m) }, func() {
			<-m.come
			testrun.Until(h, "it serves", h.isReady) // amid starts it anew where it ended
			h.settle()
		}
	}
	return job{begin, func() {
		var e, p []string
		for _, c := range oldClubs {
			h.isFresh(c)
			text, err := os.ReadFile(h.exportFile())
			if err != nil {
				h.Fatal(err)
			}
			e, p = append(e, withoutTimes(string(text))), append(p, h.stored(c)...)
		}
		if export == nil {
			export, plan = e, p
			return
		}
		h.r.ack(1)
		for i := range oldClubs {
			if e[i] != export[i] {
				h.r.lost++
				h.r.bad("after the migration the export of %s is another one", oldClubs[i])
			}
		}
		if d := differences(plan, p); len(d) > 0 {
			h.r.fresh = false
			h.r.bad("after the migration the plan is another one: %q", d)
		}
	}}
}}

// holdMigration waits until the schema is at a version drawn by lot, and then keeps
// the next version from being noted until the fault has come: it comes while
// that one is made, or when it is made and not yet noted.
func (h *house) holdMigration(m *moment) {
	h.Helper()
	conn := h.owner()
	at := oldSchema + int64(m.among(int(migrations.Latest()-oldSchema)))
	testrun.Until(h, "the schema is at the version that was drawn", func() bool {
		var is int64
		if err := conn.QueryRow(h.Context(), `SELECT max(version_id) FROM goose_db_version WHERE is_applied`).Scan(&is); err != nil {
			h.Fatal(err)
		}
		return is >= at
	})
	h.holding(conn, m, `LOCK TABLE goose_db_version IN SHARE MODE`)
	m.pause(300 * time.Millisecond)
}

// withoutTimes leaves out of an export what is drawn by lot.
func withoutTimes(export string) string {
	var kept []string
	for _, l := range strings.Split(export, "\n") {
		if !strings.Contains(l, `"uid"`) {
			kept = append(kept, l)
		}
	}
	return strings.Join(kept, "\n")
}

// oldSchema is a version of the schema from which a dozen migrations lead to the newest.
const oldSchema = 29

// early is the state directory of such a release, with records.
var early = sync.OnceValues(func() (string, error) {
	file, err := program()
	if err != nil {
		return "", err
	}
	dir, err := shared()
	if err != nil {
		return "", err
	}
	ctx, state := context.Background(), filepath.Join(dir, "early")
	for i, club := range oldClubs {
		document := filepath.Join(dir, fmt.Sprintf("%d.json", i))
		if err := os.WriteFile(document, clubOf(club, 20), 0o600); err != nil {
			return "", err
		}
		if err := building(exec.Command(file, "import", document, "--state-dir", state)); err != nil {
			return "", err
		}
	}
	server, err := localpg.Start(ctx, localpg.Options{StateDir: state})
	if err != nil {
		return "", err
	}
	defer server.Stop(ctx)
	return state, migrations.Down(ctx, server.URL(), oldSchema)
})

// backingUp is the command while nothing serves; what it writes is restored in the end.
var backingUp = work{during: "backup", start: func(h *house) job {
	const club = "Keeping Circle"
	h.bringIn(club, 120)
	want := h.must("export", "--club", club)
	folder := filepath.Join(filepath.Dir(h.log), "backups")
	if err := os.Mkdir(folder, 0o700); err != nil {
		h.Fatal(err)
	}
	file, made := "", 0
	another := func() { made++; file = filepath.Join(folder, fmt.Sprintf("%d.backup", made)) }
	begin := func(n int, m *moment) (amid, done func()) {
		another()
		through := h.repeat(func(success bool) bool {
			_, err := os.Stat(file)
			switch {
			case err != nil && success:
				h.r.lost++
				h.r.bad("a backup was acknowledged and is not there")
			case err == nil:
				if _, err := h.try("restore", "--check", file); err != nil {
					h.r.bad("there is half a backup: %v", err)
				}
				if !success {
					os.Remove(file) // whole, and not acknowledged: its name is taken
				}
			}
			over := m.over()
			if success && !over {
				another()
			}
			return success && over
		}, func() []string { return []string{"backup", file} }) // after a kill once more to the same name, which takes away what was left
		return nil, func() { through(); h.r.ack(1) }
	}
	next := newHouse(h.T, h.r, "")
	return job{begin, func() {
		if left, _ := filepath.Glob(filepath.Join(folder, "*.part*")); len(left) > 0 {
			h.r.bad("left behind: %v", left)
		}
		next.end()
		next.copyFrom("")
		next.must("restore", file)
		if next.must("export", "--club", club) != want {
			h.r.lost++
			h.r.bad("what is restored is another export")
		}
		next.isFresh(club)
	}}
}}

// restoring is the command on a fresh state directory.
var restoring = work{during: "restore", start: func(h *house) job {
	const club = "Restored Circle"
	from := newHouse(h.T, h.r, startFrom(h.T))
	from.bringIn(club, 120)
	want, file := from.must("export", "--club", club), filepath.Join(filepath.Dir(h.log), "whole.backup")
	from.must("backup", file)
	begin := func(_ int, m *moment) (amid, done func()) {
		h.end()
		h.copyFrom("")
		through := h.repeat(func(success bool) bool {
			if !success { // it may be whole all the same, which check sees
				has, err := h.try("club", "list")
				success = err == nil && strings.Contains(has, club)
			}
			if success && !m.over() { // once more, anew
				h.end()
				h.copyFrom("")
			}
			return success && m.over()
		}, func() []string { return []string{"restore", file} })
		return nil, func() { through(); h.r.ack(1) }
	}
	return job{begin, func() {
		if h.must("export", "--club", club) != want {
			h.r.lost++
			h.r.bad("what is restored is another export")
		}
		h.isFresh(club)
	}}
}}
