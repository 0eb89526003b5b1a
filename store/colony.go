package store

import (
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// Where something happens to a colony: the apiaries of its hive and of the other one, and
// the one that it goes to or came from.
const (
	apiariesOfStep = `
		SELECT apiary_id FROM hive WHERE id IN ($1, $2) UNION SELECT id FROM apiary WHERE id = $3`
	apiariesOfEvent = `
		SELECT apiary_id FROM hive
		 WHERE id = $1 OR id IN (SELECT other_hive_id FROM colony_event WHERE hive_id = $1 AND id = $2)
		UNION
		SELECT from_apiary_id FROM colony_event WHERE hive_id = $1 AND id = $2 AND from_apiary_id IS NOT NULL`
)

// ColonyRecords reads, without locking, what scheduler.Club.Happen needs for a step: the
// apiaries that it touches, those that share boxes with them, every opening, and what
// their keepers have promised elsewhere from today on.
func (tx *Tx) ColonyRecords(ctx context.Context, hive, other, apiary int64, today scheduler.Date) (*scheduler.Club, error) {
	last := tx.tx.last
	tx.tx.last = false
	var lk locked
	var b pgx.Batch
	queueTogether(&b, &lk, together(apiariesOfStep), hive, other, apiary)
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, tx.wrap(err, "find the apiaries of hives %d and %d", hive, other)
	}
	tx.tx.last = last
	l, err := tx.load(ctx, scope{apiaries: append([]int64{}, lk.all...), openings: allOpenings, elsewhere: today})
	if err != nil {
		return nil, err
	}
	return l.assemble(), nil
}

// Happen saves what somebody says has happened to the colony of a hive, and replans. A
// step that stands saved already changes nothing. The error of what cannot have happened
// is a *scheduler.ColonyRefusal.
func (tx *Tx) Happen(ctx context.Context, s scheduler.ColonyStep, today scheduler.Date) (*Replanned, error) {
	c, lk, err := tx.lockColony(ctx, apiariesOfStep, s.HiveID, s.OtherID, s.ApiaryID)
	if err != nil {
		return nil, err
	}
	if _, h := c.HiveByID(s.HiveID); h != nil && h.Event(s.ID) != nil {
		return &Replanned{Plan: &scheduler.Plan{Today: today}}, nil
	}
	if s.What == scheduler.Split {
		ids, err := tx.nextIDs(ctx, "hive", 1)
		if err != nil {
			return nil, err
		}
		s.OtherID = ids[0]
	}
	e, err := c.Happen(&s, today)
	if err != nil {
		return nil, tx.wrap(err, "note that hive %d %s", s.HiveID, s.What)
	}
	return tx.saveColony(ctx, c, lk, s.HiveID, e, today, s.What == scheduler.Split)
}

// UndoEvent takes an event of a hive back, and replans; the records are as if it had
// never been noted. The error is a *scheduler.ColonyRefusal where something later stands
// in the way.
func (tx *Tx) UndoEvent(ctx context.Context, hive int64, id string, today scheduler.Date) (*scheduler.ColonyEvent, *Replanned, error) {
	c, lk, err := tx.lockColony(ctx, apiariesOfEvent, hive, id)
	if err != nil {
		return nil, nil, err
	}
	e, err := c.Undo(hive, id)
	if err != nil {
		return nil, nil, tx.wrap(err, "undo what happened to hive %d", hive)
	}
	r, err := tx.saveColony(ctx, c, lk, hive, e, today, false)
	return e, r, err
}

func (tx *Tx) lockColony(ctx context.Context, about string, args ...any) (*scheduler.Club, locked, error) {
	lk, err := tx.lock(ctx, about, args)
	if err == nil && len(lk.about) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, lk, tx.wrap(err, "lock the apiaries of hive %d", args[0])
	}
	l, err := tx.load(ctx, scope{apiaries: lk.all, openings: allOpenings})
	if err != nil {
		return nil, lk, err
	}
	return l.assemble(), lk, nil
}

// saveColony writes what an event, or taking it back, made of the records, and replans.
func (tx *Tx) saveColony(ctx context.Context, c *scheduler.Club, lk locked, hive int64, e *scheduler.ColonyEvent, today scheduler.Date, fresh bool) (*Replanned, error) {
	var b pgx.Batch
	stacks, touched := map[int64]*boxPair{}, []*scheduler.Hive{}
	for _, id := range []int64{e.OtherID, hive} { // a new hive before the event that names it
		a, h := c.HiveByID(id)
		if h == nil {
			continue
		}
		touched = append(touched, h)
		if fresh && id == e.OtherID {
			tx.queueHiveInsert(&b, a.ID, h)
		} else {
			tx.queueHiveUpdate(&b, h)
		}
		for i := range h.Boxes {
			stacks[h.Boxes[i].ID] = &boxPair{doc: &h.Boxes[i], id: h.Boxes[i].ID, hive: h.ID, position: i + 1}
		}
		if id == hive {
			b.Queue(`UPDATE hive SET apiary_id = $2 WHERE id = $1 AND apiary_id <> $2`, hive, a.ID)
			tx.queueEvents(&b, hive, h.Events)
		}
	}
	boxes := boxIndex(c)
	for _, went := range e.Boxes {
		box := boxes[went.BoxID]
		if stacks[box.ID] == nil {
			stacks[box.ID] = &boxPair{doc: box, id: box.ID}
		}
		tx.queuePlaces(&b, box.ID, box.Places)
	}
	tx.queueBoxUpdates(&b, stacks)
	if e.OtherID != 0 && len(touched) == 1 { // the hive that a split had made
		b.Queue(`DELETE FROM hive WHERE id = $1`, e.OtherID)
	}
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, tx.wrap(err, "save what happened to hive %d", hive)
	}
	for _, h := range touched {
		if err := tx.setPeriods(ctx, "hive_id", h.ID, "leave-alone", h.LeaveAlone); err != nil {
			return nil, err
		}
	}
	tx.feedChanged()
	return tx.replan(ctx, lk, today, everSince)
}

// queueEvents replaces what happened to the colony of a hive.
func (tx *Tx) queueEvents(b *pgx.Batch, hive int64, events []scheduler.ColonyEvent) {
	b.Queue(`DELETE FROM colony_event WHERE hive_id = $1`, hive)
	for i := range events {
		e := &events[i]
		r := eventRow{Under: orEmpty(e.Under), Boxes: []int64{}, Positions: []int{}, Listed: []bool{}, Openings: []int{}}
		for _, x := range e.Boxes {
			r.Boxes, r.Positions = append(r.Boxes, x.BoxID), append(r.Positions, x.Position)
			r.Listed, r.Openings = append(r.Listed, x.Listed), append(r.Openings, x.Openings)
		}
		b.Queue(`
			INSERT INTO colony_event (club_id, id, hive_id, n, on_day, what, other_hive_id, from_apiary_id, queen, boxes, positions, listed, openings,
			       under, alone_from, alone_until, alone_for, alone_after, ended, whom, note, by_member)
			VALUES ($1, $2, $3, $4, $5, $6, nullif($7, 0), nullif($8, 0), $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, nullif($22, 0))`,
			tx.club, e.ID, hive, i+1, e.On, e.What, e.OtherID, e.FromApiary, e.Queen, r.Boxes, r.Positions, r.Listed, r.Openings,
			r.Under, e.Alone.From, e.Alone.Until, e.Alone.Reason, e.Alone.After, e.Ended, e.Whom, e.Note, e.By)
	}
}

type eventRow struct {
	ID                    string
	HiveID                int64
	OnDay                 scheduler.Date
	What                  scheduler.Fate
	Other, FromApiary, By int64
	Queen                 scheduler.Queen
	Boxes, Under          []int64
	Positions, Openings   []int
	Listed                []bool
	AloneFrom, AloneUntil scheduler.Date
	AloneFor, Whom, Note  string
	AloneAfter            scheduler.Fate
	Ended                 bool
}

func (r *eventRow) event() scheduler.ColonyEvent {
	e := scheduler.ColonyEvent{
		ID: r.ID, On: r.OnDay, What: r.What, OtherID: r.Other, FromApiary: r.FromApiary, Queen: r.Queen, Under: orNil(r.Under),
		Alone: scheduler.Period{From: r.AloneFrom, Until: r.AloneUntil, Reason: r.AloneFor, After: r.AloneAfter},
		Ended: r.Ended, Whom: r.Whom, Note: r.Note, By: r.By,
	}
	for i, id := range r.Boxes {
		e.Boxes = append(e.Boxes, scheduler.EventBox{BoxID: id, Position: r.Positions[i], Listed: r.Listed[i], Openings: r.Openings[i]})
	}
	return e
}

// queueColonies reads what happened to the colonies of apiaries $1, and the other places
// at which their hives once stood.
func (l *loading) queueColonies(b *pgx.Batch, sc scope) {
	queue(b, &l.events, `
		SELECT id::text, hive_id, on_day, what, coalesce(other_hive_id, 0) AS other, coalesce(from_apiary_id, 0) AS from_apiary, queen,
		       boxes, positions, listed, openings, under, alone_from, alone_until, alone_for, alone_after, ended, whom, note, coalesce(by_member, 0) AS by
		  FROM colony_event WHERE hive_id = ANY(`+hivesOf+`) ORDER BY hive_id, on_day, n`, sc.apiaries)
	if sc.whole {
		return
	}
	b.Queue(selectApiaries+`
		 WHERE id = ANY(ARRAY(SELECT from_apiary_id FROM colony_event WHERE hive_id = ANY(`+hivesOf+`))) AND id <> ALL($1) ORDER BY id`,
		sc.apiaries).Query(func(rows pgx.Rows) (err error) {
		l.club.Former, err = collectApiaries(nil, rows)
		l.club.Former = orNil(l.club.Former)
		return err
	})
}

func (in *importing) importEvents(ctx context.Context) error {
	boxes := make(map[int64]int64, len(in.boxes))
	for i := range in.boxes {
		boxes[in.boxes[i].doc.ID] = in.boxes[i].id
	}
	var b pgx.Batch
	for i := range in.doc.Apiaries {
		for j := range in.doc.Apiaries[i].Hives {
			h := &in.doc.Apiaries[i].Hives[j]
			if len(h.Events) == 0 {
				continue
			}
			var have []scheduler.ColonyEvent
			if _, was := in.have.HiveByID(in.hive[h.ID]); was != nil {
				have = was.Events
			}
			want := slices.Clone(have)
			for k := range h.Events {
				e := in.event(h.Events[k], boxes)
				if at := slices.IndexFunc(want, func(x scheduler.ColonyEvent) bool { return x.ID == e.ID }); at >= 0 {
					want[at] = e
				} else {
					want = append(want, e)
				}
			}
			slices.SortStableFunc(want, func(a, b scheduler.ColonyEvent) int { return int(a.On - b.On) })
			if !equalJSON(have, want) {
				in.tx.queueEvents(&b, in.hive[h.ID], want)
				in.counts.Hives++
			}
		}
	}
	return in.tx.tx.SendBatch(ctx, &b).Close()
}

// event is an event of the imported records with the ids of the database.
func (in *importing) event(e scheduler.ColonyEvent, boxes map[int64]int64) scheduler.ColonyEvent {
	e.OtherID, e.FromApiary, e.By = in.hive[e.OtherID], in.apiary[e.FromApiary], in.members[e.By]
	e.Boxes, e.Under = slices.Clone(e.Boxes), slices.Clone(e.Under)
	for i := range e.Boxes {
		e.Boxes[i].BoxID = boxes[e.Boxes[i].BoxID]
	}
	for i := range e.Under {
		e.Under[i] = boxes[e.Under[i]]
	}
	return e
}
