package store

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"pgregory.net/rapid"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store/storetest"
)

// owner runs statements as whoever owns the tables, for rows of long ago.
func owner(t testing.TB, s *Store, statements ...string) {
	t.Helper()
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, storetest.Owner(s.cfg.URL))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	for _, sql := range statements {
		if _, err := conn.Exec(ctx, sql); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
}

// rowsOf lists one column of a table, sorted.
func rowsOf(t testing.TB, s *Store, sql string) []string {
	t.Helper()
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, storetest.Owner(s.cfg.URL))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	rows, err := conn.Query(ctx, sql)
	if err != nil {
		t.Fatal(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(out)
	return out
}

// civil is a moment of the day that the tests plan for, some days on.
func civil(days int) time.Time {
	return time.Date(2027, time.June, 1, 12, 0, 0, 0, time.UTC).AddDate(0, 0, days)
}

func TestClearKeepsItsTimes(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	member, apiary := c.Members[0].ID, c.Apiaries[0].ID
	for _, m := range []struct {
		key, state, times string
		ago               int
	}{
		{"old, sent", "sent", "sent_at", MessagesKept + 1},
		{"old, passed over", "passed-over", "closed_at", MessagesKept + 1},
		{"old, refused", "refused", "closed_at", MessagesKept + 1},
		{"old, given up", "given-up", "closed_at", MessagesKept + 1},
		{"at its last day, sent", "sent", "sent_at", MessagesKept},
		{"young, sent", "sent", "sent_at", 1},
	} {
		owner(t, s, fmt.Sprintf(`
			INSERT INTO message (club_id, key, kind, member_id, address, on_day, message_id, state, %s)
			VALUES (%d, '%s', 'day', %d, 'a@example.org', '%s', '%[3]s', '%[6]s', now())`,
			m.times, club, m.key, member, today-scheduler.Date(m.ago), m.state))
	}
	owner(t, s, fmt.Sprintf(`
		INSERT INTO message (club_id, key, kind, member_id, address, on_day, message_id, state)
		VALUES (%d, 'old, still owed', 'day', %d, 'a@example.org', '%s', 'm', 'owed')`, club, member, today-MessagesKept-1))
	for i, v := range []struct {
		uid, status   string
		visit, on, at int // days ago: of the visit, told for, told on
	}{
		{"old, done", "done", ToldKept + 1, ToldKept + 1, ToldKept + 9},
		{"old, missed", "missed", ToldKept + 1, ToldKept + 5, ToldKept + 9},
		{"old, but open still", "confirmed", ToldKept + 1, ToldKept + 1, ToldKept + 9},
		{"old, told for later", "done", ToldKept + 1, ToldKept, ToldKept + 9},
		{"old, told of not long ago", "done", ToldKept + 1, ToldKept + 1, ToldKept},
		{"at its last day", "done", ToldKept, ToldKept + 1, ToldKept + 9},
	} {
		ago := func(days int) scheduler.Date { return today - scheduler.Date(days) }
		owner(t, s,
			fmt.Sprintf(`INSERT INTO visit (club_id, id, uid, apiary_id, on_day, status) VALUES (%d, %d, '%s', %d, '%s', '%s')`,
				club, 9000+i, v.uid, apiary, ago(v.visit), v.status),
			fmt.Sprintf(`INSERT INTO told (club_id, member_id, visit_id, about, kind, on_day, told_on) VALUES (%d, %d, %d, '', 'day', '%s', '%s')`,
				club, member, 9000+i, ago(v.on), ago(v.at)))
	}
	owner(t, s,
		fmt.Sprintf(`INSERT INTO told (club_id, member_id, about, kind, told_on) VALUES (%d, %d, 'overdue', 'overdue', '2020-01-01')`, club, member),
		fmt.Sprintf(`INSERT INTO audit (club_id, action, subject, at) VALUES
			(%d, 'change rules', 'old', now() - interval '4 years 1 minute'), (%[1]d, 'change rules', 'young', now() - interval '4 years' + interval '1 hour')`, club),
		fmt.Sprintf(`INSERT INTO sign_in_token (token_hash, person_id, created_at, expires_at) SELECT decode(repeat(h, 32), 'hex'), p.id, e - interval '1 hour', e
			FROM (SELECT min(id) AS id FROM person) p, (VALUES
			('0a', now() - interval '%d days 1 minute'), ('0b', now() - interval '%[1]d days' + interval '1 hour'), ('0c', now() + interval '1 hour')) v(h, e)`, TokensKept))
	for _, move := range []struct{ visit, version, ago int }{{9000, 2, MovesKept + 1}, {9000, 3, MovesKept}, {9001, 2, 1}} {
		if move.visit == 9000 {
			owner(t, s, fmt.Sprintf(`INSERT INTO rules (club_id, version, document) VALUES (%d, %d, '{}')`, club, move.version))
		}
		owner(t, s, fmt.Sprintf(`
			INSERT INTO visit_move (club_id, visit_id, rules_version, rules_before, was_day, was_status, was_sequence, on_day, sequence, moved_on)
			VALUES (%d, %d, %d, 1, '2027-06-09', 'confirmed', 0, '2027-06-12', 1, '%s')`, club, move.visit, move.version, today-scheduler.Date(move.ago)))
	}
	want := Cleared{Messages: 4, Told: 2, Audit: 1, Tokens: 1, Moves: 1}
	if got, err := s.Clear(ctx, civil(0)); err != nil || got != want {
		t.Errorf("cleared %+v, want %+v: %v", got, want, err)
	}
	for _, test := range []struct {
		what, sql string
		want      []string
	}{
		{"messages", `SELECT key FROM message`, []string{"at its last day, sent", "old, still owed", "young, sent"}},
		{"told", `SELECT coalesce(v.uid, t.about) FROM told t LEFT JOIN visit v ON v.id = t.visit_id`, []string{
			"at its last day", "old, but open still", "old, told for later", "old, told of not long ago", "overdue",
		}},
		{"moves", `SELECT visit_id || ' by ' || rules_version FROM visit_move`, []string{"9000 by 3", "9001 by 2"}},
		{"audit", `SELECT subject FROM audit`, []string{"young"}},
		{"tokens", `SELECT left(encode(token_hash, 'hex'), 2) FROM sign_in_token`, []string{"0b", "0c"}},
	} {
		if got := rowsOf(t, s, test.sql); !slices.Equal(got, test.want) {
			t.Errorf("of %s are left %q, want %q", test.what, got, test.want)
		}
	}
	if got, err := s.Clear(ctx, civil(0)); err != nil || got != (Cleared{}) {
		t.Errorf("cleared again %+v: %v", got, err)
	}
	if got, err := s.Clear(ctx, civil(1)); err != nil || got.Messages != 1 {
		t.Errorf("cleared the day after %+v: %v", got, err)
	}
}

// Many rows go in several transactions, in every club, and what pointed to
// messages stays.
func TestClearInBatches(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	first, second := importSample(t, s), importSample(t, s)
	for club, n := range map[int64]int{first: 2*clearAtOnce + 7, second: 3} {
		owner(t, s,
			fmt.Sprintf(`
				INSERT INTO message (club_id, key, kind, address, on_day, message_id, state, sent_at)
				SELECT %d, 'k' || i, 'day', 'a@example.org', '2020-01-01', 'm%[1]d-' || i, 'sent', now() FROM generate_series(1, %d) i`, club, n),
			fmt.Sprintf(`INSERT INTO audit (club_id, action, subject, at) SELECT %d, 'a', 's', '2019-01-01' FROM generate_series(1, %d)`, club, n),
			fmt.Sprintf(`
				INSERT INTO told (club_id, member_id, about, kind, told_on, message_id)
				SELECT %d, (SELECT min(id) FROM member WHERE club_id = %[1]d), 'overdue', 'overdue', '2020-01-01', (SELECT min(id) FROM message WHERE club_id = %[1]d)`, club))
	}
	all := 2*clearAtOnce + 10
	got, err := s.Clear(ctx, civil(0))
	if want := (Cleared{Messages: all, Audit: all}); err != nil || got != want {
		t.Errorf("cleared %+v, want %+v: %v", got, want, err)
	}
	if left := rowsOf(t, s, `SELECT coalesce(message_id::text, 'no message') FROM told`); !slices.Equal(left, []string{"no message", "no message"}) {
		t.Errorf("told is %q", left)
	}
}

// The serving role takes nothing away from the trail that is younger than what
// is stated, and nothing of another club's.
func TestAuditIsKept(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club, other := importSample(t, s), importSample(t, s)
	for _, c := range []int64{club, other} {
		owner(t, s, fmt.Sprintf(`INSERT INTO audit (club_id, action, subject, at) VALUES (%d, 'a', 'old', '2019-01-01'), (%[1]d, 'a', 'young', now())`, c))
	}
	inClub(t, s, club, func(tx *Tx) error {
		n, err := tx.clearAudit(ctx)
		if n != 1 {
			t.Errorf("%d lines went", n)
		}
		return err
	})
	if got, want := rowsOf(t, s, `SELECT club_id || ' ' || subject FROM audit`), []string{
		fmt.Sprintf("%d young", club), fmt.Sprintf("%d old", other), fmt.Sprintf("%d young", other),
	}; !slices.Equal(got, want) {
		t.Errorf("left %q, want %q", got, want)
	}
	if def := rowsOf(t, s, `SELECT pg_get_functiondef('clear_audit'::regproc)`)[0]; !strings.Contains(def, fmt.Sprintf("interval '%d years'", AuditKeptYears)) {
		t.Errorf("the database keeps the trail for another time than AuditKeptYears: %s", def)
	}
}

// Whatever stands in the tables, deciding is shown the same after clearing as
// before, on that day and on every later one.
func TestClearingChangesNoDecision(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	apiary, members := c.Apiaries[0].ID, []int64{c.Members[0].ID, c.Members[1].ID}
	cleared := 0
	rapid.Check(t, func(rt *rapid.T) {
		// Days around those at which something is cleared or read no more.
		around := func(label string) scheduler.Date {
			edge := rapid.SampledFrom([]int{0, keysKept, ToldKept, ToldKept + keysKept, 2 * ToldKept}).Draw(rt, label+" edge")
			return today - scheduler.Date(edge+rapid.IntRange(-3, 3).Draw(rt, label))
		}
		status := rapid.SampledFrom([]string{"tentative", "confirmed", "done", "missed", "cancelled"})
		later := rapid.IntRange(0, 60).Draw(rt, "days later")
		err := s.InClub(ctx, club, func(tx *Tx) error {
			exec := func(sql string, args ...any) {
				if _, err := tx.tx.Exec(ctx, sql, args...); err != nil {
					rt.Fatalf("%s: %v", sql, err)
				}
			}
			for i := range rapid.IntRange(1, 8).Draw(rt, "visits") {
				st, on := status.Draw(rt, "status"), around("visit")
				exec(`INSERT INTO visit (club_id, id, uid, apiary_id, on_day, status, cancelled_until)
					VALUES ($1, $2::bigint, 'r' || $2::bigint, $3, $4::date, $5::text, CASE WHEN $5::text = 'cancelled' THEN $4::date END)`, club, 9000+i, apiary, on, st)
				for _, m := range members {
					var on *scheduler.Date
					if rapid.Bool().Draw(rt, "for a day") {
						d := around("told for")
						on = &d
					}
					exec(`INSERT INTO told (club_id, member_id, visit_id, about, kind, on_day, told_on) VALUES ($1, $2, $3, '', 'digest', $4, $5)`,
						club, m, 9000+i, on, around("told on"))
				}
			}
			exec(`INSERT INTO told (club_id, member_id, about, kind, told_on) VALUES ($1, $2, 'overdue', 'overdue', $3)`, club, members[0], around("overdue"))
			for i := range rapid.IntRange(1, 8).Draw(rt, "messages") {
				exec(`INSERT INTO message (club_id, key, kind, address, on_day, message_id, state, sent_at, closed_at)
					VALUES ($1, 'r' || $2::text, 'day', 'a@example.org', $3, 'r' || $2::text, $4::text,
						CASE WHEN $4::text = 'sent' THEN now() END, CASE WHEN $4::text = 'refused' THEN now() END)`,
					club, fmt.Sprint(i), around("owed"), rapid.SampledFrom([]string{"owed", "sent", "refused"}).Draw(rt, "state"))
			}
			shown := func() (told []owed.Told, keys []string) {
				turn, err := tx.TakeTurn(ctx, civil(later))
				if err != nil {
					rt.Fatal(err)
				}
				for i := range 8 {
					if key := fmt.Sprintf("r%d", i); turn.Before.Seen(key) {
						keys = append(keys, key)
					}
				}
				return turn.Before.Told, keys
			}
			told, keys := shown()
			messages, err := tx.clearMessages(ctx, today-MessagesKept)
			if err != nil {
				return err
			}
			rows, err := tx.clearTold(ctx, today-ToldKept)
			if err != nil {
				return err
			}
			cleared += messages + rows
			toldNow, keysNow := shown()
			if !reflect.DeepEqual(told, toldNow) || !slices.Equal(keys, keysNow) {
				rt.Errorf("shown\n%+v %q\nand after clearing\n%+v %q", told, keys, toldNow, keysNow)
			}
			return errTakeBack
		})
		if err != errTakeBack {
			rt.Fatal(err)
		}
	})
	if cleared == 0 {
		t.Error("nothing was ever cleared")
	}
}

// errTakeBack takes back what a try wrote.
var errTakeBack = fmt.Errorf("take it back")
