package store

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// BoxOpening is one opening of one box, to be recorded.
type BoxOpening struct {
	BoxID   int64
	Opening scheduler.Opening // its ID a UUID; empty gets a random one
}

// Recorded tells what recording openings changed.
type Recorded struct {
	New       []string                     // ids of the openings that were not known before
	Before    map[int64]scheduler.BoxState // by box id, those of the apiaries concerned
	After     map[int64]scheduler.BoxState
	Replanned *Replanned // nil when nothing was new or no box stands on a hive
}

// RecordOpenings adds openings and replans the apiaries of their boxes, in
// this transaction. An opening whose ID is known changes nothing. One that
// names another in Supersedes corrects it: ErrSuperseded if that was done
// already, ErrNotFound if the box has no such opening.
func (tx *Tx) RecordOpenings(ctx context.Context, openings []BoxOpening, today scheduler.Date) (*Recorded, error) {
	openings, err := withIDs(openings)
	if err != nil {
		return nil, tx.wrap(err, "record openings")
	}
	boxes := make([]int64, len(openings))
	for i, o := range openings {
		boxes[i] = o.BoxID
	}
	apiaries, err := tx.lockApiariesOf(ctx, boxes)
	if err != nil {
		return nil, err
	}
	r := &Recorded{}
	if r.Before, err = tx.statesByBox(ctx, apiaries); err != nil {
		return nil, err
	}
	r.After = r.Before
	if r.New, err = tx.insertOpenings(ctx, openings); err != nil {
		return nil, err
	}
	if len(r.New) == 0 {
		return r, nil
	}
	tx.feedChanged() // what to bring and to beware of, even where no visit changes
	if len(apiaries) == 0 {
		return r, nil
	}
	if r.Replanned, err = tx.replan(ctx, apiaries, today, firstDay(openings)); err != nil {
		return nil, err
	}
	r.After, err = tx.statesByBox(ctx, apiaries)
	return r, err
}

// RecordOpening is RecordOpenings of one.
func (tx *Tx) RecordOpening(ctx context.Context, box int64, o scheduler.Opening, today scheduler.Date) (*Recorded, error) {
	return tx.RecordOpenings(ctx, []BoxOpening{{BoxID: box, Opening: o}}, today)
}

// Openings reads all openings of a box in the order recorded.
func (tx *Tx) Openings(ctx context.Context, box int64) ([]scheduler.Opening, error) {
	l := &loading{}
	var b pgx.Batch
	l.queueOpeningsWhere(&b, `o.box_id = $1`, `o.seq`, box)
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, tx.wrap(err, "read the openings of box %d", box)
	}
	found := scheduler.Box{ID: box}
	l.addOpenings(map[int64]*scheduler.Box{box: &found})
	return found.Openings, nil
}

func withIDs(openings []BoxOpening) ([]BoxOpening, error) {
	out := slices.Clone(openings)
	for i := range out {
		o := &out[i].Opening
		if o.ID == "" {
			o.ID = uuid.NewString()
		}
		id, err := uuid.Parse(o.ID)
		if err != nil {
			return nil, fmt.Errorf("opening id %q is not a UUID", o.ID)
		}
		o.ID = id.String() // as the database writes it
	}
	return out, nil
}

// firstDay is the earliest day that openings change something about; with a
// correction among them that may be any day.
func firstDay(openings []BoxOpening) scheduler.Date {
	first := scheduler.MaxDate
	for _, o := range openings {
		if o.Opening.Supersedes != "" {
			return everSince
		}
		first = min(first, o.Opening.On)
	}
	return first
}

// lockApiariesOf locks the apiaries that boxes stand at, or stood at if they
// stand on no hive now: an older opening may only now be recorded. Boxes that
// were always in store have none.
func (tx *Tx) lockApiariesOf(ctx context.Context, boxes []int64) ([]int64, error) {
	of := func() ([]int64, error) {
		return tx.ids(ctx, `
			SELECT DISTINCT apiary_id FROM hive WHERE id = ANY(ARRAY(
				SELECT hive_id FROM box WHERE id = ANY($1)
				UNION
				SELECT p.hive_id FROM box_place p JOIN box b ON b.club_id = p.club_id AND b.id = p.box_id
				 WHERE p.box_id = ANY($1) AND b.hive_id IS NULL))
			 ORDER BY 1`, boxes)
	}
	apiaries, err := of()
	if err != nil {
		return nil, tx.wrap(err, "find the apiaries of boxes %v", boxes)
	}
	if len(apiaries) == 0 {
		return nil, nil
	}
	if _, err := tx.lockTogether(ctx, apiaries); err != nil {
		return nil, err
	}
	now, err := of()
	if err == nil && !slices.Equal(apiaries, now) {
		err = errAgain
	}
	return apiaries, tx.wrap(err, "find the apiaries of boxes %v", boxes)
}

func (tx *Tx) statesByBox(ctx context.Context, apiaries []int64) (map[int64]scheduler.BoxState, error) {
	states, err := tx.boxStates(ctx, apiaries)
	out := make(map[int64]scheduler.BoxState, len(states))
	for _, s := range states {
		out[s.BoxID] = s
	}
	return out, err
}

// insertOpenings adds those that are not known and returns their ids.
func (tx *Tx) insertOpenings(ctx context.Context, openings []BoxOpening) ([]string, error) {
	if err := tx.checkSuperseded(ctx, openings); err != nil {
		return nil, err
	}
	n := len(openings)
	id, supersedes, scraped, condition, note := make([]string, n), make([]*string, n), make([]string, n), make([]string, n), make([]string, n)
	box, by := make([]int64, n), make([]int64, n)
	on := make([]scheduler.Date, n)
	joint, frames := make([]int16, n), make([]int16, n)
	shut, void := make([]bool, n), make([]bool, n)
	for i := range openings {
		o := &openings[i].Opening
		id[i], box[i], by[i], on[i] = o.ID, openings[i].BoxID, o.By, o.On
		joint[i], frames[i], shut[i], void[i] = int16(o.Joint), int16(o.Frames), o.LeftShut, o.Void
		scraped[i], condition[i], note[i] = string(o.Scraped), joinConditions(o.Condition), o.Note
		if o.Supersedes != "" {
			supersedes[i] = &o.Supersedes
		}
	}
	rows, err := tx.tx.Query(ctx, `
		INSERT INTO opening (club_id, id, box_id, on_day, joint, frames, left_shut, scraped, condition, note, by_member, supersedes, void)
		SELECT $1::bigint, u.id, u.box, u.on_day, u.joint, u.frames, u.shut, u.scraped, string_to_array(u.condition, ','),
		       u.note, nullif(u.by, 0), u.supersedes, u.void
		  FROM unnest($2::uuid[], $3::bigint[], $4::date[], $5::smallint[], $6::smallint[], $7::bool[], $8::text[], $9::text[],
		              $10::text[], $11::bigint[], $12::uuid[], $13::bool[])
		       WITH ORDINALITY AS u(id, box, on_day, joint, frames, shut, scraped, condition, note, by, supersedes, void, n)
		 ORDER BY u.n
		ON CONFLICT (club_id, id) DO NOTHING RETURNING id::text`,
		tx.club, id, box, on, joint, frames, shut, scraped, condition, note, by, supersedes, void)
	var added []string
	if err == nil {
		added, err = pgx.CollectRows(rows, pgx.RowTo[string])
	}
	switch code(err) {
	case uniqueViolation:
		err = ErrSuperseded
	case foreignKeyViolation:
		err = fmt.Errorf("%w: a box or a member of these openings", ErrNotFound)
	}
	if err != nil {
		return nil, tx.wrap(err, "record %d openings", n)
	}
	return added, tx.insertGaps(ctx, openings, added)
}

// checkSuperseded returns ErrNotFound when an opening corrects one that its
// box does not have, neither recorded nor among the same openings.
func (tx *Tx) checkSuperseded(ctx context.Context, openings []BoxOpening) error {
	var ids []string
	for _, o := range openings {
		if o.Opening.Supersedes != "" {
			ids = append(ids, o.Opening.Supersedes)
		}
	}
	if len(ids) == 0 {
		return nil
	}
	type row struct {
		ID    string
		BoxID int64
	}
	known, err := list[row](ctx, tx, `SELECT id::text, box_id FROM opening WHERE id = ANY($1::uuid[])`, ids)
	if err != nil {
		return tx.wrap(err, "look for corrected openings")
	}
	box := map[string]int64{}
	for _, o := range openings {
		box[o.Opening.ID] = o.BoxID
	}
	for _, k := range known {
		box[k.ID] = k.BoxID
	}
	for _, o := range openings {
		if s := o.Opening.Supersedes; s != "" && box[strings.ToLower(s)] != o.BoxID {
			return tx.wrap(ErrNotFound, "correct opening %s of box %d", s, o.BoxID)
		}
	}
	return nil
}

func joinConditions(conditions []scheduler.Condition) string {
	words := make([]string, len(conditions))
	for i, c := range conditions {
		words[i] = string(c)
	}
	return strings.Join(words, ",")
}

func (tx *Tx) insertGaps(ctx context.Context, openings []BoxOpening, added []string) error {
	isNew := make(map[string]bool, len(added))
	for _, id := range added {
		isNew[id] = true
	}
	var id, at, peg []string
	var n []int
	var mm []float64
	for _, o := range openings {
		if !isNew[o.Opening.ID] {
			continue
		}
		for i, g := range o.Opening.Gaps {
			id, n, at = append(id, o.Opening.ID), append(n, i+1), append(at, string(g.At))
			mm, peg = append(mm, g.MM), append(peg, string(g.Peg))
		}
	}
	if len(id) == 0 {
		return nil
	}
	_, err := tx.tx.Exec(ctx, `
		INSERT INTO gap (club_id, opening_id, n, at, mm, peg)
		SELECT $1::bigint, u.* FROM unnest($2::uuid[], $3::int[], $4::text[], $5::float8[], $6::text[]) u`,
		tx.club, id, n, at, mm, peg)
	return tx.wrap(err, "record %d gaps", len(id))
}
