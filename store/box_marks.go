package store

import (
	"context"
	"strings"
)

// NewMark is the mark that a box gets in place of the one that it has.
type NewMark struct {
	BoxID    int64
	Was, Now string
}

// MarkedBox is a box in use and where it stands; hive and apiary are empty in
// store and where it is lent.
type MarkedBox struct {
	ID           int64
	Name         string
	Hive, Apiary string
}

// Marked lists the boxes in use that have one of some marks, whatever their
// case, but for certain boxes.
func (tx *Tx) Marked(ctx context.Context, marks []string, but []int64) ([]MarkedBox, error) {
	folded := make([]string, len(marks))
	for i, m := range marks {
		folded[i] = strings.ToLower(m)
	}
	out, err := list[MarkedBox](ctx, tx, `
		SELECT b.id, b.name, coalesce(h.name, '') AS hive, coalesce(a.name, '') AS apiary
		  FROM box b
		  LEFT JOIN hive h ON h.club_id = b.club_id AND h.id = b.hive_id
		  LEFT JOIN apiary a ON a.club_id = h.club_id AND a.id = h.apiary_id
		 WHERE b.retired_on IS NULL AND lower(b.name) = ANY($1) AND b.id <> ALL($2)
		 ORDER BY b.id`, folded, orEmpty(but))
	return out, tx.wrap(err, "look for boxes marked %q", marks)
}

// AwaitMarks waits until no other transaction gives new marks to boxes of the
// club, and keeps others waiting until this one ends: what Marked then says
// stays true of them.
func (tx *Tx) AwaitMarks(ctx context.Context) error {
	_, err := tx.tx.Exec(ctx, `SELECT pg_advisory_xact_lock(hashtextextended('marks of boxes', $1))`, tx.club)
	return tx.wrap(err, "wait for the marks of boxes")
}

// GiveMarks gives boxes new marks, all of them or none, so that they may
// exchange them. ErrMarkTaken when another box of a hive has one of them, and ErrStackChanged when one is not called what it was, or is on
// none of the places that the change is about: apiary, or, where that is 0, in
// store or lent. No day depends on a mark, so nothing is planned anew.
func (tx *Tx) GiveMarks(ctx context.Context, apiary int64, marks []NewMark) error {
	var ids []int64
	var was, now []string
	for _, m := range marks {
		ids, was, now = append(ids, m.BoxID), append(was, m.Was), append(now, m.Now)
	}
	if _, err := tx.lock(ctx, apiariesOfBoxes, []any{ids}); err != nil {
		return tx.wrap(err, "lock the apiaries of boxes %v", ids)
	}
	done, err := tx.tx.Exec(ctx, `
		UPDATE box SET name = u.now
		  FROM unnest($1::bigint[], $2::text[], $3::text[]) AS u(id, was, now)
		 WHERE box.id = u.id AND box.name = u.was AND box.retired_on IS NULL
		   AND coalesce((SELECT h.apiary_id FROM hive h WHERE h.id = box.hive_id), 0) = $4`, ids, was, now, apiary)
	if err == nil && done.RowsAffected() != int64(len(marks)) {
		err = ErrStackChanged
	}
	if err != nil {
		return tx.wrap(err, "give new marks to boxes %v", ids)
	}
	if err := tx.markedApart(ctx, ids...); err != nil { // one moved since somebody looked
		return err
	}
	tx.feedChanged()
	return nil
}
