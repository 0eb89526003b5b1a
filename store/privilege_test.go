package store

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"pryday/store/storetest"
)

var update = flag.Bool("update", false, "write the grants anew")

// serving connects with the login that serves, as whoever gets SQL of their own
// into it would.
func serving(t testing.TB, of string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(context.Background(), storetest.Serving(of))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}

// TestServingRoleIsRefused: what somebody who got SQL of their own into the
// connection that serves would try (from memory).
func TestServingRoleIsRefused(t *testing.T) {
	t.Parallel()
	s := open(t)
	mine, other := importSample(t, s), importSample(t, s)
	conn, ctx := serving(t, s.cfg.URL), context.Background()
	const denied = "42501" // insufficient privilege
	refused := func(statements ...string) {
		t.Helper()
		for _, sql := range statements {
			tx, err := conn.Begin(ctx)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := tx.Exec(ctx, fmt.Sprintf(`SET LOCAL pryday.club = %d`, mine)); err != nil {
				t.Fatal(err)
			}
			_, err = tx.Exec(ctx, sql)
			if code(err) != denied {
				t.Errorf("%s: %v", sql, err)
			}
			tx.Rollback(ctx)
		}
	}
	for _, sql := range []string{`CREATE DATABASE mine`, `ALTER SYSTEM SET log_statement = 'all'`} { // which stand in no transaction
		if _, err := conn.Exec(ctx, sql); code(err) != denied {
			t.Errorf("%s: %v", sql, err)
		}
	}
	refused(`SET ROLE pryday_owner`, `SET ROLE postgres`, `SET SESSION AUTHORIZATION pryday_owner`, `SET SESSION AUTHORIZATION postgres`,
		`GRANT pryday_owner TO pryday_app`, `CREATE ROLE mine LOGIN`, `ALTER ROLE pryday_owner PASSWORD 'mine'`, `ALTER ROLE pryday_app SUPERUSER`)
	for _, table := range []string{"person", "sessions", "secret", "passkey", "sign_in", "sign_in_token", "address_change"} {
		refused(`SELECT FROM `+table, `INSERT INTO `+table+` DEFAULT VALUES`, `DELETE FROM `+table, `TRUNCATE `+table, `LOCK TABLE `+table+` IN SHARE MODE`,
			`COPY `+table+` TO STDOUT`, `CREATE TRIGGER t BEFORE INSERT ON `+table+` EXECUTE FUNCTION chain_new_audit()`)
	}
	refused(`UPDATE person SET email = 'mine@example.org'`, `UPDATE secret SET ends_at = NULL`, `SELECT nextval('person_id_seq')`,
		`SELECT token_hash FROM calendar_link`, `SELECT FROM calendar_link WHERE token_hash = ''`, `SELECT calendar_link FROM calendar_link`, `TABLE calendar_link`,
		`UPDATE calendar_link SET token_hash = ''`, `DELETE FROM calendar_link`, `INSERT INTO calendar_link (club_id, token_hash, kind) VALUES (1, '', 'club') RETURNING token_hash`)
	refused(`ALTER TABLE box ADD COLUMN mine text`, `ALTER TABLE box DISABLE ROW LEVEL SECURITY`, `ALTER POLICY one_club ON box USING (true)`, `DROP POLICY one_club ON box`,
		`DROP TABLE box`, `DROP FUNCTION club_ids()`, `ALTER FUNCTION club_ids() SECURITY INVOKER`, `CREATE OR REPLACE FUNCTION current_club() RETURNS bigint LANGUAGE sql AS 'SELECT 1'`,
		`CREATE FUNCTION mine() RETURNS int LANGUAGE sql AS 'SELECT 1'`, `CREATE FUNCTION pg_temp.mine() RETURNS int LANGUAGE sql AS 'SELECT 1'`, `CREATE TEMPORARY TABLE mine (n int)`,
		`CREATE TABLE mine (n int)`, `CREATE VIEW mine AS SELECT 1`, `CREATE SCHEMA mine`, `CREATE EXTENSION dblink`, `CREATE INDEX ON box (name)`, `ALTER DATABASE `+current(t, conn)+` SET pryday.club = 1`)
	refused(`COPY (SELECT 1) TO PROGRAM 'true'`, `COPY box FROM PROGRAM 'true'`, `COPY (SELECT 1) TO '/tmp/mine'`, `SELECT pg_read_file('/etc/passwd')`, `SELECT pg_ls_dir('/')`,
		`SELECT FROM pg_authid`, `SELECT FROM pg_shadow`, `SELECT FROM pg_statistic`, `SELECT pg_reload_conf()`, `SET session_replication_role = replica`,
		`SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = 'pryday_owner'`, `LOAD 'auto_explain'`)
	refused(`SELECT note_sign_in(1, 'mail', '', '', '', '')`, `SELECT new_key('mailed addresses')`, `SELECT rotate_keys('1 hour')`, `SELECT chain_audit(1, 1)`)
	refused(`DELETE FROM audit`, `UPDATE audit SET subject = ''`, `UPDATE audit_chain SET number = 0`, `UPDATE opening SET joint = 0`, `DELETE FROM rules`,
		`INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, true)`, `DELETE FROM river_migration`)
	refused(fmt.Sprintf(`INSERT INTO box (club_id, name, kind, set_up_on) VALUES (%d, 'X', 'deep', '2027-01-01')`, other))

	for _, club := range []string{"", fmt.Sprint(mine)} {
		for _, table := range []string{"club", "member", "box", "opening", "message", "audit", "calendar_link", "invitation"} {
			column := "club_id"
			if table == "club" {
				column = "id"
			}
			var rows int
			if _, err := conn.Exec(ctx, `SELECT set_config('pryday.club', $1, false)`, club); err != nil {
				t.Fatal(err)
			}
			err := conn.QueryRow(ctx, fmt.Sprintf(`SELECT count(%[1]s) FROM %[2]s WHERE %[1]s <> $1`, column, table), mine).Scan(&rows)
			if err != nil || rows != 0 {
				t.Errorf("as club %q it reads %d rows of other clubs in %s: %v", club, rows, table, err)
			}
		}
		for _, call := range []string{`SELECT count(*) FROM club_people()`, `SELECT count(*) FROM invited_people()`, `SELECT count(*) FROM club_person((SELECT max(person_id) FROM memberships('dorrit@elsewhere.example')))`} {
			var rows int
			if err := conn.QueryRow(ctx, call).Scan(&rows); err != nil || club == "" && rows != 0 || rows > 2 {
				t.Errorf("as club %q %s reads %d people: %v", club, call, rows, err)
			}
		}
	}
}

func current(t *testing.T, conn *pgx.Conn) (name string) {
	t.Helper()
	if err := conn.QueryRow(context.Background(), `SELECT current_database()`).Scan(&name); err != nil {
		t.Fatal(err)
	}
	return name
}

// TestServingLogin: who may serve, and who is told that they can do more.
func TestServingLogin(t *testing.T) {
	t.Parallel()
	ctx, of := context.Background(), storetest.New(t)
	s, err := Open(ctx, Config{URL: of})
	if err != nil {
		t.Fatalf("one address for all: %v", err)
	}
	if !s.MayOwn() {
		t.Error("the owner's login is not said to be more than the serving role")
	}
	s.Close()
	if _, err := Open(ctx, Config{URL: of, Apart: true}); !errors.Is(err, ErrMayOwn) {
		t.Errorf("the owner's login, where there are to be two: %v", err)
	}
	if s, err = Open(ctx, Config{URL: storetest.Serving(of), Apart: true}); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if s.MayOwn() {
		t.Error("the serving login is said to be more than that")
	}
	var session, role string
	if err := s.pool.QueryRow(ctx, `SELECT session_user, current_user`).Scan(&session, &role); err != nil || session != "pryday_app" || role != "pryday_app" {
		t.Errorf("serves as %s, logged in as %s: %v", role, session, err)
	}
	// A login of one installation's own, in a server that has several.
	u, err := url.Parse(of)
	if err != nil {
		t.Fatal(err)
	}
	q := u.Query()
	admin, err := pgx.Connect(ctx, fmt.Sprintf("host=%s port=%s user=postgres database=postgres", q.Get("host"), q.Get("port")))
	if err != nil {
		t.Fatal(err)
	}
	defer admin.Close(ctx)
	name := strings.TrimPrefix(u.Path, "/") + "_web"
	for _, c := range []struct {
		make string
		want error
	}{
		{`CREATE ROLE ` + name + ` LOGIN IN ROLE pryday_app`, nil},
		{`ALTER ROLE ` + name + ` CREATEROLE`, ErrMayOwn},
		{`ALTER ROLE ` + name + ` NOCREATEROLE BYPASSRLS`, ErrMayOwn},
		{`ALTER ROLE ` + name + ` NOBYPASSRLS`, nil},
		{`GRANT pryday_owner TO ` + name, ErrMayOwn},
	} {
		if _, err := admin.Exec(ctx, c.make); err != nil {
			t.Fatal(err)
		}
		q.Set("user", name)
		u.RawQuery = q.Encode()
		own, err := Open(ctx, Config{URL: u.String(), Apart: true})
		if !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.make, err, c.want)
		}
		if err == nil {
			own.Close()
		}
	}
	if _, err := admin.Exec(ctx, `DROP ROLE `+name); err != nil {
		t.Error(err)
	}
}

// TestDefinersAreSafe: whatever runs with the owner's rights looks names up in a
// fixed place, is the owner's, and is called by nobody whom no migration names
// (PostgreSQL manual, CREATE FUNCTION, "Writing SECURITY DEFINER Functions Safely").
func TestDefinersAreSafe(t *testing.T) {
	t.Parallel()
	s := open(t)
	bad := rowsOf(t, s, `
		SELECT p.oid::regprocedure::text || ': ' || coalesce(array_to_string(p.proconfig, ' '), 'no settings') || ', of ' || o.rolname || ', public ' || has_function_privilege('public', p.oid, 'EXECUTE')
		  FROM pg_proc p JOIN pg_roles o ON o.oid = p.proowner
		 WHERE p.pronamespace = 'public'::regnamespace AND p.prosecdef
		   AND NOT (o.rolname = 'pryday_owner' AND 'search_path=pg_catalog, pg_temp' = ANY (p.proconfig)
		            AND (p.prorettype = 'trigger'::regtype OR NOT has_function_privilege('public', p.oid, 'EXECUTE')))`)
	for _, line := range bad {
		t.Errorf("not safe: %s", line)
	}
	if n := len(rowsOf(t, s, `SELECT proname::text FROM pg_proc WHERE pronamespace = 'public'::regnamespace AND prosecdef`)); n < 40 {
		t.Errorf("looked at %d functions", n)
	}
}

// TestServingGrants: what the serving role may do is what testdata/grants.txt
// says, whoever has it from whom. What is new there was meant.
func TestServingGrants(t *testing.T) {
	t.Parallel()
	got := strings.Join(rowsOf(t, open(t), `
		WITH word AS (SELECT unnest('{SELECT,INSERT,UPDATE,DELETE,TRUNCATE,REFERENCES,TRIGGER}'::text[]) AS word),
		whole AS (
			SELECT c.oid, c.relname, w.word FROM pg_class c, word w
			 WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p', 'v', 'm', 'f') AND has_table_privilege('pryday_app', c.oid, w.word))
		SELECT 'table ' || relname || ': ' || string_agg(word, ' ' ORDER BY word) FROM whole GROUP BY relname
		UNION ALL
		SELECT 'columns ' || c.relname || ': ' || w.word || ' ' || string_agg(a.attname, ' ' ORDER BY a.attname)
		  FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped, word w
		 WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p', 'v', 'm', 'f') AND w.word IN ('SELECT', 'INSERT', 'UPDATE', 'REFERENCES')
		   AND has_column_privilege('pryday_app', c.oid, a.attnum, w.word) AND NOT has_table_privilege('pryday_app', c.oid, w.word)
		 GROUP BY c.relname, w.word
		UNION ALL
		SELECT 'sequence ' || c.relname || ': ' || string_agg(w.word, ' ' ORDER BY w.word)
		  FROM pg_class c, unnest('{USAGE,SELECT,UPDATE}'::text[]) AS w(word)
		 WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'S' AND has_sequence_privilege('pryday_app', c.oid, w.word) GROUP BY c.relname
		UNION ALL
		SELECT 'function ' || p.oid::regprocedure FROM pg_proc p WHERE p.pronamespace = 'public'::regnamespace AND has_function_privilege('pryday_app', p.oid, 'EXECUTE')
		UNION ALL
		SELECT 'schema ' || n.nspname || ': ' || string_agg(w.word, ' ' ORDER BY w.word) FROM pg_namespace n, unnest('{USAGE,CREATE}'::text[]) AS w(word)
		 WHERE n.nspname !~ '^(pg_|information_schema)' AND has_schema_privilege('pryday_app', n.oid, w.word) GROUP BY n.nspname
		UNION ALL
		SELECT 'database: ' || string_agg(w.word, ' ' ORDER BY w.word) FROM unnest('{CONNECT,CREATE,TEMPORARY}'::text[]) AS w(word)
		 WHERE has_database_privilege('pryday_app', current_database(), w.word)
		UNION ALL
		SELECT 'member of ' || r.rolname FROM pg_roles r WHERE r.rolname <> 'pryday_app' AND pg_has_role('pryday_app', r.oid, 'MEMBER')
		UNION ALL
		SELECT 'by default: ' || d.defaclobjtype::text FROM pg_default_acl d, aclexplode(d.defaclacl) x WHERE x.grantee = 'pryday_app'::regrole`), "\n") + "\n"
	const file = "testdata/grants.txt"
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got == string(want) {
		return
	}
	has, listed := strings.Split(got, "\n"), strings.Split(string(want), "\n")
	for _, line := range linesBeside(has, listed) {
		t.Errorf("the serving role may, and the list does not say so: %s", line)
	}
	for _, line := range linesBeside(listed, has) {
		t.Errorf("the list says, and it is not so: %s", line)
	}
}

// linesBeside are the lines of one list that are not in the other.
func linesBeside(of, in []string) (out []string) {
	known := map[string]bool{}
	for _, line := range in {
		known[line] = true
	}
	for _, line := range of {
		if !known[line] {
			out = append(out, line)
		}
	}
	return out
}
