package store

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store/storetest"
)

func TestOtherClubIsInvisible(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	mine, other := importSample(t, s), importSample(t, s)

	t.Run("a connection forgets the club", func(t *testing.T) {
		var club string
		err := s.pool.QueryRow(ctx, `SELECT coalesce(current_setting('pryday.club', true), '')`).Scan(&club)
		if err != nil || club != "" {
			t.Errorf("club %q left on the connection: %v", club, err)
		}
	})

	theirs := readClub(t, s, other)
	hive, box := theirs.Apiaries[0].Hives[0].ID, theirs.Apiaries[0].Hives[0].Boxes[0]
	attempts := []struct {
		name string
		do   func(*Tx) error
		want error
	}{
		{"read a visit", func(tx *Tx) error { _, err := tx.Visit(ctx, theirs.Visits[0].ID); return err }, ErrNotFound},
		{"move a visit", func(tx *Tx) error {
			_, err := tx.MoveVisit(ctx, theirs.Visits[0].ID, theirs.Visits[0].Sequence, today+5, today)
			return err
		}, ErrNotFound},
		{"replan an apiary", func(tx *Tx) error { _, err := tx.Replan(ctx, theirs.Apiaries[0].ID, today); return err }, ErrNotFound},
		{"record an opening", func(tx *Tx) error {
			_, err := tx.RecordOpening(ctx, box.ID, scheduler.Opening{On: today, Joint: scheduler.Firm}, today)
			return err
		}, ErrNotFound},
		{"add a hive", func(tx *Tx) error {
			_, err := tx.AddHive(ctx, theirs.Apiaries[0].ID, scheduler.Hive{Name: "Cuckoo"})
			return err
		}, ErrNotFound},
		{"remove a member", func(tx *Tx) error { return tx.RemoveMember(ctx, theirs.Members[1].ID) }, ErrNotFound},
		{"a link on their apiary", func(tx *Tx) error {
			members, err := tx.Members(ctx)
			if err != nil {
				return err
			}
			_, _, err = tx.CreateLink(ctx, ApiaryLink, members[0].ID, theirs.Apiaries[0].ID, LinkOptions{})
			return err
		}, ErrNotFound},
	}
	for _, a := range attempts {
		t.Run(a.name, func(t *testing.T) {
			if err := s.InClub(ctx, mine, a.do); !errors.Is(err, a.want) {
				t.Errorf("got %v, want %v", err, a.want)
			}
		})
	}
	t.Run("rows cannot point across", func(t *testing.T) {
		statements := map[string]string{
			foreignKeyViolation: fmt.Sprintf(`INSERT INTO box (club_id, name, kind, set_up_on, hive_id, position)
				VALUES (%d, 'X', 'deep', '2027-01-01', %d, 9)`, mine, hive),
			"42501": fmt.Sprintf(`INSERT INTO box (club_id, name, kind, set_up_on) VALUES (%d, 'X', 'deep', '2027-01-01')`, other),
		}
		for want, sql := range statements {
			err := s.InClub(ctx, mine, func(tx *Tx) error { _, err := tx.tx.Exec(ctx, sql); return err })
			if code(err) != want {
				t.Errorf("%s: %v, want SQLSTATE %s", sql, err, want)
			}
		}
	})
	t.Run("records are only added to", func(t *testing.T) {
		for _, sql := range []string{`UPDATE opening SET joint = 0`, `DELETE FROM opening`, `DELETE FROM audit`, `UPDATE rules SET version = 9`, `TRUNCATE box CASCADE`} {
			err := s.InClub(ctx, mine, func(tx *Tx) error { _, err := tx.tx.Exec(ctx, sql); return err })
			if code(err) != "42501" { // insufficient privilege
				t.Errorf("%s: %v", sql, err)
			}
		}
	})
	if got := readClub(t, s, other); len(got.Visits) != len(theirs.Visits) || len(got.Members) != len(theirs.Members) {
		t.Error("the other club changed")
	}
}

func TestDeleteClub(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	gone, stays := importSample(t, s), importSample(t, s)
	inClub(t, s, gone, func(tx *Tx) error {
		members, err := tx.Members(ctx)
		if err != nil {
			return err
		}
		if _, _, err := tx.CreateLink(ctx, ClubLink, members[0].ID, 0, LinkOptions{Label: "wall"}); err != nil {
			return err
		}
		// What a member leaves behind goes with the club too.
		if _, _, err := tx.CreateLink(ctx, MemberLink, members[1].ID, 0, LinkOptions{}); err != nil {
			return err
		}
		if err := tx.RemoveMember(ctx, members[1].ID); err != nil {
			return err
		}
		if err := tx.Audit(ctx, AuditEntry{MemberID: members[0].ID, Action: "make link", Subject: "wall"}); err != nil {
			return err
		}
		_, err = tx.Owe(ctx, []owed.Message{{Key: "k", Kind: scheduler.DayMessage, MemberID: members[0].ID, On: today}}, sometime)
		return err
	})
	before := readClub(t, s, stays)
	listener, err := s.Listen(ctx, FeedChannel)
	if err != nil {
		t.Fatal(err)
	}
	defer listener.Close(ctx)
	if err := s.DeleteClub(ctx, gone); err != nil {
		t.Fatal(err)
	}
	wait, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	if n, err := listener.WaitForNotification(wait); err != nil || !strings.HasPrefix(n.Payload, fmt.Sprintf("%d ", gone)) {
		t.Errorf("calendars hear %+v of it: %v", n, err)
	}
	ids, err := s.ClubIDs(ctx)
	if err != nil || !slices.Equal(ids, []int64{stays}) {
		t.Errorf("clubs %v: %v", ids, err)
	}
	owner, err := pgx.Connect(ctx, storetest.Owner(s.cfg.URL))
	if err != nil {
		t.Fatal(err)
	}
	defer owner.Close(ctx)
	tables, err := owner.Query(ctx, `SELECT table_name::text FROM information_schema.columns WHERE table_schema = 'public' AND column_name = 'club_id'`)
	if err != nil {
		t.Fatal(err)
	}
	names, err := pgx.CollectRows(tables, pgx.RowTo[string])
	if err != nil || len(names) < 20 {
		t.Fatalf("tables of clubs: %v: %v", names, err)
	}
	for _, table := range names {
		var n int
		if err := owner.QueryRow(ctx, `SELECT count(*) FROM `+table+` WHERE club_id = $1`, gone).Scan(&n); err != nil || n != 0 {
			t.Errorf("%d rows of the deleted club in %s: %v", n, table, err)
		}
	}
	if after := readClub(t, s, stays); len(after.Visits) != len(before.Visits) {
		t.Error("the other club changed")
	}
	if err := s.DeleteClub(ctx, gone); !errors.Is(err, ErrNotFound) {
		t.Errorf("deleting it again: %v", err)
	}
}

func TestOpenRefuses(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	exec := func(t *testing.T, url, sql string) {
		t.Helper()
		conn, err := pgx.Connect(ctx, url)
		if err == nil {
			defer conn.Close(ctx)
			_, err = conn.Exec(ctx, sql)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	tests := []struct {
		name string
		url  func(testing.TB) string
		sql  string
		want error
	}{
		{"an empty database", storetest.Empty, `SELECT 1`, ErrSchemaOlder},
		{"a schema older than the program", storetest.New, `DELETE FROM goose_db_version WHERE version_id = (SELECT max(version_id) FROM goose_db_version)`, ErrSchemaOlder},
		{"a schema newer than the program", storetest.New, `INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, true);
			CREATE OR REPLACE FUNCTION served_since() RETURNS bigint LANGUAGE sql IMMUTABLE AS 'SELECT 9999::bigint'`, ErrSchemaNewer},
		{"a role that policies do not bind", storetest.New, `ALTER TABLE box DISABLE ROW LEVEL SECURITY`, ErrUnguarded},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			url := test.url(t)
			exec(t, url, test.sql)
			s, err := Open(ctx, Config{URL: storetest.Serving(url), Apart: true})
			if err == nil {
				s.Close()
			}
			if !errors.Is(err, test.want) {
				t.Errorf("got %v, want %v", err, test.want)
			}
		})
	}
	t.Run("no database at all", func(t *testing.T) {
		_, err := Open(ctx, Config{URL: "host=/nowhere dbname=none"})
		if err == nil || !strings.Contains(err.Error(), "database") {
			t.Errorf("got %v", err)
		}
	})
}
