package store

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/store/storetest"
	"pryday/testdata/testrun"
)

// A link that signs in and a sign-out everywhere meet: whichever has its locks
// first, nobody is signed in afterwards. Both orders are held by a transaction
// that is under way while the other one waits for it.
func TestSignOutEverywhereMeetsALinkInUse(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	const (
		use  = `SELECT sign_in FROM use_sign_in_token($1, '', '', '', '')`
		ends = `SELECT 0::bigint FROM sign_out($1, false, false)`
	)
	for _, c := range []struct {
		name string
		// first is begun and not committed until the other one waits.
		first  string
		arg    func(person int64, token string) any
		second func(s *Store, person int64, token string) error
		want   error // of the second
	}{
		{
			"the link first", use, func(_ int64, token string) any { return hashToken(token) },
			func(s *Store, person int64, _ string) error { return s.SignOutEverywhere(ctx, person, Everywhere{}) }, nil,
		},
		{
			"the sign-out first", ends, func(person int64, _ string) any { return person },
			func(s *Store, _ int64, token string) error {
				_, _, err := s.UseSignIn(ctx, token, Device{})
				return err
			}, ErrTokenSpent,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := open(t)
			_, _, person := inTwoClubs(t, s)
			token, err := s.NewSignIn(ctx, person, time.Hour)
			if err != nil {
				t.Fatal(err)
			}
			owner, err := pgx.Connect(ctx, storetest.Owner(s.cfg.URL))
			if err != nil {
				t.Fatal(err)
			}
			defer owner.Close(ctx)
			tx, err := owner.Begin(ctx)
			if err != nil {
				t.Fatal(err)
			}
			var signIn int64
			if err := tx.QueryRow(ctx, c.first, c.arg(person, token)).Scan(&signIn); err != nil {
				t.Fatal(err)
			}
			second := make(chan error, 1)
			go func() { second <- c.second(s, person, token) }()
			testrun.Until(t, "the other one waits for it", someoneWaits(t, s))
			if err := tx.Commit(ctx); err != nil {
				t.Fatal(err)
			}
			if err := <-second; !errors.Is(err, c.want) {
				t.Errorf("the second came to %v, want %v", err, c.want)
			}
			if all, err := s.SignIns(ctx, person, ninetyDays); err != nil || len(all) != 0 {
				t.Errorf("sign-ins that hold: %+v, %v", all, err)
			}
			if signIn != 0 && signsIn(t, s, person, signIn) != nil {
				t.Error("the session of the link holds")
			}
		})
	}
}
