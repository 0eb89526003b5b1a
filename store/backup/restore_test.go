package backup

import (
	"bytes"
	"context"
	"errors"
	"io"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/migrations"
	"pryday/store"
	"pryday/store/storetest"
)

func TestRestoreGivesTheSameRows(t *testing.T) {
	t.Parallel()
	for name, passphrase := range map[string]string{"readable": "", "encrypted": "seven smokers in a shed"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			from, to := demoDatabase(t), storetest.Empty(t)
			// A photo larger than a piece, bytes of every value, and infinite times.
			run(t, from, `INSERT INTO photo (club_id, id, box_id, opening_id, width, height, large, small)
				SELECT club_id, gen_random_uuid(), box_id, id, 10, 10, decode(repeat('00ff0a0d5c09', 99000), 'hex'), '\x5c2e'
				  FROM opening WHERE supersedes IS NULL LIMIT 1`)
			file, made := taken(t, from, passphrase)
			if err := restored(t, to, file, passphrase); err != nil {
				t.Fatal(err)
			}
			_, again := taken(t, to, "")
			same(t, again, made)
			for _, table := range []string{"photo", "opening", "visit", "secret", "calendar_link", "rules", "member"} {
				if made.table(table).Rows == 0 {
					t.Errorf("the fixture has no row of %s", table)
				}
			}
			if bytes.Contains(file, []byte("head.json")) {
				t.Error("the file is not packed")
			}
			// The service can go on from there: row security, triggers, numbers.
			s, err := store.Open(t.Context(), store.Config{URL: storetest.Serving(to), Apart: true, MaxConns: 2})
			if err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			if _, err := s.CreateClub(t.Context(), "Another"); err != nil {
				t.Error(err)
			}
			run(t, to, `DO $$ BEGIN IF EXISTS (SELECT FROM pg_trigger WHERE tgenabled = 'D') THEN RAISE 'a trigger stayed off'; END IF; END $$`)
		})
	}
}

// What is committed while the backup is written is not in it.
func TestBackupIsOfOneInstant(t *testing.T) {
	t.Parallel()
	from := demoDatabase(t)
	var once sync.Once
	var out bytes.Buffer
	m, err := Write(t.Context(), writerFunc(func(data []byte) (int, error) {
		once.Do(func() {
			run(t, from, `INSERT INTO club (name) VALUES ('Latecomers')`)
			run(t, from, `INSERT INTO person (email) VALUES ('late@example.org')`)
		})
		return out.Write(data)
	}), Source{URL: from}, night, "")
	if err != nil {
		t.Fatal(err)
	}
	_, after := taken(t, from, "")
	for _, table := range []string{"club", "person"} {
		if m.table(table).Rows != after.table(table).Rows-1 {
			t.Errorf("%s: %d rows in the backup, %d afterwards", table, m.table(table).Rows, after.table(table).Rows)
		}
	}
}

type writerFunc func([]byte) (int, error)

func (f writerFunc) Write(data []byte) (int, error) { return f(data) }

// A backup of an older schema becomes what the same database becomes when it is
// migrated itself.
func TestOlderSchemaIsMigratedForward(t *testing.T) {
	t.Parallel()
	from, to := atVersion9(t), storetest.New(t) // the target has the newest schema already
	file, made := taken(t, from, "")
	if made.Schema != 9 {
		t.Fatalf("schema %d", made.Schema)
	}
	if err := restored(t, to, file, ""); err != nil {
		t.Fatal(err)
	}
	if err := migrations.Up(t.Context(), from); err != nil {
		t.Fatal(err)
	}
	_, want := taken(t, from, "")
	_, got := taken(t, to, "")
	if got.Schema != migrations.Latest() {
		t.Errorf("schema %d", got.Schema)
	}
	lots := []string{"audit", "audit_chain"} // salted by chance
	for _, w := range want.Tables {
		if g := got.table(w.Name); g == nil || g.Rows != w.Rows || g.SHA256 != w.SHA256 && !slices.Contains(lots, w.Name) {
			t.Errorf("%s: got %+v, want %+v", w.Name, g, w)
		}
	}
}

func TestRestoreRefuses(t *testing.T) {
	t.Parallel()
	from := demoDatabase(t)
	file, _ := taken(t, from, "")
	for _, c := range []struct {
		name    string
		prepare string
		want    error
		says    string
	}{
		{"a club", `INSERT INTO club (name) VALUES ('Here before')`, ErrNotEmpty, "1 clubs"},
		{"a person", `INSERT INTO person (email) VALUES ('here@example.org')`, ErrNotEmpty, "1 people"},
		{"what a service without clubs wrote", `INSERT INTO secret (name, value) VALUES ('action', repeat('x', 32)::bytea)`, nil, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			to := storetest.New(t)
			run(t, to, c.prepare)
			_, before := taken(t, to, "")
			err := restored(t, to, file, "")
			if !errors.Is(err, c.want) || err != nil && !strings.Contains(err.Error(), c.says) {
				t.Fatalf("got %v, want %v", err, c.want)
			}
			if _, after := taken(t, to, ""); c.want != nil {
				if after.table("club").SHA256 != before.table("club").SHA256 || after.table("person").SHA256 != before.table("person").SHA256 {
					t.Error("the database was touched")
				}
			}
		})
	}
	t.Run("somebody else's tables", func(t *testing.T) {
		t.Parallel()
		to := storetest.Empty(t)
		run(t, to, `CREATE TABLE ledger (entry text)`)
		if err := restored(t, to, file, ""); !errors.Is(err, ErrNotEmpty) || !strings.Contains(err.Error(), "ledger") {
			t.Error(err)
		}
	})
	t.Run("a service that is connected", func(t *testing.T) {
		t.Parallel()
		to := storetest.New(t)
		conn, err := pgx.Connect(t.Context(), to)
		if err != nil {
			t.Fatal(err)
		}
		err = restored(t, to, file, "")
		conn.Close(context.Background())
		if !errors.Is(err, ErrBusy) {
			t.Error(err)
		}
	})
	t.Run("a service that is about to be gone", func(t *testing.T) {
		t.Parallel()
		to := storetest.New(t)
		conn, err := pgx.Connect(t.Context(), to)
		if err != nil {
			t.Fatal(err)
		}
		gone := make(chan error, 1)
		time.AfterFunc(leaveTime/10, func() { gone <- conn.Close(context.Background()) })
		if err := Empty(t.Context(), to); err != nil {
			t.Error(err)
		}
		if err := <-gone; err != nil {
			t.Error(err)
		}
	})
	t.Run("a newer schema", func(t *testing.T) {
		t.Parallel()
		future, to := storetest.New(t), storetest.Empty(t)
		run(t, future, `INSERT INTO goose_db_version (version_id, is_applied) VALUES (99999, true)`)
		file, _ := taken(t, future, "")
		if err := restored(t, to, file, ""); !errors.Is(err, ErrNewer) || !strings.Contains(err.Error(), "99999") {
			t.Error(err)
		}
		untouched(t, to)
	})
	t.Run("a newer form", func(t *testing.T) {
		t.Parallel()
		m := Manifest{Format: Format + 1, Schema: 1}
		if err := m.readable(1); !errors.Is(err, ErrNewer) {
			t.Error(err)
		}
	})
}

// When the rows that were written are not those of the backup, none stay.
func TestRestoreIsProved(t *testing.T) {
	t.Parallel()
	from := demoDatabase(t)
	file, _ := taken(t, from, "")
	for name, spoil := range map[string]func(m *Manifest){
		"other bytes":  func(m *Manifest) { m.table("opening").SHA256 = m.table("box").SHA256 },
		"a row more":   func(m *Manifest) { m.table("opening").Rows++ },
		"a lost table": func(m *Manifest) { m.Tables[len(m.Tables)-1].Name = "lost" },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			to := storetest.New(t)
			m, err := Check(bytes.NewReader(file), migrations.Latest(), "")
			if err != nil {
				t.Fatal(err)
			}
			spoil(m)
			a, err := newArchiveReader(bytes.NewReader(file), "")
			if err == nil {
				err = a.json("head.json", new(Manifest))
			}
			if err != nil {
				t.Fatal(err)
			}
			if err := load(t.Context(), to, a, m); !errors.Is(err, ErrMismatch) {
				t.Errorf("got %v", err)
			}
			untouched(t, to)
		})
	}
}

func TestTornAndLocked(t *testing.T) {
	t.Parallel()
	from, to := demoDatabase(t), storetest.Empty(t)
	const passphrase = "seven smokers in a shed"
	plain, _ := taken(t, from, "")
	sealed, _ := taken(t, from, passphrase)
	check := func(what string, file []byte, passphrase string, want error) {
		t.Helper()
		if _, err := Check(bytes.NewReader(file), migrations.Latest(), passphrase); !errors.Is(err, want) {
			t.Errorf("%s: got %v, want %v", what, err, want)
		}
	}
	check("whole", plain, "", nil)
	check("a passphrase too many", plain, passphrase, nil)
	for i := range 12 {
		at := len(plain) * i / 12
		check("cut short", plain[:at], "", ErrTorn)
		flipped := bytes.Clone(plain)
		flipped[max(at, 10)] ^= 0x10 // behind gzip's head, which has idle bits
		check("a bit flipped", flipped, "", ErrTorn)
	}
	for _, lost := range []int{1, 4, 8, 100} {
		check("its end is lost", plain[:len(plain)-lost], "", ErrTorn)
	}
	check("something after its end", append(bytes.Clone(plain), "and more"...), "", ErrTorn)
	check("empty", nil, "", ErrTorn)
	check("another file", []byte("BEGIN:VCALENDAR\r\n"), "", ErrNotBackup)
	check("no passphrase", sealed, "", ErrLocked)
	check("wrong passphrase", sealed, "six smokers in a shed", ErrPassphrase)
	check("encrypted, cut short", sealed[:len(sealed)/2], passphrase, ErrTorn)
	check("encrypted, cut at once", sealed[:30], passphrase, ErrTorn)
	flipped := bytes.Clone(sealed)
	flipped[len(flipped)/2] ^= 1
	check("encrypted, a bit flipped", flipped, passphrase, ErrTorn)
	if _, err := Restore(t.Context(), to, bytes.NewReader(plain[:len(plain)/2]), ""); !errors.Is(err, ErrTorn) {
		t.Error(err)
	}
	untouched(t, to)
}

// Anybody can open a backup without this program.
func TestPiecesAreTheRowsOfATable(t *testing.T) {
	t.Parallel()
	file, m := taken(t, demoDatabase(t), "")
	a, err := newArchiveReader(bytes.NewReader(file), "")
	if err == nil {
		err = a.json("head.json", new(Manifest))
	}
	if err != nil {
		t.Fatal(err)
	}
	for {
		name, err := a.table()
		if err != nil {
			t.Fatal(err)
		}
		if name == "" {
			break
		}
		text, err := io.ReadAll(&rows{of: a, name: name})
		if err != nil {
			t.Fatal(err)
		}
		if lines := int64(bytes.Count(text, []byte("\n"))); lines != m.table(name).Rows {
			t.Errorf("%s: %d lines for %d rows", name, lines, m.table(name).Rows)
		}
	}
}
