package store

import (
	"context"

	"pryday/scheduler"
)

// Knows notes that a member knows of a change without being mailed, having
// made it: of the visit as it is now (UID empty for none), and of the other
// visits that planning changed with it, where the member had heard of them
// before.
func (tx *Tx) Knows(ctx context.Context, member int64, visit scheduler.Visit, r *Replanned, today scheduler.Date) error {
	if visit.ID != 0 {
		_, err := tx.tx.Exec(ctx, `
			INSERT INTO told (club_id, member_id, visit_id, about, kind, on_day, told_on)
			VALUES ($1, $2, $3, '', $4, $5, $6)
			ON CONFLICT (club_id, member_id, visit_id, about) DO UPDATE SET
				kind = excluded.kind, on_day = excluded.on_day, told_on = excluded.told_on, message_id = NULL`,
			tx.club, member, visit.ID, scheduler.MovedMessage, toldDay(visit), today)
		if err != nil {
			return tx.wrap(err, "note that member %d knows of visit %d", member, visit.ID)
		}
	}
	if r == nil {
		return nil
	}
	var ids []int64
	var days []scheduler.Date
	also := func(v scheduler.Visit) {
		if v.ID != visit.ID {
			ids, days = append(ids, v.ID), append(days, toldDay(v))
		}
	}
	for _, c := range r.Changed {
		also(c.New)
	}
	for _, v := range r.Cancelled {
		also(v)
	}
	for _, v := range r.Past {
		also(v)
	}
	_, err := tx.tx.Exec(ctx, `
		UPDATE told t SET kind = $2, on_day = u.on_day, told_on = $3, message_id = NULL
		  FROM unnest($4::bigint[], $5::date[]) AS u(id, on_day)
		 WHERE t.member_id = $1 AND t.visit_id = u.id AND t.on_day IS DISTINCT FROM u.on_day`,
		member, scheduler.MovedMessage, today, ids, days)
	return tx.wrap(err, "note that member %d knows of %d visits", member, len(ids))
}

// toldDay is the day that told holds for a visit: none when it is over.
func toldDay(v scheduler.Visit) scheduler.Date {
	if !v.Status.Open() {
		return 0
	}
	return v.On
}
