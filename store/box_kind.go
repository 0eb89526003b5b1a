package store

import (
	"context"

	"pryday/scheduler"
)

const selectKinds = `
	SELECT name, depth_mm, empty_kg, full_kg, frames, width_mm, inside_mm, frame_mm, frame_length_mm, top_bar_mm, rest_mm
	  FROM box_kind ORDER BY name`

// Kinds lists the club's own kinds of box by name.
func (tx *Tx) Kinds(ctx context.Context) ([]scheduler.BoxKind, error) {
	out, err := list[scheduler.BoxKind](ctx, tx, selectKinds)
	return out, tx.wrap(err, "list the kinds of box")
}

// PutKind adds one of the club's own kinds of box, or changes it.
func (tx *Tx) PutKind(ctx context.Context, k scheduler.BoxKind) error {
	_, err := tx.tx.Exec(ctx, `
		INSERT INTO box_kind (club_id, name, depth_mm, empty_kg, full_kg, frames,
		                      width_mm, inside_mm, frame_mm, frame_length_mm, top_bar_mm, rest_mm)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)
		ON CONFLICT (club_id, name) DO UPDATE SET depth_mm = excluded.depth_mm, empty_kg = excluded.empty_kg,
			full_kg = excluded.full_kg, frames = excluded.frames, width_mm = excluded.width_mm,
			inside_mm = excluded.inside_mm, frame_mm = excluded.frame_mm, frame_length_mm = excluded.frame_length_mm,
			top_bar_mm = excluded.top_bar_mm, rest_mm = excluded.rest_mm`,
		tx.club, k.Name, k.DepthMM, k.EmptyKg, k.FullKg, k.Frames,
		k.WidthMM, k.InsideMM, k.FrameMM, k.FrameLengthMM, k.TopBarMM, k.RestMM)
	return tx.wrap(err, "save the kind of box %q", k.Name)
}

// RemoveKind takes one of the club's own kinds out. ErrNotEmpty while a box
// is of it.
func (tx *Tx) RemoveKind(ctx context.Context, name string) error {
	var used bool
	err := tx.tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM box WHERE kind = $1 AND (hive_id = ANY(ARRAY(SELECT id FROM hive WHERE apiary_id = `+anyApiary+`)) OR hive_id IS NULL))`, name).Scan(&used)
	if err == nil && used {
		err = ErrNotEmpty
	}
	if err != nil {
		return tx.wrap(err, "remove the kind of box %q", name)
	}
	return tx.one(ctx, "remove the kind of box "+name, `DELETE FROM box_kind WHERE name = $1`, name)
}
