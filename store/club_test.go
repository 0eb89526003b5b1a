package store

import (
	"context"
	"fmt"
	"testing"
)

// TestClubVersions: all clubs with the versions of their calendars; those that
// share people, be it by way of another club, name the same one.
func TestClubVersions(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	people := [][]string{{"a", "b"}, {"c"}, {"d", "e"}, {"e", "b"}, {}, {"c", "f"}}
	with := []int{0, 1, 0, 0, 4, 1}
	ids := make([]int64, len(people))
	for i, names := range people {
		var err error
		if ids[i], err = s.CreateClub(ctx, fmt.Sprint("Club ", i)); err != nil {
			t.Fatal(err)
		}
		inClub(t, s, ids[i], func(tx *Tx) error {
			for _, name := range names {
				m := sampleClub().Members[0]
				m.Email = name + "@example.org"
				if _, err := tx.AddMember(ctx, m); err != nil {
					return err
				}
			}
			return tx.RenameClub(ctx, fmt.Sprint("Club no ", i))
		})
	}
	got, err := s.ClubVersions(ctx)
	if err != nil || len(got) != len(ids) {
		t.Fatalf("%+v: %v", got, err)
	}
	for i, c := range got {
		var want ClubVersion
		inClub(t, s, ids[i], func(tx *Tx) (err error) {
			want = ClubVersion{ID: ids[i], With: ids[with[i]]}
			want.Feed, err = tx.FeedVersion(ctx)
			return err
		})
		if c != want || c.Feed == 0 {
			t.Errorf("%+v, want %+v", c, want)
		}
	}
}
