package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// ClubIDs lists every club of the installation.
func (s *Store) ClubIDs(ctx context.Context) ([]int64, error) {
	rows, err := s.pool.Query(ctx, `SELECT club_ids()`)
	if err != nil {
		return nil, fmt.Errorf("list the clubs: %w", err)
	}
	ids, err := collectIDs(rows)
	if err != nil {
		return nil, fmt.Errorf("list the clubs: %w", err)
	}
	return ids, nil
}

// ClubVersion is what may be known of a club without looking into it.
type ClubVersion struct {
	ID   int64
	Feed int64 // the number that rises whenever what a calendar shows changes
	With int64 // the lowest of the clubs that share people with it, or with ones that do
	// QuietUntil is before when nothing new is owed; zero where nobody found that,
	// or something that people see has changed since.
	QuietUntil time.Time
}

// ClubVersions lists every club of the installation, in the order of their ids.
func (s *Store) ClubVersions(ctx context.Context) ([]ClubVersion, error) {
	rows, err := s.pool.Query(ctx, `SELECT club_id, feed_version, shares_people_with, quiet_until FROM club_versions()`)
	if err != nil {
		return nil, fmt.Errorf("list the clubs: %w", err)
	}
	lowest := map[int64]int64{}
	var find func(club int64) int64
	find = func(club int64) int64 {
		if lower, ok := lowest[club]; ok {
			lowest[club] = find(lower)
			return lowest[club]
		}
		return club
	}
	clubs, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (c ClubVersion, err error) {
		var shares []int64
		var quiet *time.Time
		err = row.Scan(&c.ID, &c.Feed, &shares, &quiet)
		c.QuietUntil = orZero(quiet)
		for _, other := range shares {
			if a, b := find(c.ID), find(other); a != b {
				lowest[max(a, b)] = min(a, b)
			}
		}
		return c, err
	})
	if err != nil {
		return nil, fmt.Errorf("list the clubs: %w", err)
	}
	for i := range clubs {
		clubs[i].With = find(clubs[i].ID)
	}
	return clubs, nil
}

// CreateClub makes an empty club with the default rules.
func (s *Store) CreateClub(ctx context.Context, name string) (int64, error) {
	return s.FoundClub(ctx, name, func(*Tx) error { return nil })
}

// FoundClub makes a club with the default rules and does in it what fn does, in
// one transaction: whatever fails, there is no club, nor anybody in it.
func (s *Store) FoundClub(ctx context.Context, name string, fn func(*Tx) error) (int64, error) {
	var id int64
	err := s.pool.QueryRow(ctx, `SELECT nextval(pg_get_serial_sequence('club', 'id'))`).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("make the club %q: %w", name, err)
	}
	rules := scheduler.DefaultRules()
	document, err := encodeRules(&rules)
	if err != nil {
		return 0, err
	}
	err = s.InClub(ctx, id, func(tx *Tx) error {
		var b pgx.Batch
		b.Queue(`INSERT INTO club (id, name) VALUES ($1, $2)`, id, name)
		b.Queue(`INSERT INTO rules (club_id, version, document) VALUES ($1, 1, $2)`, id, document)
		if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
			return tx.wrap(err, "make the club %q", name)
		}
		return fn(tx)
	})
	if err != nil {
		return 0, err
	}
	return id, nil
}

// DeleteClub removes a club with everything in it, and the persons who belong
// to no other.
func (s *Store) DeleteClub(ctx context.Context, club int64) error {
	return s.InClub(ctx, club, func(tx *Tx) error {
		persons, err := tx.ids(ctx, `SELECT person_id FROM member ORDER BY person_id`)
		if err != nil {
			return tx.wrap(err, "list the members")
		}
		tx.feedChanged()
		tx.raiseFeed() // now, while there is a version to raise
		if err := tx.one(ctx, "delete everything", `DELETE FROM club WHERE id = $1`, club); err != nil {
			return err
		}
		for _, p := range persons {
			if err := tx.forgetPerson(ctx, p); err != nil {
				return err
			}
		}
		return nil
	})
}

// Name is the club's.
func (tx *Tx) Name(ctx context.Context) (name string, err error) {
	err = tx.tx.QueryRow(ctx, `SELECT name FROM club`).Scan(&name)
	return name, tx.wrap(err, "read the name")
}

// RenameClub gives the club another name.
func (tx *Tx) RenameClub(ctx context.Context, name string) error {
	tx.feedChanged()
	return tx.one(ctx, "rename", `UPDATE club SET name = $2 WHERE id = $1`, tx.club, name)
}
