package migrations_test

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"pryday/migrations"
	"pryday/scheduler"
	"pryday/store"
	"pryday/store/storetest"
)

// What became of columns that stood at version 9: another name, or none
// because what they said stands elsewhere, which TestUpgradeKeepsMeaning sees.
var (
	renamedColumns = map[string]string{"visit.day0": "first_seen"}
	movedColumns   = []string{"visit.not_boxes", "due.moved", "due.left_alone"}
	movedTables    = []string{"box_state"}
)

// A database that a first release left behind is brought to the newest schema.
func upgraded(t *testing.T) (url string, before, after map[string][]map[string]any) {
	t.Helper()
	ctx, url := context.Background(), storetest.Empty(t)
	if err := migrations.UpTo(ctx, url, 9); err != nil {
		t.Fatal(err)
	}
	records, err := os.ReadFile("testdata/at_00009.sql")
	if err != nil {
		t.Fatal(err)
	}
	pool := connect(t, url)
	if _, err := pool.Exec(ctx, string(records)); err != nil {
		t.Fatal(err)
	}
	before = everyRow(t, pool)
	if err := migrations.Up(ctx, url); err != nil {
		t.Fatal(err)
	}
	return url, before, everyRow(t, pool)
}

// everyRow reads all tables but those that tell of the schema itself, each in
// the order of its rows' text.
func everyRow(t *testing.T, pool *pgxpool.Pool) map[string][]map[string]any {
	t.Helper()
	ctx := context.Background()
	rows, err := pool.Query(ctx, `
		SELECT relname::text FROM pg_class
		 WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' AND relname !~ '^(river|goose)_'`)
	if err != nil {
		t.Fatal(err)
	}
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]map[string]any{}
	for _, table := range tables {
		rows, err := pool.Query(ctx, `SELECT to_jsonb(t) FROM `+table+` t`)
		if err != nil {
			t.Fatal(err)
		}
		out[table], err = pgx.CollectRows(rows, pgx.RowTo[map[string]any])
		if err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func TestUpgradeKeepsEveryRow(t *testing.T) {
	_, before, after := upgraded(t)
	for table, rows := range before {
		if len(rows) == 0 {
			t.Errorf("no row of %s to try it with", table)
		}
		if slices.Contains(movedTables, table) {
			continue
		}
		var want []string
		names := map[string]bool{}
		for _, row := range rows {
			kept := map[string]any{}
			for name, value := range row {
				column := table + "." + name
				if slices.Contains(movedColumns, column) {
					continue
				}
				if now, ok := renamedColumns[column]; ok {
					name = now
				}
				kept[name], names[name] = value, true
			}
			want = append(want, asText(t, kept))
		}
		var got []string
		for _, row := range after[table] {
			maps.DeleteFunc(row, func(name string, _ any) bool { return !names[name] })
			got = append(got, asText(t, row))
		}
		slices.Sort(want)
		slices.Sort(got)
		if table == "told" { // of overdue boxes it is kept by apiary now: TestUpgradeKeepsMeaning looks
			ofBoxes := func(row string) bool { return strings.Contains(row, `"visit_id":null`) }
			want, got = slices.DeleteFunc(want, ofBoxes), slices.DeleteFunc(got, ofBoxes)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s was\n%v\nand is\n%v", table, want, got)
		}
	}
}

func asText(t *testing.T, row map[string]any) string {
	t.Helper()
	text, err := json.Marshal(row) // with its keys in order
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// What stood in columns that are gone is read from where it stands now.
func TestUpgradeKeepsMeaning(t *testing.T) {
	ctx := context.Background()
	url, before, _ := upgraded(t)
	s, err := store.Open(ctx, store.Config{URL: storetest.Serving(url), Apart: true})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	type seen struct {
		NotBoxes  []int64
		FirstSeen scheduler.Date
	}
	day := func(d int) scheduler.Date { return scheduler.NewDate(2027, 5, d) }
	want := map[string]seen{
		"visit-501": {[]int64{10001, 10002}, day(20)},
		"visit-502": {[]int64{10002}, day(21)}, // once, and without the box that is gone
		"visit-503": {nil, 0},
		"visit-504": {nil, scheduler.NewDate(2027, 3, 1)},
		"visit-601": {[]int64{20001}, day(22)},
	}
	got := map[string]seen{}
	for _, club := range []int64{1, 2} {
		err := s.InClub(ctx, club, func(tx *store.Tx) error {
			visits, err := tx.Visits(ctx, store.VisitFilter{})
			for _, v := range visits {
				got[v.UID] = seen{v.NotBoxes, v.FirstSeen}
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("boxes taken off visits, and first days, are\n%v\nwant\n%v", got, want)
	}
	rows, err := connect(t, url).Query(ctx, `
		SELECT box_id || ': ' || moved || ', ' || left_alone || ', ' || left_alone_words FROM due WHERE moved <> '' ORDER BY box_id`)
	if err != nil {
		t.Fatal(err)
	}
	closed, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if want := []string{"10001: winter, , ", "10005: keepers, standstill, foul brood order"}; err != nil || !slices.Equal(closed, want) {
		t.Errorf("why days are closed is %q, want %q: %v", closed, want, err)
	}
	// The age of a day is what was left in the seal on that day.
	rows, err = connect(t, url).Query(ctx, `
		SELECT format('%s: %s since %s, %s and %s on %s', box_id, seal_left, seal_since, rate_mean, rate_variance, rated_on) FROM due ORDER BY box_id`)
	if err != nil {
		t.Fatal(err)
	}
	seals, err := pgx.CollectRows(rows, pgx.RowTo[string])
	var sealed []string
	for _, r := range before["box_state"] {
		sealed = append(sealed, fmt.Sprintf("%v: %v since %v, %v and %v on %[3]v", r["box_id"], r["sealing_days"], r["on_day"], r["rate_mean"], r["rate_variance"]))
	}
	slices.Sort(sealed)
	if err != nil || len(seals) == 0 || !slices.Equal(seals, sealed) {
		t.Errorf("seals are %q, want %q: %v", seals, sealed, err)
	}
	var worst string
	if err := connect(t, url).QueryRow(ctx, `SELECT string_agg(coalesce(worst_odds::text, 'none'), ' ' ORDER BY id) FROM apiary`).Scan(&worst); err != nil || worst != "0.41 0 1" {
		t.Errorf("the worst odds of apiaries are %q: %v", worst, err)
	}
	rows, err = connect(t, url).Query(ctx, `SELECT about FROM told WHERE visit_id IS NULL ORDER BY about`)
	if err != nil {
		t.Fatal(err)
	}
	about, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if want := []string{"escalation/101", "escalation/102", "overdue/101", "overdue/102"}; err != nil || !slices.Equal(about, want) {
		t.Errorf("told of boxes is %q, want %q: %v", about, want, err)
	}
	// Orchard's shift of 6 days was counted from the continental dates.
	rows, err = connect(t, url).Query(ctx, `SELECT club_id || '/' || name || ': ' || region FROM apiary ORDER BY id`)
	if err != nil {
		t.Fatal(err)
	}
	regions, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if want := []string{"1/Orchard: continental", "1/Quarry: ", "2/Orchard: "}; err != nil || !slices.Equal(regions, want) {
		t.Errorf("the regions of apiaries are %q, want %q: %v", regions, want, err)
	}
}

// A release that must be taken back keeps the records too.
func TestDowngradeKeepsVisits(t *testing.T) {
	ctx := context.Background()
	url, before, _ := upgraded(t)
	if err := migrations.Down(ctx, url, 9); err != nil {
		t.Fatal(err)
	}
	boxes := func(rows []map[string]any) map[any][]any {
		out := map[any][]any{}
		for _, row := range rows {
			out[row["uid"]] = append(row["not_boxes"].([]any), row["day0"])
		}
		return out
	}
	want := boxes(before["visit"])
	want["visit-501"] = []any{10001.0, 10002.0, "2027-05-20"} // a set: in the order of ids
	want["visit-502"] = []any{10002.0, "2027-05-21"}
	if got := boxes(everyRow(t, connect(t, url))["visit"]); !reflect.DeepEqual(got, want) {
		t.Errorf("visits are\n%v\nwant\n%v", got, want)
	}
}
