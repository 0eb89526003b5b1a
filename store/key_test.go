package store

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"pryday/scheduler/text"
	"pryday/store/storetest"
)

func TestKeysRotateInTime(t *testing.T) {
	t.Parallel()
	s := open(t)
	ctx, url := WithOrigin(context.Background(), Origin{Command: "ansel"}), storetest.Owner(s.cfg.URL)
	clubs := []int64{importSample(t, s), importSample(t, s)}
	keys := func(of *Store, name string) *Keys {
		t.Helper()
		k, err := of.Keys(ctx, name)
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	mails, cookies := keys(s, "mails"), keys(s, "cookies")
	first := mails.Signing()
	if len(first) != 32 || string(first) == string(cookies.Signing()) || len(mails.Valid()) != 1 {
		t.Fatalf("keys of %d bytes, %d valid", len(first), len(mails.Valid()))
	}
	another, err := Open(ctx, Config{URL: s.cfg.URL, MaxConns: 1, Apart: true}) // another daemon
	if err != nil {
		t.Fatal(err)
	}
	defer another.Close()
	if string(keys(another, "mails").Signing()) != string(first) {
		t.Error("another daemon has other keys")
	}

	rotate := func(keep time.Duration) []KeyInfo {
		t.Helper()
		all, err := RotateKeys(ctx, url, keep, text.New("command.keys.ended"))
		if err != nil {
			t.Fatal(err)
		}
		if err := s.ReloadKeys(ctx); err != nil {
			t.Fatal(err)
		}
		return all
	}
	listed := rotate(time.Hour)
	second := mails.Signing()
	if got := mails.Valid(); string(second) == string(first) || len(got) != 2 || string(got[0]) != string(second) || string(got[1]) != string(first) {
		t.Errorf("during the overlap %d keys are valid", len(got))
	}
	if len(cookies.Valid()) != 2 || len(listed) != 4 {
		t.Errorf("%d cookie keys; listed %+v", len(cookies.Valid()), listed)
	}
	for i, k := range listed {
		signs := k.EndsAt == nil
		if signs != (i%2 == 0) || !signs && (time.Until(*k.EndsAt) < 59*time.Minute || time.Until(*k.EndsAt) > time.Hour) {
			t.Errorf("listed %+v", k)
		}
	}
	if got := keys(another, "mails").Valid(); len(got) != 1 {
		t.Errorf("a daemon that was not told has %d", len(got))
	}

	// A later rotation does not lengthen what an earlier one gave.
	rotate(48 * time.Hour)
	if got := mails.Valid(); len(got) != 3 || string(got[2]) != string(first) {
		t.Errorf("after the second rotation %d are valid", len(got))
	}
	if n := len(rowsOf(t, s, `SELECT name FROM secret WHERE ends_at < now() + interval '2 hours'`)); n != 2 {
		t.Errorf("%d of the first keys end within two hours", n)
	}
	owner(t, s, `UPDATE secret SET ends_at = now() - interval '1 second' WHERE ends_at < now() + interval '2 hours'`)
	if err := s.ReloadKeys(ctx); err != nil {
		t.Fatal(err)
	}
	if got := mails.Valid(); len(got) != 2 || slices.ContainsFunc(got, func(k []byte) bool { return string(k) == string(first) }) {
		t.Errorf("after its end the first key is valid still, with %d", len(got))
	}
	if n := len(rowsOf(t, s, `SELECT name FROM secret WHERE ends_at < now()`)); n != 0 {
		t.Errorf("%d keys that ended are kept", n)
	}

	// Somebody else has them: nothing of before counts.
	rotate(0)
	if len(mails.Valid()) != 1 || len(rowsOf(t, s, `SELECT name FROM secret`)) != 2 {
		t.Errorf("%d are valid at once after", len(mails.Valid()))
	}
	for _, club := range clubs {
		inClub(t, s, club, func(tx *Tx) error {
			trail, err := tx.AuditTrail(ctx, 0, 0, 10)
			var noted int
			for _, e := range trail {
				if e.Action == "rotate keys" && e.Command == "ansel" && strings.Contains(string(e.Detail), "command.keys.ended") {
					noted++
				}
			}
			if noted != 3 {
				t.Errorf("noted %d of three rotations: %+v", noted, trail)
			}
			return err
		})
		if f := verify(t, s, club); f.Fault != "" {
			t.Errorf("the trail does not fit: %+v", f)
		}
	}
	if _, err := RotateKeys(ctx, storetest.Serving(url), time.Hour, text.New("command.keys.ended")); code(err) != "42501" {
		t.Errorf("the serving role rotates keys: %v", err)
	}
}

// A key that ends while a daemon runs which hears nothing ends there too.
func TestKeysEndByTheClock(t *testing.T) {
	t.Parallel()
	k := &Keys{}
	k.all.Store(&[]key{{value: []byte("new")}, {value: []byte("old"), endsAt: time.Now().Add(time.Hour)}, {value: []byte("older"), endsAt: time.Now().Add(-time.Second)}})
	if got := k.Valid(); len(got) != 2 || string(got[1]) != "old" || string(k.Signing()) != "new" {
		t.Errorf("valid %q", got)
	}
}
