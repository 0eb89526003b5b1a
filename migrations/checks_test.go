package migrations_test

import (
	"context"
	"errors"
	"os"
	"regexp"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// Every check that a migration added after the tables were made refuses a row
// that violates it, and takes one at the edge of what is allowed.
func TestChecksRefuse(t *testing.T) {
	tests := []struct{ table, constraint, set, edge string }{
		{"due", "reason_is_known", `reason = 'whim'`, `reason = 'above'`},
		{"due", "last_hard_is_a_degree", `last_hard = 5`, `last_hard = 4`},
		{"due", "last_hard_is_a_degree", `last_hard = -2`, `last_hard = -1`},
		{"due", "numbers_are_finite", `seal_left = -0.5`, `seal_left = 0`},
		{"due", "numbers_are_finite", `rate_mean = 'NaN'`, `rate_mean = -5`},
		{"due", "numbers_are_finite", `rate_variance = 'infinity'`, `rate_variance = 0.45`},
		{"apiary", "odds_are_a_chance", `worst_odds = 1.01`, `worst_odds = 1`},
		{"apiary", "odds_are_a_chance", `worst_odds = 'NaN'`, `worst_odds = 0`},
		{"gap", "place_is_known", `at = 'below-the-lid'`, `at = 'entrance'`},
		{"gap", "place_is_known", `at = ''`, `at = 'above-frames'`},
		{"opening", "conditions_are_known", `condition = '{rot,rusty}'`, `condition = '{rot,warped}'`},
		{"opening", "conditions_are_known", `condition = ARRAY[NULL]::text[]`, `condition = '{}'`},
		{"message", "kind_is_known", `kind = 'news'`, `kind = 'invitation'`},
		{"message", "kind_is_known", `kind = ''`, `kind = 'day'`},
		{"message", "items_are_a_list", `items = '{}'`, `items = '[]'`},
		{"told", "kind_is_known", `kind = 'news'`, `kind = kind`},
		{"told", "about_its_kind", `about = 'news', visit_id = NULL`, `about = kind, visit_id = NULL`},
		{"member", "days_before_are_days", `days_before = '{7,61}'`, `days_before = '{0,60}'`},
		{"member", "days_before_are_days", `days_before = '{-1}'`, `days_before = '{}'`},
		{"member", "days_before_are_days", `days_before = ARRAY[7, NULL]`, `days_before = NULL`},
		{"member", "days_before_are_days", `days_before = array_fill(7, ARRAY[62])`, `days_before = array_fill(7, ARRAY[61])`},
		{"member", "muted_kinds_are_known", `mute = '{day,news}'`, `mute = '{day,digest}'`},
		{"hive", "requeened_on_days", `requeened = ARRAY['2027-01-01', NULL]::date[]`, `requeened = '{2027-01-01}'`},
		{"box", "repaired_on_days", `repaired = ARRAY[NULL]::date[]`, `repaired = '{}'`},
		{"box_place", "place_in_the_stack", `position = -1`, `position = 0`},
		{"box_kind", "sizes_are_of_boxes", `depth_mm = 19`, `depth_mm = 20`},
		{"box_kind", "sizes_are_of_boxes", `rest_mm = 'NaN'`, `rest_mm = 2000`},
		{"box_kind", "weights_are_of_boxes", `empty_kg = 30, full_kg = 29`, `empty_kg = 30, full_kg = 30`},
		{"box_kind", "weights_are_of_boxes", `empty_kg = 0`, `empty_kg = 0.1`},
		{"box_kind", "holds_some_frames", `frames = 61`, `frames = 60`},
		{"rules", "document_is_an_object", `document = '[]'`, `document = '{}'`},
	}
	ctx := context.Background()
	url, _, _ := upgraded(t)
	pool := connect(t, url)
	tried := map[string]bool{}
	for _, test := range tests {
		tried[test.constraint] = true
		change := func(set string) (failed error) {
			err := pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error {
				row := `ctid = (SELECT ctid FROM ` + test.table + ` LIMIT 1)`
				if test.table == "told" {
					row = `visit_id = 501`
				}
				_, failed = tx.Exec(ctx, `UPDATE `+test.table+` SET `+set+` WHERE `+row)
				return errTakeBack
			})
			if !errors.Is(err, errTakeBack) {
				t.Fatal(err)
			}
			return failed
		}
		t.Run(test.constraint+" "+test.set, func(t *testing.T) {
			var refused *pgconn.PgError
			if err := change(test.set); !errors.As(err, &refused) || refused.Code != "23514" || refused.ConstraintName != test.constraint {
				t.Errorf("%s: %v, want a violation of %s", test.set, err, test.constraint)
			}
			if err := change(test.edge); err != nil {
				t.Errorf("%s: %v", test.edge, err)
			}
		})
	}
	added, err := os.ReadFile("00011_checks.sql")
	if err != nil {
		t.Fatal(err)
	}
	names := regexp.MustCompile(`ADD CONSTRAINT (\w+)`).FindAllStringSubmatch(string(added), -1)
	if len(names) < 15 {
		t.Errorf("found %d checks in the migration", len(names))
	}
	for _, m := range names {
		if !tried[m[1]] {
			t.Errorf("no row was tried against %s", m[1])
		}
	}
	var unchecked []string
	rows, err := pool.Query(ctx, `SELECT conrelid::regclass || '.' || conname FROM pg_constraint WHERE NOT convalidated`)
	if err == nil {
		unchecked, err = pgx.CollectRows(rows, pgx.RowTo[string])
	}
	if err != nil || len(unchecked) > 0 {
		t.Errorf("rows that stood before were not looked at for %v: %v", unchecked, err)
	}
}

var errTakeBack = errors.New("take it back")

// leadsWithClub are the keys and indexes whose first column is the club, each
// with the reason. All others lead with the id that rows are looked up by: ids
// are given once in the whole database, and where an index led with the club,
// Postgres could take it for "all rows of the club" and read a million of them.
var leadsWithClub = map[string]string{
	"member_pkey":                  "members are listed club by club, and are few",
	"member_club_id_person_id_key": "a person once in a club",
	"rules_pkey":                   "versions count from 1 in each club",
	"box_kind_pkey":                "names are a club's own",
	"apiary_club_id_name_key":      "names are a club's own",
	"box_spare":                    "boxes in store hang below no apiary",
	"message_pkey":                 "the page lists a club's newest first",
	"message_club_id_key_key":      "keys are a club's own",
	"message_state":                "the page lists a club's newest in a state",
	"message_day":                  "deciding reads a club's last weeks",
	"told_club_id_member_id_visit_id_about_key": "deciding reads a club's whole",
	"decided_pkey":         "one row a club",
	"calendar_link_pkey":   "links are listed club by club, and are few",
	"calendar_entry_pkey":  "what a link showed of some visits is read, and links are a club's own",
	"calendar_entry_visit": "a visit is cleared with what was shown of it",
	"forecast_day":         "what is old is cleared club by club",
	"recalibration_pkey":   "one row in four weeks, and the newest holds",
	"visit_move_rules":     "a version counts what it put back, and versions count from 1 in each club",
	"audit_pkey":           "an entry is chained by its club and id",
	"audit_number":         "the page lists a club's newest first, and a chain is walked from its oldest",
	"audit_source":         "one club's are cleared at a time",
	"audit_chain_pkey":     "each club has one chain",
	"inbound_mail_pkey":    "the page lists a club's newest first",
	"opening_note":         "a club's newest notes are looked through, and few openings have one",
	"visit_done":           "the first page asks about a club's visits of the last month",
	"visit_open":           "the first page shows a club's first visits by day, and counts them",
}

func TestOneOrderInKeys(t *testing.T) {
	ctx := context.Background()
	url, _, _ := upgraded(t)
	rows, err := connect(t, url).Query(ctx, `
		SELECT i.indexrelid::regclass::text, a.attname = 'club_id'
		  FROM pg_index i
		  JOIN pg_class c ON c.oid = i.indrelid AND c.relnamespace = 'public'::regnamespace AND c.relname !~ '^(river|goose)_'
		  JOIN pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = i.indkey[0]
		 WHERE EXISTS (SELECT FROM pg_attribute o WHERE o.attrelid = i.indrelid AND o.attname = 'club_id')`)
	if err != nil {
		t.Fatal(err)
	}
	var index string
	var club bool
	seen := map[string]bool{}
	_, err = pgx.ForEachRow(rows, []any{&index, &club}, func() error {
		seen[index] = true
		if _, listed := leadsWithClub[index]; club != listed {
			t.Errorf("%s leads with the club: %t, and is in the list of those that do: %t", index, club, listed)
		}
		return nil
	})
	if err != nil || len(seen) < 30 {
		t.Errorf("looked at %d indexes: %v", len(seen), err)
	}
	for index := range leadsWithClub {
		if !seen[index] {
			t.Errorf("there is no index %s", index)
		}
	}
}
