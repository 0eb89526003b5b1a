package store

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"pryday/scheduler"
)

// VisitRecord is a visit with what only the store knows of it.
type VisitRecord struct {
	scheduler.Visit
	ChangedAt      time.Time      // DTSTAMP and LAST-MODIFIED of its calendar entry
	CancelledUntil scheduler.Date // calendars show the cancellation until then
	Opened         []int64        // of a done visit as FeedClub reads it: its boxes with an opening on or near its day; else nil
}

// VisitFilter narrows Visits; zero fields do not narrow.
type VisitFilter struct {
	ApiaryID    int64
	MemberID    int64          // who goes
	From, Until scheduler.Date // days, both included
	OpenOnly    bool
}

const selectVisits = `
	SELECT v.id, v.uid, v.apiary_id, v.on_day, v.status, v.sequence, v.pinned, v.duty, v.first_seen, v.changed_at, v.cancelled_until,
	       v.off_until, v.off_from, v.no_time,
	       ARRAY(SELECT n.box_id FROM visit_not_box n WHERE n.club_id = v.club_id AND n.visit_id = v.id),
	       ARRAY(SELECT n.box_id FROM visit_not_opened n WHERE n.club_id = v.club_id AND n.visit_id = v.id),
	       people.who, people.taken, people.refused
	  FROM visit v
	 CROSS JOIN LATERAL (
		SELECT array_agg(m.member_id) FILTER (WHERE m.said <> 'cannot') AS who, array_agg(m.member_id) FILTER (WHERE m.said = 'going') AS taken,
		       array_agg(m.member_id) FILTER (WHERE m.said = 'cannot') AS refused
		  FROM (SELECT member_id, said FROM visit_member m WHERE m.club_id = v.club_id AND m.visit_id = v.id ORDER BY m.n) m) people`

const byDay = ` ORDER BY v.on_day, v.apiary_id, v.id`

// flat takes an array of one dimension without looking at its type for each row.
func flat(into *[]int64) *pgtype.FlatArray[int64] { return (*pgtype.FlatArray[int64])(into) }

// appendVisits reads visits, which selectVisits selected, behind others.
func appendVisits(to []VisitRecord, rows pgx.Rows) ([]VisitRecord, error) {
	var v VisitRecord
	_, err := pgx.ForEachRow(rows, []any{
		&v.ID, &v.UID, &v.ApiaryID, &v.On, &v.Status, &v.Sequence, &v.Pinned, &v.For, &v.FirstSeen,
		&v.ChangedAt, &v.CancelledUntil, &v.OffUntil, &v.OffFrom, &v.NoTime,
		flat(&v.NotBoxes), flat(&v.NotOpened), flat(&v.Who), flat(&v.Taken), flat(&v.Refused),
	}, func() error {
		slices.Sort(v.NotBoxes)
		slices.Sort(v.NotOpened)
		v.NotBoxes, v.NotOpened, v.Who, v.Taken, v.Refused = orNil(v.NotBoxes), orNil(v.NotOpened), orNil(v.Who), orNil(v.Taken), orNil(v.Refused)
		to = append(to, v)
		return nil
	})
	return to, err
}

func (l *loading) queueVisits(b *pgx.Batch, sc scope) {
	queueVisits(b, &l.visits, `v.apiary_id = ANY($1) AND v.on_day >= $2`, sc.apiaries, max(sc.since, scheduler.MinDate))
}

// queueVisits reads the visits of which a term is true, by day, with their
// boxes.
func queueVisits(b *pgx.Batch, into *[]VisitRecord, term string, args ...any) {
	b.Queue(selectVisits+` WHERE `+term+byDay, args...).Query(func(rows pgx.Rows) (err error) {
		*into, err = appendVisits([]VisitRecord{}, rows)
		return err
	})
	queueBoxesOf(b, into, `ANY(ARRAY(SELECT v.id FROM visit v WHERE `+term+`))`, args...)
	queueTicks(b, into, term, args...)
}

func visitIDs(visits []VisitRecord) []int64 {
	ids := make([]int64, len(visits))
	for i := range visits {
		ids[i] = visits[i].ID
	}
	return ids
}

// queueBoxesOf reads the boxes of visits that are in into by then.
func queueBoxesOf(b *pgx.Batch, into *[]VisitRecord, visits string, args ...any) {
	b.Queue(`SELECT visit_id, box_id, due, reason, odds, stuck FROM visit_box WHERE visit_id = `+visits+` ORDER BY visit_id, n`, args...).
		Query(func(rows pgx.Rows) error {
			at := make(map[int64]*scheduler.Visit, len(*into))
			for i := range *into {
				at[(*into)[i].ID] = &(*into)[i].Visit
			}
			all := make([]scheduler.VisitBox, 0, 12*len(*into)) // each visit takes its share
			var visit, last int64
			var box scheduler.VisitBox
			from := 0
			share := func() {
				if v := at[last]; v != nil && from < len(all) {
					v.Boxes = all[from:len(all):len(all)]
				}
				from, last = len(all), visit
			}
			_, err := pgx.ForEachRow(rows, []any{&visit, &box.BoxID, &box.Due, &box.Reason, &box.Odds, &box.Stuck}, func() error {
				if visit != last {
					share()
				}
				all = append(all, box)
				return nil
			})
			share()
			return err
		})
}

// Visits lists visits by day.
func (tx *Tx) Visits(ctx context.Context, f VisitFilter) ([]VisitRecord, error) {
	var terms []string
	var args []any
	term := func(sql string, arg any) {
		args = append(args, arg)
		terms = append(terms, fmt.Sprintf(sql, len(args)))
	}
	if f.ApiaryID != 0 {
		term(`v.apiary_id = $%d`, f.ApiaryID)
	} else {
		terms = append(terms, `v.apiary_id = `+anyApiary)
	}
	if f.MemberID != 0 {
		term(`v.id = ANY(ARRAY(SELECT visit_id FROM visit_member WHERE member_id = $%d AND said <> 'cannot'))`, f.MemberID)
	}
	if f.From != 0 {
		term(`v.on_day >= $%d`, f.From)
	}
	if f.Until != 0 {
		term(`v.on_day <= $%d`, f.Until)
	}
	if f.OpenOnly {
		terms = append(terms, `v.status IN ('tentative', 'confirmed')`)
	}
	out, err := tx.visits(ctx, strings.Join(terms, ` AND `), args...)
	return out, tx.wrap(err, "list the visits")
}

// visits reads those of which a term is true.
func (tx *Tx) visits(ctx context.Context, term string, args ...any) (found []VisitRecord, err error) {
	var b pgx.Batch
	queueVisits(&b, &found, term, args...)
	return found, tx.tx.SendBatch(ctx, &b).Close()
}

// Visit reads one visit.
func (tx *Tx) Visit(ctx context.Context, id int64) (*VisitRecord, error) {
	return tx.oneVisit(ctx, `v.id = $1`, id)
}

// VisitByUID reads one visit by its calendar identity.
func (tx *Tx) VisitByUID(ctx context.Context, uid string) (*VisitRecord, error) {
	return tx.oneVisit(ctx, `v.uid = $1`, uid)
}

func (tx *Tx) oneVisit(ctx context.Context, term string, which any) (*VisitRecord, error) {
	out, err := tx.visits(ctx, term, which)
	if err == nil && len(out) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, tx.wrap(err, "read visit %v", which)
	}
	return &out[0], nil
}
