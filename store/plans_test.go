//go:build plans

package store

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"pryday/scheduler"
	"pryday/store/storetest"
)

// statements notes what goes to Postgres.
type statements struct {
	of  string // what is being done
	all []statement
}

type statement struct {
	of, sql string
	args    []any
}

func (n *statements) note(sql string, args []any) {
	words := strings.Fields(sql)
	if n.of == "" || len(words) == 0 || !slices.Contains([]string{"select", "with", "insert", "update", "delete"}, strings.ToLower(words[0])) {
		return
	}
	if !slices.ContainsFunc(n.all, func(s statement) bool { return s.of == n.of && s.sql == sql }) {
		n.all = append(n.all, statement{n.of, sql, args})
	}
}

func (n *statements) TraceQueryStart(ctx context.Context, _ *pgx.Conn, d pgx.TraceQueryStartData) context.Context {
	n.note(d.SQL, d.Args)
	return ctx
}
func (n *statements) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}
func (n *statements) TraceBatchStart(ctx context.Context, _ *pgx.Conn, d pgx.TraceBatchStartData) context.Context {
	for _, q := range d.Batch.QueuedQueries {
		n.note(q.SQL, q.Arguments)
	}
	return ctx
}
func (n *statements) TraceBatchQuery(context.Context, *pgx.Conn, pgx.TraceBatchQueryData) {}
func (n *statements) TraceBatchEnd(context.Context, *pgx.Conn, pgx.TraceBatchEndData)     {}

// noted gives a store's statements to n.
func noted(t testing.TB, s *Store, n *statements) {
	t.Helper()
	c := s.pool.Config()
	c.ConnConfig.Tracer, c.MaxConns = n, 1
	pool, err := pgxpool.NewWithConfig(context.Background(), c)
	if err != nil {
		t.Fatal(err)
	}
	s.pool.Close()
	s.pool = pool
	t.Cleanup(pool.Close)
}

// hot does, in one club, what is done most.
func hot(t testing.TB, s *Store, n *statements, club int64) {
	t.Helper()
	ctx := context.Background()
	now := today.At(22*60, time.UTC)
	c := readClub(t, s, club)
	apiary := c.Apiaries[len(c.Apiaries)/2]
	do := func(what string, fn func(*Tx) error) {
		t.Helper()
		n.of = what
		inClub(t, s, club, fn)
		n.of = ""
	}
	do("opening", func(tx *Tx) error {
		_, err := tx.RecordOpening(ctx, apiary.Hives[0].Boxes[0].ID, scheduler.Opening{On: today, Joint: scheduler.Firm, Frames: scheduler.NotTried}, today)
		return err
	})
	do("tick", func(tx *Tx) error {
		turn, err := tx.TakeTurn(ctx, now)
		if err == nil {
			_, err = tx.OwedRecords(ctx, turn, now)
		}
		return err
	})
	do("home", func(tx *Tx) error {
		all, err := tx.Overview(ctx, today)
		if err == nil {
			_, _, err = tx.Stacks(ctx, all.Club, all.Visits[:min(40, len(all.Visits))], []int64{apiary.ID}, today-150)
		}
		return err
	})
	do("apiary", func(tx *Tx) error {
		_, err := tx.RecordsAround(ctx, apiary.ID)
		return err
	})
	do("feed", func(tx *Tx) error {
		visits, _, err := tx.FeedVisits(ctx, &Link{Kind: ClubLink}, FeedWindow{Today: today, From: today - 30, TentativeUntil: today + 56})
		if err == nil {
			_, _, err = tx.FeedClub(ctx, 0, visits, today)
		}
		return err
	})
	n.of = "clubs"
	if _, err := s.ClubVersions(ctx); err != nil {
		t.Fatal(err)
	}
	n.of = ""
}

// planNode is a part of a plan as EXPLAIN tells it.
type planNode struct {
	Kind     string     `json:"Node Type"`
	Relation string     `json:"Relation Name"`
	Index    string     `json:"Index Name"`
	Plans    []planNode `json:"Plans"`
}

func (p *planNode) each(fn func(*planNode)) {
	fn(p)
	for i := range p.Plans {
		p.Plans[i].each(fn)
	}
}

// explained is how one statement was carried out.
type explained struct {
	ms    float64
	scans map[string]bool // tables read whole
	nodes map[string]int  // how often each kind of node
}

// explain carries out a statement with the planner's setting, and takes it back.
func explain(t testing.TB, conn *pgx.Conn, club int64, st statement, seqscan string, generic bool) explained {
	t.Helper()
	ctx := context.Background()
	tx, err := conn.Begin(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback(ctx)
	for _, sql := range []string{
		`SET LOCAL ROLE pryday_app`, `SET LOCAL jit = off`, `SET LOCAL random_page_cost = 1.1`, `SET LOCAL enable_seqscan = ` + seqscan,
		`SELECT set_config('pryday.club', '` + strconv.FormatInt(club, 10) + `', true)`,
	} {
		if _, err := tx.Exec(ctx, sql); err != nil {
			t.Fatal(err)
		}
	}
	var out []byte
	if generic {
		nulls := strings.TrimSuffix(strings.Repeat("null,", len(st.args)), ",")
		call := "q"
		if nulls != "" {
			call += "(" + nulls + ")"
		}
		_, err = conn.PgConn().Exec(ctx, `SET LOCAL plan_cache_mode = force_generic_plan; PREPARE q AS `+st.sql).ReadAll()
		if err == nil {
			err = tx.QueryRow(ctx, `EXPLAIN (FORMAT JSON) EXECUTE `+call, pgx.QueryExecModeSimpleProtocol).Scan(&out)
			conn.PgConn().Exec(ctx, `DEALLOCATE q`).ReadAll()
		}
	} else {
		how := `EXPLAIN (ANALYZE, FORMAT JSON) `
		if writes(st.sql) { // a second time they would do something else
			how = `EXPLAIN (FORMAT JSON) `
		}
		for range 2 { // the second finds its pages in memory
			args := append([]any{pgx.QueryExecModeDescribeExec}, st.args...)
			if err = tx.QueryRow(ctx, how+st.sql, args...).Scan(&out); err != nil {
				break
			}
		}
	}
	if err != nil {
		t.Fatalf("%s: %s: %v", st.of, strings.Join(strings.Fields(st.sql), " "), err)
	}
	var plans []struct {
		Plan planNode
		Time float64 `json:"Execution Time"`
	}
	if err := json.Unmarshal(out, &plans); err != nil {
		t.Fatal(err)
	}
	e := explained{ms: plans[0].Time, scans: map[string]bool{}, nodes: map[string]int{}}
	plans[0].Plan.each(func(p *planNode) {
		e.nodes[p.Kind]++
		if p.Kind == "Seq Scan" {
			e.scans[p.Relation] = true
		}
	})
	return e
}

func writes(sql string) bool {
	sql = strings.ToLower(sql)
	return !strings.HasPrefix(strings.TrimSpace(sql), "select") && (strings.Contains(sql, "insert ") || strings.Contains(sql, "update ") || strings.Contains(sql, "delete "))
}

// TestPlans shows how the most frequent statements are carried out among so
// many boxes (-boxes), with and without whole tables being read, and fails
// where Postgres, left to itself, reads a large table whole.
func TestPlans(t *testing.T) {
	s := open(t)
	n := &statements{}
	first := importLarge(t, s, min(clubBoxes, *benchBoxes)/25, 4)
	if _, _, err := s.ReplanClub(context.Background(), first, today); err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	clubs := copyClub(t, s, first, max(1, *benchBoxes/clubBoxes))
	t.Logf("%d clubs stored in %s", len(clubs), time.Since(began).Round(time.Second))
	noted(t, s, n)
	club := clubs[len(clubs)/2]
	hot(t, s, n, club)
	conn, err := pgx.Connect(context.Background(), storetest.Owner(s.cfg.URL))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	if err := registerDates(context.Background(), conn); err != nil {
		t.Fatal(err)
	}
	large := largeTables(t, conn)
	type sum struct {
		statements, same int
		on, off          float64
		read             map[string]bool
	}
	sums := map[string]*sum{}
	for _, st := range n.all {
		x := sums[st.of]
		if x == nil {
			x = &sum{read: map[string]bool{}}
			sums[st.of] = x
		}
		on, off := explain(t, conn, club, st, "on", false), explain(t, conn, club, st, "off", false)
		kept := explain(t, conn, club, st, "on", true)
		x.statements++
		x.on += on.ms
		x.off += off.ms
		if maps.Equal(on.nodes, off.nodes) {
			x.same++
		}
		maps.Copy(x.read, on.scans)
		maps.Copy(x.read, kept.scans)
		for _, scans := range []map[string]bool{on.scans, kept.scans} {
			for table := range scans {
				if large[table] && st.of != "clubs" {
					t.Errorf("%s reads the whole of %s: %s", st.of, table, strings.Join(strings.Fields(st.sql), " "))
				}
			}
		}
	}
	for _, of := range slices.Sorted(maps.Keys(sums)) {
		x := sums[of]
		fmt.Printf("| %d | %s | %d | %d | %.2f | %.2f | %s |\n", *benchBoxes, of, x.statements, x.same, x.on, x.off, strings.Join(slices.Sorted(maps.Keys(x.read)), ", "))
	}
}

// largeTables are those with more rows than one club has.
func largeTables(t testing.TB, conn *pgx.Conn) map[string]bool {
	t.Helper()
	rows, err := conn.Query(context.Background(), `SELECT relname::text FROM pg_class WHERE relkind = 'r' AND reltuples > 20000`)
	if err != nil {
		t.Fatal(err)
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	large := map[string]bool{}
	for _, n := range names {
		large[n] = true
	}
	return large
}
