package store

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

type boxRow struct {
	ID            int64
	Name          string
	Kind          string
	SetUpOn       scheduler.Date
	RetiredOn     scheduler.Date
	Repaired      []scheduler.Date
	GuessedOn     scheduler.Date
	GuessAnswered bool
	HiveID        int64
}

func (r *boxRow) box() scheduler.Box {
	return scheduler.Box{
		ID: r.ID, Name: r.Name, Kind: r.Kind, SetUpOn: r.SetUpOn, RetiredOn: r.RetiredOn, Repaired: orNil(r.Repaired),
		GuessedOn: r.GuessedOn, GuessAnswered: r.GuessAnswered,
	}
}

type placeRow struct {
	BoxID    int64
	FromDay  scheduler.Date
	Place    scheduler.Where
	HiveID   int64
	Position int
	LentTo   string
	UntilDay scheduler.Date
}

func (r *placeRow) place() scheduler.BoxPlace {
	return scheduler.BoxPlace{
		From: r.FromDay, Where: r.Place, HiveID: r.HiveID, Position: r.Position, LentTo: r.LentTo, Until: r.UntilDay,
	}
}

// boxesOf are the boxes that stand on a hive of apiaries $1, or once did: what
// a box taught there still counts. In a whole club they are all its boxes.
// Arrays, unlike joins, are looked up in an index whatever Postgres believes
// about the sizes of the tables.
func (sc *scope) boxesOf() string {
	boxes := `SELECT id FROM box WHERE hive_id = ANY(` + hivesOf + `)
		UNION
		SELECT box_id FROM box_place WHERE hive_id = ANY(` + hivesOf + `)`
	if sc.box != 0 {
		boxes += fmt.Sprintf(`
		UNION
		SELECT id FROM box WHERE id = %d`, sc.box)
	}
	if sc.whole {
		boxes += `
		UNION
		SELECT id FROM box WHERE hive_id IS NULL`
	}
	return `ANY(ARRAY(` + boxes + `))`
}

const hivesOf = `ARRAY(SELECT id FROM hive WHERE apiary_id = ANY($1))`

const selectPlaces = `
	SELECT box_id, from_day, place, coalesce(hive_id, 0) AS hive_id, position, lent_to, until_day FROM box_place `

func (l *loading) queueBoxes(b *pgx.Batch, sc scope) {
	boxes := `SELECT id, name, kind, set_up_on, retired_on, repaired, guessed_on, guess_answered, coalesce(hive_id, 0) AS hive_id FROM box `
	queue(b, &l.boxes, boxes+`WHERE id = `+sc.boxesOf()+` ORDER BY box.hive_id, position, id`, sc.apiaries)
	queue(b, &l.places, selectPlaces+`WHERE box_id = `+sc.boxesOf()+` ORDER BY box_id, n`, sc.apiaries)
}

type openingRow struct {
	boxID   int64
	at      int64 // see standsAt
	opening scheduler.Opening
}

type gapRow struct {
	boxID     int64
	openingID string
	gap       scheduler.Gap
}

func (l *loading) queueOpenings(b *pgx.Batch, sc scope) {
	switch sc.openings {
	case effective:
		l.queueCounted(b, sc.boxesOf(), `true`, sc.apiaries)
	case late:
		l.queueCounted(b, triedSince, `o.on_day >= $2`, sc.apiaries, sc.openingsSince)
	case allOpenings:
		l.queueOpeningsWhere(b, `o.box_id = `+sc.boxesOf(), `o.seq`, sc.apiaries)
		l.queueForecasts(b, `o.box_id = `+sc.boxesOf(), sc.apiaries)
	}
}

// triedSince are the boxes that were opened since a day $2, by what was planned last.
const triedSince = `ANY(ARRAY(SELECT box_id FROM due WHERE apiary_id = ANY($1) AND last_tried >= $2))`

// queueCounted reads those openings of boxes that count, as much of them as
// planning needs, in the order in which they stand. To planning, an opening is
// by whoever made it.
func (l *loading) queueCounted(b *pgx.Batch, boxes, which string, args ...any) {
	b.Queue(`
		SELECT o.box_id, `+standsAt+`, o.on_day, o.joint, o.frames, o.left_shut, o.scraped, coalesce(`+openedBy+`, 0) FROM opening o
		 WHERE o.box_id = `+boxes+` AND `+counts(boxes)+` AND `+which, args...).Query(func(rows pgx.Rows) error {
		var r openingRow
		o := &r.opening
		_, err := pgx.ForEachRow(rows, []any{&r.boxID, &r.at, &o.On, &o.Joint, &o.Frames, &o.LeftShut, &o.Scraped, &o.By}, func() error {
			l.openings = append(l.openings, r)
			return nil
		})
		// The order is that of the index used, if it is the right one; sorting
		// again is cheap.
		byPlace := func(a, b openingRow) int { return cmp.Or(cmp.Compare(a.boxID, b.boxID), cmp.Compare(a.at, b.at)) }
		if !slices.IsSortedFunc(l.openings, byPlace) {
			slices.SortFunc(l.openings, byPlace)
		}
		return err
	})
}

// queueOpeningsWhere reads openings with everything about them, box by box in
// an order.
func (l *loading) queueOpeningsWhere(b *pgx.Batch, where, order string, args ...any) {
	b.Queue(selectOpenings+where+` ORDER BY o.box_id, `+order, args...).Query(func(rows pgx.Rows) (err error) {
		l.openings, err = pgx.CollectRows(rows, scanOpening)
		return err
	})
	b.Queue(`
		SELECT o.box_id, g.opening_id::text, g.at, g.mm, g.peg
		  FROM gap g JOIN opening o ON o.club_id = g.club_id AND o.id = g.opening_id
		 WHERE `+where+` ORDER BY g.opening_id, g.n`, args...).Query(func(rows pgx.Rows) (err error) {
		l.gaps, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (g gapRow, err error) {
			err = row.Scan(&g.boxID, &g.openingID, &g.gap.At, &g.gap.MM, &g.gap.Peg)
			return g, err
		})
		return err
	})
}

const selectOpenings = `
	SELECT o.box_id, o.id::text, coalesce(o.supersedes::text, ''), o.void, o.on_day, o.joint, o.frames, o.left_shut,
	       o.scraped, array_to_string(o.condition, ','), o.note, coalesce(o.by_member, 0), o.somebody_else, coalesce(o.opened_by_member, 0), o.opened_by_name
	  FROM opening o WHERE `

func scanOpening(row pgx.CollectableRow) (r openingRow, err error) {
	o := &r.opening
	var condition string
	var another bool
	var opener scheduler.Opener
	err = row.Scan(&r.boxID, &o.ID, &o.Supersedes, &o.Void, &o.On, &o.Joint, &o.Frames, &o.LeftShut,
		&o.Scraped, &condition, &o.Note, &o.By, &another, &opener.Member, &opener.Name)
	if another {
		o.Opener = &opener
	}
	if condition != "" {
		for word := range strings.SplitSeq(condition, ",") {
			o.Condition = append(o.Condition, scheduler.Condition(word))
		}
	}
	return r, err
}

func (l *loading) addOpenings(boxes map[int64]*scheduler.Box) {
	gaps := map[string][]scheduler.Gap{}
	for _, g := range l.gaps {
		gaps[g.openingID] = append(gaps[g.openingID], g.gap)
	}
	// Rows come box by box: each box takes its share of one backing array.
	all := make([]scheduler.Opening, len(l.openings))
	for i := 0; i < len(all); {
		box, from := l.openings[i].boxID, i
		for ; i < len(all) && l.openings[i].boxID == box; i++ {
			all[i] = l.openings[i].opening
			all[i].Gaps, all[i].Said = gaps[all[i].ID], l.forecasts[all[i].ID]
		}
		if b := boxes[box]; b != nil {
			b.Openings = all[from:i:i]
		}
	}
}
