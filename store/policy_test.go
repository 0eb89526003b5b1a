package store

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pryday/migrations"
	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store/storetest"
)

// withoutPolicy are the tables that belong to no club, and why.
var withoutPolicy = map[string]string{
	"person":             "may belong to several clubs",
	"passkey":            "belongs to a person",
	"sign_in":            "belongs to a person",
	"sign_in_token":      "belongs to a person",
	"address_change":     "belongs to a person",
	"sessions":           "begin before a club is known",
	"mailbox":            "may hold mail for several clubs",
	"secret":             "belongs to the installation",
	"goose_db_version":   "tells the schema's version",
	"river_client":       "the job engine's",
	"river_client_queue": "the job engine's",
	"river_job":          "the job engine's",
	"river_leader":       "the job engine's",
	"river_migration":    "the job engine's",
	"river_notification": "the job engine's",
	"river_queue":        "the job engine's",
}

func TestEveryClubTableHasAPolicy(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	rows, err := s.pool.Query(ctx, `
		SELECT c.relname, c.relrowsecurity AND EXISTS (SELECT FROM pg_policy p WHERE p.polrelid = c.oid),
		       has_table_privilege('pryday_app', c.oid, 'TRUNCATE')
		  FROM pg_class c WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p') ORDER BY 1`)
	if err != nil {
		t.Fatal(err)
	}
	var name string
	var guarded, truncate bool
	seen := 0
	_, err = pgx.ForEachRow(rows, []any{&name, &guarded, &truncate}, func() error {
		seen++
		if _, open := withoutPolicy[name]; open == guarded {
			t.Errorf("table %s: policy %t, and in the list of those without %t", name, guarded, open)
		}
		if truncate {
			t.Errorf("the serving role may truncate %s", name)
		}
		return nil
	})
	if err != nil || seen < 30 {
		t.Errorf("looked at %d tables: %v", seen, err)
	}
}

// importWhole makes a club with a row in every table of clubs.
func importWhole(t *testing.T, s *Store) int64 {
	t.Helper()
	ctx, club := context.Background(), importSample(t, s)
	inClub(t, s, club, func(tx *Tx) error {
		members, err := tx.Members(ctx)
		if err != nil {
			return err
		}
		member := members[0].ID
		visits, err := tx.Visits(ctx, VisitFilter{})
		if err != nil {
			return err
		}
		first := visits[slices.IndexFunc(visits, func(v VisitRecord) bool { return len(v.Boxes) > 0 })]
		if _, err := tx.LeaveBoxOut(ctx, first.ID, first.Sequence, first.Boxes[0].BoxID, true, today); err != nil {
			return err
		}
		link, _, err := tx.CreateLink(ctx, ClubLink, member, 0, LinkOptions{Label: "wall"})
		if err != nil {
			return err
		}
		if err := tx.Show(ctx, link.ID, 1, []ShownEntry{{VisitID: first.ID, ChangedAt: sometime}}); err != nil {
			return err
		}
		opened := scheduler.Opening{On: today, Joint: scheduler.Firm, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedAll}
		if _, err := tx.RecordOpening(ctx, first.Boxes[0].BoxID, opened, today); err != nil {
			return err
		}
		if _, err := tx.AddPhotos(ctx, []NewPhoto{samplePhoto(first.Boxes[0].BoxID, today, member)}); err != nil {
			return err
		}
		if _, err := tx.AddUpload(ctx, member, "list.csv", []string{"x"}, struct{}{}); err != nil {
			return err
		}
		made := scheduler.Recalibration{Openings: 100, Hard: scheduler.Curve{Slope: 1}, Stuck: scheduler.Curve{Slope: 1}}
		if err := tx.putRecalibration(ctx, made, today); err != nil {
			return err
		}
		if err := tx.Audit(ctx, AuditEntry{MemberID: member, Action: "make link", Subject: "wall"}); err != nil {
			return err
		}
		if _, err := tx.tx.Exec(ctx, `INSERT INTO invitation (club_id, person_id, name, role) SELECT club_id, person_id, name, role FROM member WHERE id = $1`, member); err != nil {
			return err
		}
		if _, _, err := tx.TakeMail(ctx, InboundMail{Digest: make([]byte, 32), Purpose: ReplyMail, MemberID: member, Raw: []byte("x")}); err != nil {
			return err
		}
		if _, err := tx.tx.Exec(ctx, `INSERT INTO visit_not_opened (club_id, visit_id, box_id) SELECT club_id, visit_id, box_id FROM visit_box LIMIT 1`); err != nil {
			return err
		}
		tx.Tick(first.UID, []scheduler.Tick{{Step: scheduler.StepOutside, By: member, On: today}}, nil)
		hives, err := tx.Others(ctx, visits[0].ApiaryID, 1)
		if err != nil {
			return err
		}
		if _, err := tx.Happen(ctx, scheduler.ColonyStep{ID: uuid.NewString(), HiveID: hives.Hives[0].ID, What: scheduler.Requeened, On: today}, today); err != nil {
			return err
		}
		rules := scheduler.DefaultRules()
		rules.OddsLimit = 0.08
		if _, err := tx.ApplyRules(ctx, RulesEdit{Rules: rules}, today); err != nil {
			return err
		}
		if _, err := tx.ReplanAll(ctx, today); err != nil {
			return err
		}
		_, err = tx.Owe(ctx, []owed.Message{{
			Key: "k", Kind: scheduler.DayMessage, MemberID: member, On: today,
			Items: []owed.Item{{Kind: scheduler.DayMessage, Because: owed.BecauseToday, VisitUID: visits[0].UID, VisitOn: today}},
		}}, sometime)
		return err
	})
	return club
}

// clubTable is a table that a policy guards.
type clubTable struct {
	name, club string   // and the column that says whose a row is
	columns    []string // that can be written
	changes    string   // one that can be changed, the club's where that can
	may        map[string]bool
	row        []byte // one of the other club's, as JSON
}

// clubTables takes every guarded table from the catalogue, and a row of a club
// from each.
func clubTables(t *testing.T, owner *pgx.Conn, club int64) []clubTable {
	t.Helper()
	ctx := context.Background()
	rows, err := owner.Query(ctx, `
		SELECT c.relname::text, CASE c.relname WHEN 'club' THEN 'id' ELSE 'club_id' END,
		       ARRAY(SELECT quote_ident(attname) FROM pg_attribute
		              WHERE attrelid = c.oid AND attnum > 0 AND NOT attisdropped AND attgenerated = ''
		                AND (NOT has_any_column_privilege('pryday_app', c.oid, 'INSERT') OR has_column_privilege('pryday_app', c.oid, attnum, 'INSERT')) ORDER BY attnum),
		       coalesce((SELECT quote_ident(attname) FROM pg_attribute
		                  WHERE attrelid = c.oid AND attnum > 0 AND NOT attisdropped AND has_column_privilege('pryday_app', c.oid, attnum, 'UPDATE')
		                  ORDER BY attname <> CASE c.relname WHEN 'club' THEN 'id' ELSE 'club_id' END, attnum LIMIT 1), ''),
		       ARRAY(SELECT word FROM unnest('{INSERT,UPDATE,DELETE}'::text[]) word 
		              WHERE CASE word WHEN 'DELETE' THEN has_table_privilege('pryday_app', c.oid, word) ELSE has_any_column_privilege('pryday_app', c.oid, word) END)
		  FROM pg_class c WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p') AND c.relrowsecurity ORDER BY 1`)
	if err != nil {
		t.Fatal(err)
	}
	tables, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (c clubTable, err error) {
		var may []string
		err = row.Scan(&c.name, &c.club, &c.columns, &c.changes, &may)
		c.may = map[string]bool{}
		for _, word := range may {
			c.may[word] = true
		}
		return c, err
	})
	if err != nil || len(tables) < 20 {
		t.Fatalf("tables of clubs: %v: %v", tables, err)
	}
	for i := range tables {
		c := &tables[i]
		err := owner.QueryRow(ctx, fmt.Sprintf(`SELECT to_jsonb(r) FROM %s r WHERE %s = $1 LIMIT 1`, c.name, c.club), club).Scan(&c.row)
		if err != nil {
			t.Errorf("the club has no row in %s, so that nothing is known of its policy; add one in importWhole: %v", c.name, err)
		}
	}
	return tables
}

// leaks tries in a transaction of the serving role to reach across from one
// club to another, or from no club at all (0), and returns what it could do
// with a table that it must not.
func leaks(tx pgx.Tx, c clubTable, mine, other int64) (out []string) {
	ctx := context.Background()
	run := func(sql string, args ...any) (n int64, err error) {
		try, err := tx.Begin(ctx)
		if err != nil {
			return 0, err
		}
		defer try.Rollback(ctx) // nothing of this is meant to stay
		tag, err := try.Exec(ctx, sql, args...)
		return tag.RowsAffected(), err
	}
	if _, err := tx.Exec(ctx, `SELECT set_config('pryday.club', CASE $1::bigint WHEN 0 THEN '' ELSE $1::text END, true)`, mine); err != nil {
		return []string{err.Error()}
	}
	none := func(what, sql string, args ...any) {
		if n, err := run(sql, args...); err != nil || n != 0 {
			out = append(out, fmt.Sprintf("%s: %s %d rows: %v", c.name, what, n, err))
		}
	}
	// The policy is asked before any key or CHECK is.
	refused := func(what, sql string, args ...any) {
		n, err := run(sql, args...)
		if code(err) != "42501" || !strings.Contains(err.Error(), "row-level security") {
			out = append(out, fmt.Sprintf("%s: %s %d rows: %v", c.name, what, n, err))
		}
	}
	none("reads", fmt.Sprintf(`SELECT FROM %s WHERE %s = $1`, c.name, c.club), other)
	if c.may["UPDATE"] {
		none("updates", fmt.Sprintf(`UPDATE %s SET %[3]s = %[3]s WHERE %[2]s = $1`, c.name, c.club, c.changes), other)
		if mine != 0 && c.changes == c.club {
			refused("gives away", fmt.Sprintf(`UPDATE %s SET %s = $1 WHERE %[2]s = $2`, c.name, c.club), other, mine)
		}
	}
	if c.may["DELETE"] {
		none("deletes", fmt.Sprintf(`DELETE FROM %s WHERE %s = $1`, c.name, c.club), other)
	}
	if c.may["INSERT"] {
		columns := strings.Join(c.columns, ", ")
		refused("inserts", fmt.Sprintf(`INSERT INTO %s (%s) OVERRIDING SYSTEM VALUE SELECT %[2]s FROM jsonb_populate_record(NULL::public.%[1]s, $1)`,
			c.name, columns), c.row)
	}
	return out
}

// asServing runs fn in a transaction of the tables' owner that has stepped down
// to the serving role, and rolls it back.
func asServing(t *testing.T, owner *pgx.Conn, before string, fn func(pgx.Tx)) {
	t.Helper()
	ctx := context.Background()
	tx, err := owner.Begin(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback(ctx)
	if _, err := tx.Exec(ctx, before+`; SET LOCAL ROLE `+migrations.Role); err != nil {
		t.Fatalf("%s: %v", before, err)
	}
	fn(tx)
}

// TestNoTableLeaks: whatever table there is, one club sees and changes nothing
// of another, and without a club there is nothing at all. And each policy is
// needed: open to everybody, wholly or for what is written, it is noticed.
func TestNoTableLeaks(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	mine, other := importWhole(t, s), importWhole(t, s)
	owner, err := pgx.Connect(ctx, storetest.Owner(s.cfg.URL))
	if err != nil {
		t.Fatal(err)
	}
	defer owner.Close(ctx)
	tables := clubTables(t, owner, other)
	asServing(t, owner, ``, func(tx pgx.Tx) {
		for _, c := range tables {
			for _, club := range []int64{mine, 0} {
				for _, leak := range leaks(tx, c, club, other) {
					t.Errorf("from club %d to %d: %s", club, other, leak)
				}
			}
		}
	})

	rows, err := owner.Query(ctx, `SELECT tablename::text, quote_ident(policyname), cmd FROM pg_policies ORDER BY 1, 2`)
	if err != nil {
		t.Fatal(err)
	}
	policies, err := pgx.CollectRows(rows, pgx.RowToStructByPos[policy])
	if err != nil || len(policies) < len(tables) {
		t.Fatalf("policies %v: %v", policies, err)
	}
	for _, p := range policies {
		at := slices.IndexFunc(tables, func(c clubTable) bool { return c.name == p.Table })
		for _, opened := range p.openings() {
			asServing(t, owner, fmt.Sprintf(`ALTER POLICY %s ON %s %s`, p.Name, p.Table, opened), func(tx pgx.Tx) {
				if len(leaks(tx, tables[at], mine, other)) == 0 {
					t.Errorf("%s of %s %s: nobody notices", p.Name, p.Table, opened)
				}
			})
		}
	}
}

type policy struct{ Table, Name, For string }

// openings are the ways to open a policy to everybody.
func (p policy) openings() []string {
	switch p.For {
	case "INSERT":
		return []string{`WITH CHECK (true)`}
	case "SELECT", "DELETE":
		return []string{`USING (true)`}
	}
	return []string{`USING (true)`, `WITH CHECK (true)`}
}
