package backup

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
)

// leftOut are tables that no backup has. The first two are what the migrations
// write; the others belong to programs that run.
var leftOut = []string{
	"goose_db_version", "river_migration",
	"river_leader", "river_client", "river_client_queue", "river_notification",
}

// sessions are left out unless they are asked for: a backup would bring back to
// life those that were ended since. Everybody signs in anew.
const sessions = "sessions"

// table is what is known of a table to be read or filled.
type table struct {
	name    string
	columns []string
	order   []string // expressions that put its rows in one order
	needs   []string // tables that its rows refer to
}

// connect opens a connection whose COPY writes the same bytes whatever the
// server's settings are.
func connect(ctx context.Context, url string) (*pgx.Conn, error) {
	cfg, err := pgx.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("read the database address: %w", err)
	}
	for name, value := range map[string]string{
		"application_name": "pryday backup", "client_encoding": "UTF8", "TimeZone": "UTC", "DateStyle": "ISO, MDY", "IntervalStyle": "postgres",
		"extra_float_digits": "1", "bytea_output": "hex",
		"row_security": "off", // an error rather than a club left out
		"lock_timeout": "60s", "statement_timeout": "0", "idle_in_transaction_session_timeout": "0",
	} {
		cfg.RuntimeParams[name] = value
	}
	conn, err := pgx.ConnectConfig(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("connect to the database: %w", err)
	}
	return conn, nil
}

// tablesOf lists the tables that a backup has, those that others refer to first.
func tablesOf(ctx context.Context, tx pgx.Tx, withSessions bool) ([]table, error) {
	without := leftOut
	if !withSessions {
		without = append(slices.Clone(leftOut), sessions)
	}
	rows, err := tx.Query(ctx, `
		SELECT c.relname,
		       ARRAY(SELECT a.attname::text FROM pg_attribute a
		              WHERE a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped AND a.attgenerated = '' ORDER BY a.attname::text COLLATE "C"),
		       ARRAY(SELECT quote_ident(a.attname) || CASE WHEN a.attcollation <> 0 THEN ' COLLATE "C"' ELSE '' END
		               FROM pg_index i CROSS JOIN LATERAL unnest(i.indkey::int2[]) WITH ORDINALITY k(attnum, n)
		               JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum = k.attnum
		              WHERE i.indrelid = c.oid AND i.indisprimary ORDER BY k.n),
		       ARRAY(SELECT DISTINCT r.relname::text FROM pg_constraint f JOIN pg_class r ON r.oid = f.confrelid
		              WHERE f.conrelid = c.oid AND f.contype = 'f' AND f.confrelid <> c.oid)
		  FROM pg_class c
		 WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p') AND c.relname <> ALL($1)
		 ORDER BY c.relname::text COLLATE "C"`, without)
	if err != nil {
		return nil, fmt.Errorf("list the tables: %w", err)
	}
	all, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (t table, err error) {
		err = row.Scan(&t.name, &t.columns, &t.order, &t.needs)
		return t, err
	})
	if err != nil {
		return nil, fmt.Errorf("list the tables: %w", err)
	}
	return inOrder(all)
}

// inOrder puts tables after those that their rows refer to.
func inOrder(all []table) ([]table, error) {
	var out []table
	placed := map[string]bool{}
	for len(out) < len(all) {
		before := len(out)
		for _, t := range all {
			waits := slices.ContainsFunc(t.needs, func(name string) bool { return !placed[name] && !slices.Contains(leftOut, name) })
			if !placed[t.name] && !waits {
				out, placed[t.name] = append(out, t), true
			}
		}
		if len(out) == before {
			return nil, fmt.Errorf("the tables refer to each other in a ring: only %d of %d can be put in order", before, len(all))
		}
	}
	return out, nil
}

// read is the statement that writes the rows of a table out.
func (t table) read() string {
	order := t.order
	if len(order) == 0 {
		order = []string{`x::text COLLATE "C"`}
	}
	return fmt.Sprintf("COPY (SELECT %s FROM public.%s x ORDER BY %s) TO STDOUT", quoted(t.columns), quote(t.name), strings.Join(order, ", "))
}

// fill is the statement that takes them in.
func (t table) fill() string {
	return fmt.Sprintf("COPY public.%s (%s) FROM STDIN", quote(t.name), quoted(t.columns))
}

func quote(name string) string { return pgx.Identifier{name}.Sanitize() }

func quoted(names []string) string {
	out := make([]string, len(names))
	for i, name := range names {
		out[i] = quote(name)
	}
	return strings.Join(out, ", ")
}
