package notify_test

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/store"
	"pryday/testdata/testrun"
)

// told is what a club owed from a day on, in words without ids.
func (b *fixture) told(t *testing.T, since scheduler.Date) []string {
	t.Helper()
	var out []string
	for _, m := range b.messages(t) {
		if m.On < since {
			continue
		}
		var items []string
		for _, it := range m.Items {
			items = append(items, fmt.Sprintf("%s %s apiary %d on %s was %s boxes %v", it.Kind, it.Because, it.ApiaryID, it.VisitOn, it.WasOn, it.BoxIDs))
		}
		out = append(out, fmt.Sprintf("%s to %d on %s: %s", m.Kind, m.MemberID, m.On, strings.Join(items, "; ")))
	}
	slices.Sort(out)
	return out
}

// Two clubs with the same records live through the same days, a year and a half
// apart; one is cleared daily. Both are owed the same.
func TestClearingChangesNothingOwed(t *testing.T) {
	t.Parallel()
	kept, cleared := newFixture(t), newFixture(t)
	start := kept.today()
	gone := store.Cleared{}
	day := func(b *fixture) {
		b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
			_, err := tx.ReplanAll(ctx, b.today())
			return err
		})
		tick(t, b.service(t, &nowhere{}))
		// What went out, so that it may be cleared.
		b.exec(t, `UPDATE message SET state = 'sent', sent_at = now() WHERE state = 'owed'`)
	}
	for _, at := range []int{0, 1, 2, 6, 7, 8, 13, 14, 20, 30, 45, 400, 401, 415, 430, 431, 437, 460, 540, 541} {
		for _, b := range []*fixture{kept, cleared} {
			b.clock.civil = b.clock.civil.AddDate(0, 0, at-int(b.today()-start))
			if b == cleared {
				n, err := b.store.Clear(t.Context(), b.clock.civil)
				if err != nil {
					t.Fatal(err)
				}
				gone.Messages += n.Messages
				gone.Told += n.Told
			}
			day(b)
		}
	}
	if gone.Messages == 0 || gone.Told == 0 {
		t.Errorf("cleared %+v: nothing was tried", gone)
	}
	since := start + 401
	want, got := kept.told(t, since), cleared.told(t, since)
	if len(want) == 0 || !slices.Equal(got, want) {
		a, _ := json.MarshalIndent(want, "", " ")
		b, _ := json.MarshalIndent(got, "", " ")
		t.Errorf("owed\n%s\nand where it is cleared daily\n%s", a, b)
	}
	if first := cleared.messages(t)[0].On; first < cleared.today()-store.MessagesKept {
		t.Errorf("a message of %s is still there on %s", first, cleared.today())
	}
}

// A daemon clears by itself when it starts.
func TestDaemonClears(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	b.exec(t, `INSERT INTO sign_in_token (token_hash, person_id, created_at, expires_at)
		SELECT decode(repeat('0a', 32), 'hex'), min(id), '2020-01-01', '2020-01-02' FROM person`)
	left := func() (n int) {
		b.query(t, `SELECT count(*) FROM sign_in_token`, &n)
		return n
	}
	if left() != 1 {
		t.Fatal("no token to clear")
	}
	start(t, b.service(t, &nowhere{}))
	testrun.Until(t, "the token is cleared", func() bool { return left() == 0 })
}
