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
	states   map[int64]scheduler.BoxState
}

// RecordsAround reads an apiary, and those that share boxes with it, without
// locking.
func (tx *Tx) RecordsAround(ctx context.Context, apiary int64) (*Around, error) {
	return tx.around(ctx, theseApiaries, []int64{apiary}, 0)
}

// RecordsAroundHive is RecordsAround of where a hive stands.
func (tx *Tx) RecordsAroundHive(ctx context.Context, hive int64) (*Around, error) {
	return tx.around(ctx, apiaryOfHive, hive, 0)
}

// RecordsAroundVisit is RecordsAround of where a visit goes, by its calendar
// identity, with what those who go there have promised elsewhere: enough to say
// which day would be better.
func (tx *Tx) RecordsAroundVisit(ctx context.Context, uid string, today scheduler.Date) (*Around, error) {
	return tx.around(ctx, `SELECT apiary_id FROM visit WHERE uid = $1`, uid, today)
}

// MostOpened returns the box on a hive with the most openings on record, first of
// those at apiaries that a member looks after; ErrNotFound where none was ever opened.
func (tx *Tx) MostOpened(ctx context.Context, member int64) (box int64, err error) {
	err = tx.tx.QueryRow(ctx, `
		SELECT b.id
		  FROM box b
		  JOIN hive h ON h.club_id = b.club_id AND h.id = b.hive_id
		  JOIN opening o ON o.club_id = b.club_id AND o.box_id = b.id AND NOT o.void
		 GROUP BY b.id, h.apiary_id
		 ORDER BY EXISTS (SELECT FROM apiary_keeper k WHERE k.apiary_id = h.apiary_id AND k.member_id = $1) DESC, count(*) DESC, b.id
		 LIMIT 1`, member).Scan(&box)
	return box, tx.wrap(err, "find the box of the most openings")
}

// RecordsAroundBox is RecordsAround of where a box stands or, if it stands on no
// hive, stood last; ApiaryID is 0 for one that never stood on any.
func (tx *Tx) RecordsAroundBox(ctx context.Context, box int64) (*Around, error) {
	last := tx.tx.last
	tx.tx.last = false
	var lk locked
	var b pgx.Batch
	queueTogether(&b, &lk, together(apiariesOfBoxes), []int64{box})
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, tx.wrap(err, "find the apiary of box %d", box)
	}
	tx.tx.last = last
	a, err := tx.loadAround(ctx, scope{apiaries: append([]int64{}, lk.all...), box: box, openings: allOpenings, computed: true, photos: true})
	if err != nil {
		return nil, err
	}
	if boxIndex(a.Club)[box] == nil {
		return nil, tx.wrap(ErrNotFound, "read box %d", box)
	}
	a.about(apiaryOfBox(a.Club, box))
	return a, nil
}

// apiaryOfBox is where a box stands, or stood last; 0 for nowhere.
func apiaryOfBox(c *scheduler.Club, box int64) int64 {
	apiaryOf := map[int64]int64{} // by hive
	for i := range c.Apiaries {
		for j := range c.Apiaries[i].Hives {
			h := &c.Apiaries[i].Hives[j]
			if h.Box(box) != nil {
				return c.Apiaries[i].ID
			}
			apiaryOf[h.ID] = c.Apiaries[i].ID
		}
	}
	places := boxIndex(c)[box].Places
	for i := len(places) - 1; i >= 0; i-- {
		if at := apiaryOf[places[i].HiveID]; at != 0 {
			return at
		}
	}
	return 0
}

func (tx *Tx) around(ctx context.Context, some string, which any, elsewhere scheduler.Date) (*Around, error) {
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
	a, err := tx.loadAround(ctx, scope{apiaries: lk.all, openings: allOpenings, computed: true, elsewhere: elsewhere, goers: true, photos: true})
	if err == nil {
		a.about(lk.about[0])
	}
	return a, err
}

func (tx *Tx) loadAround(ctx context.Context, sc scope) (*Around, error) {
	l, err := tx.load(ctx, sc)
	if err != nil {
		return nil, err
	}
	return &Around{Club: l.assemble(), states: l.statesByBox(), Photos: l.photos}, nil
}

// about says which of the apiaries the reading is about.
func (a *Around) about(apiary int64) {
	a.ApiaryID = apiary
	at := a.Club.Apiary(apiary)
	if at == nil {
		return
	}
	for _, h := range at.Hives {
		for _, x := range h.Boxes {
			if s, ok := a.states[x.ID]; ok {
				a.States = append(a.States, s)
			}
		}
	}
}
