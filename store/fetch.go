package store

import (
	"context"
	"errors"
	"maps"
	"slices"
	"time"
)

// Fetch is one or more readings of a link since the last flush.
type Fetch struct {
	ClubID, LinkID int64
	At             time.Time // of the last one
	Client         string    // what it says it is; at most 200 bytes are kept
	Count          int64
}

// FlushFetches notes when links were last read, and by what. It is called once
// a minute with what gathered, never once a request. Links that are no more
// are passed over.
func (s *Store) FlushFetches(ctx context.Context, fetches []Fetch) error {
	byClub := map[int64][]Fetch{}
	for _, f := range fetches {
		byClub[f.ClubID] = append(byClub[f.ClubID], f)
	}
	var failed []error
	for _, club := range slices.Sorted(maps.Keys(byClub)) {
		failed = append(failed, s.InClub(ctx, club, func(tx *Tx) error { return tx.flushFetches(ctx, byClub[club]) }))
	}
	return errors.Join(failed...)
}

func (tx *Tx) flushFetches(ctx context.Context, fetches []Fetch) error {
	slices.SortFunc(fetches, func(a, b Fetch) int { return int(a.LinkID - b.LinkID) })
	n := len(fetches)
	link, count, client, at := make([]int64, n), make([]int64, n), make([]string, n), make([]time.Time, n)
	for i, f := range fetches {
		link[i], count[i], at[i] = f.LinkID, f.Count, f.At
		client[i] = validText(f.Client, 200)
	}
	_, err := tx.tx.Exec(ctx, `
		UPDATE calendar_link l SET fetches = l.fetches + u.count, fetched_at = greatest(l.fetched_at, u.at), fetched_by = u.client
		  FROM unnest($1::bigint[], $2::bigint[], $3::timestamptz[], $4::text[]) AS u(id, count, at, client)
		 WHERE l.id = u.id`, link, count, at, client)
	return tx.wrap(err, "note the readings of %d calendar addresses", n)
}
