package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// scope says how much of a club is read.
type scope struct {
	apiaries      []int64        // these alone
	whole         bool           // every apiary instead, and the boxes on no hive
	box           int64          // this one as well, wherever it is; 0 for none
	openings      openingScope   // how much of each opening
	openingsSince scheduler.Date // of late ones
	since         scheduler.Date // visits before this day are left out; zero for none
	computed      bool           // the saved states of the boxes too
	photos        bool           // what is known of those too

	elsewhere scheduler.Date // what members have promised at other apiaries from this day on; zero for nothing
	goers     bool           // not only of those who look after these apiaries, but also of those who said that they go there
}

type openingScope int

const (
	noOpenings  openingScope = iota
	effective                // those that count, without their words: enough to plan
	late                     // of these only what was made since openingsSince
	allOpenings              // every row with its gaps, corrections and words
)

// loading is one reading of a club: rows as they come, put together at the end.
type loading struct {
	club        scheduler.Club
	feedVersion int64
	rules       int                // version
	restores    int                // the earlier version that had the same rules; 0 for none
	planned     map[int64]lastPlan // apiaries that were
	keepers     []keeperRow
	hives       []hiveRow
	events      []eventRow
	boxes       []boxRow
	places      []placeRow
	openings    []openingRow
	gaps        []gapRow
	periods     []periodRow
	visits      []VisitRecord
	states      []scheduler.BoxState // without what depends on the day, by box
	photos      []Photo
	forecasts   map[string]*scheduler.Forecast // by the ids of their openings
}

// load reads in one round trip, for a whole club in two, after what first
// queues.
func (tx *Tx) load(ctx context.Context, sc scope, first ...func(*pgx.Batch)) (*loading, error) {
	if sc.whole {
		var err error
		if sc.apiaries, err = tx.ids(ctx, `SELECT id FROM apiary ORDER BY id`); err != nil {
			return nil, tx.wrap(err, "list the apiaries")
		}
	}
	l := &loading{}
	var b pgx.Batch
	for _, queue := range first {
		queue(&b)
	}
	l.queueClub(&b)
	l.queueApiaries(&b, sc)
	l.queueColonies(&b, sc)
	l.queueBoxes(&b, sc)
	l.queueOpenings(&b, sc)
	l.queueVisits(&b, sc)
	if sc.computed {
		l.queueStates(&b, sc)
	}
	if sc.photos {
		l.queuePhotos(&b, sc)
	}
	if sc.elsewhere != 0 {
		members := keepersThere
		if sc.goers {
			members = goersThere
		}
		l.queueElsewhere(&b, members, sc.apiaries, sc.elsewhere)
	}
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, tx.wrap(err, "read the records")
	}
	if l.club.ID == 0 {
		return nil, fmt.Errorf("read club %d: %w", tx.club, ErrNotFound)
	}
	return l, nil
}

// Club reads the club with all its records.
func (tx *Tx) Club(ctx context.Context) (*scheduler.Club, error) {
	l, err := tx.load(ctx, scope{whole: true, openings: allOpenings})
	if err != nil {
		return nil, err
	}
	return l.assemble(), nil
}

// Outline is Club without openings and gaps: enough for lists and calendars.
func (tx *Tx) Outline(ctx context.Context) (*scheduler.Club, error) {
	l, err := tx.load(ctx, scope{whole: true})
	if err != nil {
		return nil, err
	}
	return l.assemble(), nil
}

// queue adds a query whose rows are read by the names of their columns.
func queue[T any](b *pgx.Batch, into *[]T, sql string, args ...any) {
	b.Queue(sql, args...).Query(func(rows pgx.Rows) (err error) {
		*into, err = pgx.AppendRows(*into, rows, pgx.RowToStructByName[T])
		return err
	})
}

func (l *loading) queueClub(b *pgx.Batch) {
	b.Queue(`SELECT id, name, feed_version, (SELECT count(*) FROM member) FROM club`).Query(func(rows pgx.Rows) error {
		var members int
		_, err := pgx.ForEachRow(rows, []any{&l.club.ID, &l.club.Name, &l.feedVersion, &members}, func() error {
			l.club.Members = make([]scheduler.Member, 0, members)
			return nil
		})
		return err
	})
	l.queueRules(b)
	b.Queue(selectMembers + `club_people() p ON p.id = m.person_id ORDER BY m.id`).Query(func(rows pgx.Rows) (err error) {
		l.club.Members, err = pgx.AppendRows(l.club.Members, rows, scanMember)
		return err
	})
	queue(b, &l.club.Kinds, selectKinds)
	l.queueRecalibration(b)
}

// queueRules reads those that hold.
func (l *loading) queueRules(b *pgx.Batch) {
	b.Queue(`SELECT version, document, coalesce(restores, 0) FROM rules ORDER BY version DESC LIMIT 1`).QueryRow(func(row pgx.Row) error {
		var document []byte
		err := row.Scan(&l.rules, &document, &l.restores)
		if err == nil {
			l.club.Rules, err = decodeRules(document)
		}
		return err
	})
}

// assemble puts the rows together, in the order of the records.
func (l *loading) assemble() *scheduler.Club {
	c := &l.club
	apiaryAt := make(map[int64]int, len(c.Apiaries))
	for i := range c.Apiaries {
		apiaryAt[c.Apiaries[i].ID] = i
	}
	for _, k := range l.keepers {
		if i, ok := apiaryAt[k.ApiaryID]; ok {
			c.Apiaries[i].Keepers = append(c.Apiaries[i].Keepers, k.MemberID)
		}
	}
	for _, h := range l.hives {
		a := &c.Apiaries[apiaryAt[h.ApiaryID]]
		a.Hives = append(a.Hives, h.hive())
	}
	hives := map[int64]*scheduler.Hive{}
	for i := range c.Apiaries {
		for j := range c.Apiaries[i].Hives {
			h := &c.Apiaries[i].Hives[j]
			hives[h.ID] = h
		}
	}
	for i := range l.events {
		if h := hives[l.events[i].HiveID]; h != nil {
			h.Events = append(h.Events, l.events[i].event())
		}
	}
	for _, r := range l.boxes {
		if h := hives[r.HiveID]; h != nil {
			h.Boxes = append(h.Boxes, r.box())
		} else {
			c.Spare = append(c.Spare, r.box())
		}
	}
	boxes := boxIndex(c)
	for _, p := range l.places {
		if b := boxes[p.BoxID]; b != nil {
			b.Places = append(b.Places, p.place())
		}
	}
	l.addOpenings(boxes)
	l.addPeriods(apiaryAt, hives)
	for i := range l.visits {
		c.Visits = append(c.Visits, l.visits[i].Visit)
	}
	return c
}

// boxIndex finds every box of c by id; it holds while no slice of c grows.
func boxIndex(c *scheduler.Club) map[int64]*scheduler.Box {
	boxes := map[int64]*scheduler.Box{}
	for b := range eachBox(c) {
		boxes[b.ID] = b
	}
	return boxes
}

// eachBox goes over the boxes of c in record order.
func eachBox(c *scheduler.Club) func(func(*scheduler.Box) bool) {
	return func(yield func(*scheduler.Box) bool) {
		for i := range c.Apiaries {
			for j := range c.Apiaries[i].Hives {
				for k := range c.Apiaries[i].Hives[j].Boxes {
					if !yield(&c.Apiaries[i].Hives[j].Boxes[k]) {
						return
					}
				}
			}
		}
		for i := range c.Spare {
			if !yield(&c.Spare[i]) {
				return
			}
		}
	}
}
