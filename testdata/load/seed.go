package main

import (
	"context"
	"fmt"
	"iter"
	"time"

	"github.com/jackc/pgx/v5"
)

// seed makes the association: so many clubs, and one row of each thing at a
// time into COPY.
func (b *bed) seed(ctx context.Context, clubs int) error {
	if b.kept {
		return b.find(ctx, clubs)
	}
	// The first club is made as people make one; its rules serve for all.
	if _, err := b.store.CreateClub(ctx, "The Association's Office"); err != nil {
		return err
	}
	b.clubs = association(clubs)
	return b.fill(ctx, b.clubs...)
}

// association is its clubs, which follow that of its office.
func association(clubs int) []club {
	all := make([]club, clubs)
	for i := range all {
		all[i] = club{id: int64(i + 2), name: fmt.Sprintf("Valley Club %04d", i+1), apiaries: 40, members: 20}
	}
	return all
}

// find takes the association of an earlier run, to which clubs may have been added.
func (b *bed) find(ctx context.Context, clubs int) error {
	var there int
	err := b.owner.QueryRow(ctx, `SELECT count(*) FROM club WHERE name LIKE 'Valley Club %'`).Scan(&there)
	if err == nil && there != clubs {
		err = fmt.Errorf("-boxes %d: the association that was kept has %d", clubs*1000, there*1000)
	}
	b.clubs = association(clubs)
	return err
}

// fill writes clubs down.
func (b *bed) fill(ctx context.Context, clubs ...club) error {
	var rules string
	if err := b.owner.QueryRow(ctx, `SELECT document::text FROM rules WHERE club_id = 1`).Scan(&rules); err != nil {
		return err
	}
	began, all := time.Now(), int64(0)
	tx, err := b.owner.Begin(ctx)
	if err != nil {
		return err
	}
	defer tx.Rollback(context.WithoutCancel(ctx))
	for _, t := range []struct {
		table   string
		columns []string
		rows    func(*club, func(...any) bool) bool
	}{
		{"person", []string{"id", "email"}, (*club).persons},
		{"club", []string{"id", "name"}, func(c *club, yield func(...any) bool) bool { return yield(c.id, c.name) }},
		{"rules", []string{"club_id", "version", "document"}, func(c *club, yield func(...any) bool) bool { return yield(c.id, int32(1), rules) }},
		{"member", []string{"club_id", "id", "person_id", "name", "role"}, (*club).membersOf},
		{"apiary", []string{"club_id", "id", "name", "latitude", "longitude", "elevation_m", "timezone"}, (*club).apiariesOf},
		{"apiary_keeper", []string{"club_id", "apiary_id", "member_id", "position"}, (*club).keepers},
		{"hive", []string{"club_id", "id", "apiary_id", "name", "requeened"}, (*club).hives},
		{"box", []string{"club_id", "id", "name", "kind", "set_up_on", "hive_id", "position"}, (*club).boxes},
		{"opening", []string{"club_id", "id", "box_id", "on_day", "joint", "frames", "scraped", "by_member"}, (*club).openings},
		{"calendar_link", []string{"club_id", "id", "token_hash", "kind", "member_id", "apiary_id"}, (*club).links},
	} {
		n, err := copyIn(ctx, tx, t.table, t.columns, func(yield func([]any) bool) {
			for i := range clubs {
				if !t.rows(&clubs[i], func(row ...any) bool { return yield(row) }) {
					return
				}
			}
		})
		if err != nil {
			return fmt.Errorf("fill %s: %w", t.table, err)
		}
		all += n
	}
	for _, table := range []string{"person", "club", "member", "apiary", "hive", "box", "calendar_link"} {
		if _, err := tx.Exec(ctx, fmt.Sprintf(`SELECT setval(pg_get_serial_sequence('%[1]s', 'id'), (SELECT max(id) FROM %[1]s))`, table)); err != nil {
			return fmt.Errorf("fill %s: %w", table, err)
		}
	}
	if err := tx.Commit(ctx); err != nil {
		return err
	}
	if err := b.tidy(ctx); err != nil {
		return err
	}
	fmt.Printf("%d clubs, %s rows in %s\n", len(clubs), grouped(int(all)), time.Since(began).Round(100*time.Millisecond))
	return nil
}

// tidy leaves the tables as autovacuum leaves those of a service that runs: marked
// as seen by all, so that reading them writes nothing, and counted.
func (b *bed) tidy(ctx context.Context) error {
	_, err := b.owner.Exec(ctx, `VACUUM (ANALYZE)`)
	return err
}

func copyIn(ctx context.Context, tx pgx.Tx, table string, columns []string, rows iter.Seq[[]any]) (int64, error) {
	next, stop := iter.Pull(rows)
	defer stop()
	return tx.CopyFrom(ctx, pgx.Identifier{table}, columns, pgx.CopyFromFunc(func() ([]any, error) {
		row, ok := next()
		if !ok {
			return nil, nil
		}
		return row, nil
	}))
}
