package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"

	"pryday/scheduler"
	"pryday/scheduler/owed"
)

// OwedCount tells what Owe did.
type OwedCount struct {
	New        int // recorded and to be delivered
	PassedOver int // recorded, never sent
	Known      int // recorded before: nothing changed
}

// Owe records messages, with a delivery job each in the same transaction, and
// what they tell. A message whose key is known changes nothing; one that is
// passed over gets no job. decidedAt is the Since of the next TakeTurn; the zero
// time leaves that.
func (tx *Tx) Owe(ctx context.Context, owed []owed.Message, decidedAt time.Time) (OwedCount, error) {
	return tx.OweFrom(ctx, owed, decidedAt, time.Time{})
}

// OweFrom is Owe with messages that nobody delivers before the instant from; the
// zero time is at once.
func (tx *Tx) OweFrom(ctx context.Context, owed []owed.Message, decidedAt, from time.Time) (OwedCount, error) {
	var count OwedCount
	added, err := tx.insertMessages(ctx, owed)
	if err != nil {
		return count, err
	}
	var jobs []river.InsertManyParams
	var told []toldRow
	for i := range owed {
		m := &owed[i]
		id, isNew := added[m.Key]
		switch {
		case !isNew:
			count.Known++
			continue
		case m.PassedOver != "":
			count.PassedOver++
			continue
		}
		delete(added, m.Key) // the same key twice in one call is one message
		count.New++
		job := river.InsertManyParams{Args: DeliverArgs{Club: tx.club, Message: id}}
		if !from.IsZero() {
			job.InsertOpts = &river.InsertOpts{ScheduledAt: from}
		}
		jobs = append(jobs, job)
		for _, t := range m.Tells() {
			told = append(told, toldRow{t, id})
		}
	}
	if len(jobs) > 0 {
		begun, err := tx.tx.begun(ctx)
		if err != nil {
			return count, err
		}
		if _, err := tx.jobs.InsertManyFastTx(ctx, begun, jobs); err != nil {
			return count, tx.wrap(err, "insert %d delivery jobs", len(jobs))
		}
	}
	tx.tell(told)
	if !decidedAt.IsZero() {
		tx.later("note the time of the decision", `
			INSERT INTO decided (club_id, at) VALUES ($1, $2)
			ON CONFLICT (club_id) DO UPDATE SET at = CASE WHEN decided.at > excluded.at + make_interval(hours => $3) THEN excluded.at ELSE greatest(decided.at, excluded.at) END`,
			tx.club, decidedAt, decidedAhead)
	}
	return count, nil
}

// insertMessages returns the ids of those that are new, by key.
func (tx *Tx) insertMessages(ctx context.Context, owed []owed.Message) (map[string]int64, error) {
	if len(owed) == 0 {
		return nil, nil
	}
	n := len(owed)
	key, kind, reason, passed := make([]string, n), make([]string, n), make([]string, n), make([]string, n)
	items, mail, member, on := make([]string, n), make([]string, n), make([]int64, n), make([]scheduler.Date, n)
	free, address := make([]bool, n), make([]string, n)
	for i := range owed {
		m := &owed[i]
		list, err := json.Marshal(orEmpty(m.Items))
		if err != nil {
			return nil, tx.wrap(err, "record message %s", m.Key)
		}
		key[i], kind[i], reason[i], passed[i] = m.Key, string(m.Kind), m.Reason, m.PassedOver
		items[i], mail[i], member[i], on[i], free[i] = string(list), uuid.NewString(), m.MemberID, m.On, m.Free
		address[i] = m.Address
	}
	rows, err := tx.tx.Query(ctx, `
		INSERT INTO message (club_id, key, kind, member_id, address, on_day, reason, items, message_id, free, state, closed_at, reply)
		SELECT $1::bigint, u.key, u.kind, nullif(u.member, 0), coalesce(nullif(u.address, ''), p.email), u.on_day, u.reason, u.items, u.mail, u.free,
		       CASE WHEN u.passed = '' THEN 'owed' ELSE 'passed-over' END,
		       CASE WHEN u.passed = '' THEN NULL ELSE now() END, u.passed
		  FROM unnest($2::text[], $3::text[], $4::bigint[], $5::date[], $6::text[], $7::jsonb[], $8::text[], $9::text[], $10::bool[], $11::text[])
		       WITH ORDINALITY AS u(key, kind, member, on_day, reason, items, mail, passed, free, address, n)
		  LEFT JOIN member m ON m.id = u.member
		  LEFT JOIN LATERAL club_person(m.person_id) p ON true
		 WHERE p.id IS NOT NULL OR u.member = 0 AND u.address <> '' -- who is invited is no member
		 ORDER BY u.n
		ON CONFLICT (club_id, key) DO NOTHING RETURNING id, key`,
		tx.club, key, kind, member, on, reason, items, mail, passed, free, address)
	if err != nil {
		return nil, tx.wrap(err, "record %d messages", n)
	}
	added := map[string]int64{}
	var id int64
	var k string
	_, err = pgx.ForEachRow(rows, []any{&id, &k}, func() error { added[k] = id; return nil })
	return added, tx.wrap(err, "record %d messages", n)
}

// toldRow is what one message told.
type toldRow struct {
	owed.Told
	message int64
}

func (tx *Tx) tell(told []toldRow) {
	type key struct {
		member, apiary int64
		uid            string
		kind           scheduler.MessageKind
	}
	last := map[key]int{}
	var rows []toldRow
	for _, t := range told { // the last word counts, and a row may be written once
		k := key{t.MemberID, t.ApiaryID, t.VisitUID, t.Kind}
		if t.VisitUID != "" {
			k.kind, k.apiary = "", 0
		}
		if i, ok := last[k]; ok {
			rows[i] = t
			continue
		}
		last[k] = len(rows)
		rows = append(rows, t)
	}
	if len(rows) == 0 {
		return
	}
	n := len(rows)
	member, message, uid, kind := make([]int64, n), make([]int64, n), make([]string, n), make([]string, n)
	on, toldOn, apiary := make([]scheduler.Date, n), make([]scheduler.Date, n), make([]int64, n)
	for i, t := range rows {
		apiary[i] = t.ApiaryID
		member[i], message[i], uid[i], kind[i], on[i], toldOn[i] = t.MemberID, t.message, t.VisitUID, string(t.Kind), t.On, t.ToldOn
	}
	tx.later(fmt.Sprintf("note what %d messages tell", n), `
		INSERT INTO told (club_id, member_id, visit_id, about, apiary_id, kind, on_day, told_on, message_id)
		SELECT $1::bigint, u.member, v.id, CASE WHEN u.uid = '' THEN u.kind || '/' || u.apiary ELSE '' END,
		       CASE WHEN u.uid = '' THEN u.apiary END, u.kind, u.on_day, u.told_on, u.message
		  FROM unnest($2::bigint[], $3::text[], $4::text[], $5::date[], $6::date[], $7::bigint[], $8::bigint[])
		       AS u(member, uid, kind, on_day, told_on, message, apiary)
		  LEFT JOIN visit v ON v.uid = u.uid
		 WHERE u.uid = '' OR v.id IS NOT NULL
		ON CONFLICT (club_id, member_id, visit_id, about) DO UPDATE SET
			kind = excluded.kind, on_day = excluded.on_day, told_on = excluded.told_on, message_id = excluded.message_id`,
		tx.club, member, uid, kind, on, toldOn, message, apiary)
}

// Knows notes that a member knows of a change without being mailed, having
// made it: of the visit as it is now (UID empty for none), and of the other
// visits that planning changed with it, where the member had heard of them
// before.
func (tx *Tx) Knows(member int64, visit scheduler.Visit, r *Replanned, today scheduler.Date) {
	if visit.ID != 0 {
		tx.later(fmt.Sprintf("note that member %d knows of visit %d", member, visit.ID), `
			INSERT INTO told (club_id, member_id, visit_id, about, kind, on_day, told_on)
			VALUES ($1, $2, $3, '', $4, $5, $6)
			ON CONFLICT (club_id, member_id, visit_id, about) DO UPDATE SET
				kind = excluded.kind, on_day = excluded.on_day, told_on = excluded.told_on, message_id = NULL`,
			tx.club, member, visit.ID, scheduler.MovedMessage, toldDay(visit), today)
	}
	if r == nil {
		return
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
	if len(ids) == 0 {
		return
	}
	tx.later(fmt.Sprintf("note that member %d knows of %d visits", member, len(ids)), `
		UPDATE told t SET kind = $2, on_day = u.on_day, told_on = $3, message_id = NULL
		  FROM unnest($4::bigint[], $5::date[]) AS u(id, on_day)
		 WHERE t.member_id = $1 AND t.visit_id = u.id AND t.on_day IS DISTINCT FROM u.on_day`,
		member, scheduler.MovedMessage, today, ids, days)
}

// toldDay is the day that told holds for a visit: none when it is over.
func toldDay(v scheduler.Visit) scheduler.Date {
	if !v.Status.Open() {
		return 0
	}
	return v.On
}
