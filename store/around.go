package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// Around is an apiary, and those that share boxes with it, with all their
// records: what pages about it need, and enough to work out everything about
// its boxes.
type Around struct {
	ApiaryID int64
	Club     *scheduler.Club
	States   []scheduler.BoxState // saved ones of its boxes, from the bottom of each hive up
	Photos   []Photo              // of its boxes and those of the others, in the order in which they came
}

// RecordsAround reads an apiary, and those that share boxes with it, without
// locking.
func (tx *Tx) RecordsAround(ctx context.Context, apiary int64) (*Around, error) {
	return tx.around(ctx, theseApiaries, []int64{apiary})
}

// RecordsAroundHive is RecordsAround of where a hive stands.
func (tx *Tx) RecordsAroundHive(ctx context.Context, hive int64) (*Around, error) {
	return tx.around(ctx, apiaryOfHive, hive)
}

// RecordsAroundVisit is RecordsAround of where a visit goes, by its calendar
// identity.
func (tx *Tx) RecordsAroundVisit(ctx context.Context, uid string) (*Around, error) {
	return tx.around(ctx, `SELECT apiary_id FROM visit WHERE uid = $1`, uid)
}

func (tx *Tx) around(ctx context.Context, some string, which any) (*Around, error) {
	last := tx.tx.last
	tx.tx.last = false
	var lk locked
	var b pgx.Batch
	queueTogether(&b, &lk, together(some), which)
	err := tx.tx.SendBatch(ctx, &b).Close()
	if err == nil && len(lk.about) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, tx.wrap(err, "find the apiary of %v", which)
	}
	tx.tx.last = last
	l, err := tx.load(ctx, scope{apiaries: lk.all, openings: allOpenings, computed: true, photos: true})
	if err != nil {
		return nil, err
	}
	a := &Around{ApiaryID: lk.about[0], Club: l.assemble(), Photos: l.photos}
	states := l.statesByBox()
	for _, h := range a.Club.Apiary(a.ApiaryID).Hives {
		for _, x := range h.Boxes {
			if s, ok := states[x.ID]; ok {
				a.States = append(a.States, s)
			}
		}
	}
	return a, nil
}
