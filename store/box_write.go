package store

import (
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// boxColumn holds boxes column by column, as unnest takes them.
type boxColumn struct {
	id, hive       []int64
	position       []int
	name, kind     []string
	setUp, retired []scheduler.Date
	guessed        []scheduler.Date
	answered       []bool
}

func boxColumns(pairs []*boxPair) boxColumn {
	var t boxColumn
	for _, p := range pairs {
		t.id, t.hive, t.position = append(t.id, p.id), append(t.hive, p.hive), append(t.position, p.position)
		t.name, t.kind = append(t.name, p.doc.Name), append(t.kind, p.doc.Kind)
		t.setUp, t.retired = append(t.setUp, p.doc.SetUpOn), append(t.retired, p.doc.RetiredOn)
		t.guessed, t.answered = append(t.guessed, p.doc.GuessedOn), append(t.answered, p.doc.GuessAnswered)
	}
	return t
}

func (tx *Tx) queueBoxInserts(b *pgx.Batch, fresh []*boxPair) {
	if len(fresh) == 0 {
		return
	}
	t := boxColumns(fresh)
	b.Queue(`
		INSERT INTO box (club_id, id, name, kind, set_up_on, retired_on, hive_id, position, guessed_on, guess_answered)
		SELECT $1::bigint, u.id, u.name, u.kind, u.set_up, u.retired, nullif(u.hive, 0), nullif(u.position, 0), u.guessed, u.answered
		  FROM unnest($2::bigint[], $3::text[], $4::text[], $5::date[], $6::date[], $7::bigint[], $8::int[], $9::date[], $10::bool[])
		       AS u(id, name, kind, set_up, retired, hive, position, guessed, answered)`,
		tx.club, t.id, t.name, t.kind, t.setUp, t.retired, t.hive, t.position, t.guessed, t.answered)
	tx.queueRepaired(b, fresh)
}

// queueBoxUpdates writes all of them in one statement, so that boxes of a
// stack may change places.
func (tx *Tx) queueBoxUpdates(b *pgx.Batch, changed map[int64]*boxPair) {
	if len(changed) == 0 {
		return
	}
	pairs := make([]*boxPair, 0, len(changed))
	for _, p := range changed {
		pairs = append(pairs, p)
	}
	slices.SortFunc(pairs, func(a, b *boxPair) int { return int(a.id - b.id) })
	t := boxColumns(pairs)
	b.Queue(`
		UPDATE box SET name = u.name, kind = u.kind, set_up_on = u.set_up, retired_on = u.retired,
		       hive_id = nullif(u.hive, 0), position = nullif(u.position, 0), guessed_on = u.guessed, guess_answered = u.answered
		  FROM unnest($1::bigint[], $2::text[], $3::text[], $4::date[], $5::date[], $6::bigint[], $7::int[], $8::date[], $9::bool[])
		       AS u(id, name, kind, set_up, retired, hive, position, guessed, answered)
		 WHERE box.id = u.id`, t.id, t.name, t.kind, t.setUp, t.retired, t.hive, t.position, t.guessed, t.answered)
	tx.queueRepaired(b, pairs)
}

// queueRepaired writes the few boxes that have such days one by one.
func (tx *Tx) queueRepaired(b *pgx.Batch, pairs []*boxPair) {
	for _, p := range pairs {
		if len(p.doc.Repaired) > 0 || p.was != nil && len(p.was.doc.Repaired) > 0 {
			b.Queue(`UPDATE box SET repaired = $2 WHERE id = $1`, p.id, orEmpty(p.doc.Repaired))
		}
	}
}

// queuePlaces replaces the history of where a box was.
func (tx *Tx) queuePlaces(b *pgx.Batch, box int64, places []scheduler.BoxPlace) {
	b.Queue(`DELETE FROM box_place WHERE box_id = $1`, box)
	for i, p := range places {
		hive := p.HiveID
		if p.Where != scheduler.OnHive {
			hive = 0
		}
		b.Queue(`
			INSERT INTO box_place (club_id, box_id, n, from_day, place, hive_id, position, lent_to, until_day)
			VALUES ($1, $2, $3, $4, $5, nullif($6, 0), $7, $8, $9)`,
			tx.club, box, i+1, p.From, p.Where, hive, p.Position, p.LentTo, p.Until)
	}
}
