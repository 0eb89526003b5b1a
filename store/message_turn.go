package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
	"pryday/scheduler/owed"
)

// keysKept is how many days back owed.Decide is shown what was decided. It
// looks back less far than that by more than a day, so that it does not matter
// whose day they are counted from.
const keysKept = 40

// A decision that lies farther ahead than any daemon decides, in hours, was made by
// a clock that has been put back since.
const decidedAhead = 1

// Turn is a club at the moment of deciding what it owes, before any of its
// visits is read.
type Turn struct {
	Club        *scheduler.Club // members, rules and apiaries, without hives and visits
	Before      owed.Before
	FeedVersion int64
	plannedOn   *scheduler.Date // the earliest of the apiaries' days; nil where there is none
}

// Planned reports whether every apiary of the club was planned for a day or a
// later one.
func (t *Turn) Planned(day scheduler.Date) bool { return t.plannedOn == nil || *t.plannedOn >= day }

// Spare reports, without waiting, whether a club may be left out of a tick at an
// instant: somebody decides for it, or for one that shares people with it, this
// very moment, or has found meanwhile that nothing new is owed. A rest longer than
// longest is another clock's. Where it may not, others leave it out until the
// transaction ends.
func (tx *Tx) Spare(ctx context.Context, with int64, now time.Time, longest time.Duration) (bool, error) {
	var free, quiet bool
	var b pgx.Batch
	b.Queue(`SELECT pg_try_advisory_xact_lock(`+turnLock+`)`, with).QueryRow(func(row pgx.Row) error { return row.Scan(&free) })
	b.Queue(`SELECT EXISTS (SELECT FROM decided WHERE quiet_until > $1 AND quiet_until <= $2 AND quiet_version = (SELECT feed_version FROM club))`, now, now.Add(longest)).
		QueryRow(func(row pgx.Row) error { return row.Scan(&quiet) })
	err := tx.tx.SendBatch(ctx, &b).Close()
	return !free || quiet, tx.wrap(err, "see whether anybody decides what is owed")
}

// turnLock is the lock of all clubs that share people with the club $1: what a
// person gets is counted over all of them.
const turnLock = `hashtextextended('turn ' || $1::bigint, 0)`

// AwaitTurn has TakeTurn wait for whoever decides for a club that shares people
// with this one; with is the lowest of those.
func (tx *Tx) AwaitTurn(with int64) {
	tx.later("wait for the turn to decide what is owed", `SELECT pg_advisory_xact_lock(`+turnLock+`)`, with)
}

// TakeTurn keeps other daemons from deciding for this club until the
// transaction ends, and then reads what was decided up to now, and the club as
// far as it says whether anything can be owed.
func (tx *Tx) TakeTurn(ctx context.Context, now time.Time) (*Turn, error) {
	t, l := &Turn{}, &loading{}
	var b pgx.Batch
	b.Queue(`INSERT INTO decided (club_id, at) VALUES ($1, '-infinity') ON CONFLICT DO NOTHING`, tx.club)
	b.Queue(`SELECT CASE WHEN isfinite(at) AND at <= $1::timestamptz + make_interval(hours => $2) THEN at END FROM decided FOR UPDATE`, now, decidedAhead).QueryRow(func(row pgx.Row) error {
		var at *time.Time
		err := row.Scan(&at)
		t.Before.Since = orZero(at)
		return err
	})
	l.queuePlaces(&b)
	b.Queue(`SELECT min(coalesce(planned_on, $1)) FROM apiary`, scheduler.MinDate).QueryRow(func(row pgx.Row) error {
		return row.Scan(&t.plannedOn)
	})
	queueDecided(&b, &t.Before, scheduler.DateOf(now.UTC()))
	err := tx.tx.SendBatch(ctx, &b).Close()
	if code(err) == foreignKeyViolation { // the club was deleted meanwhile
		err = ErrNotFound
	}
	if err != nil {
		return nil, tx.wrap(err, "take the turn to decide what is owed")
	}
	t.Club, t.FeedVersion = l.assemble(), l.feedVersion
	return t, nil
}

// Quiet notes that nothing new is owed before an instant, unless what people see
// of the club changes from this version.
func (tx *Tx) Quiet(version int64, until time.Time) {
	tx.later("note until when nothing is owed", `UPDATE decided SET quiet_version = $1, quiet_until = $2`, version, until)
}

// queueDecided reads what was decided. Of the keys, only those of days that
// are still to be decided on can be asked for: today, and the days since the
// last decision.
func queueDecided(b *pgx.Batch, before *owed.Before, today scheduler.Date) {
	since := today - keysKept
	seen := map[string]bool{}
	before.Seen = func(key string) bool { return seen[key] }
	b.Queue(`
		SELECT key FROM message
		 WHERE on_day >= greatest($1, least($2, (SELECT (at AT TIME ZONE 'UTC')::date FROM decided)) - 1)`, since, today).
		Query(func(rows pgx.Rows) error {
			var key string
			_, err := pgx.ForEachRow(rows, []any{&key}, func() error { seen[key] = true; return nil })
			return err
		})
	before.Mail = map[int64][]owed.Mailed{}
	b.Queue(`SELECT person_id, on_day, club_id, free, weekly FROM mails_to_members($1)`, since).Query(func(rows pgx.Rows) error {
		var person int64
		var m owed.Mailed
		_, err := pgx.ForEachRow(rows, []any{&person, &m.On, &m.ClubID, &m.Free, &m.Weekly}, func() error {
			before.Mail[person] = append(before.Mail[person], m)
			return nil
		})
		return err
	})
	before.Leads = map[int64]int{}
	b.Queue(`SELECT person_id, clubs FROM clubs_organised()`).Query(func(rows pgx.Rows) error {
		var person int64
		var clubs int
		_, err := pgx.ForEachRow(rows, []any{&person, &clubs}, func() error { before.Leads[person] = clubs; return nil })
		return err
	})
	b.Queue(`
		SELECT t.member_id, t.kind, coalesce(v.uid, ''), coalesce(t.apiary_id, 0), t.on_day, t.told_on
		  FROM told t LEFT JOIN visit v ON v.club_id = t.club_id AND v.id = t.visit_id
		 WHERE t.visit_id IS NULL OR v.on_day >= $1 OR t.on_day >= $1
		 ORDER BY t.member_id, t.told_on`, since).Query(func(rows pgx.Rows) (err error) {
		before.Told, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (t owed.Told, err error) {
			err = row.Scan(&t.MemberID, &t.Kind, &t.VisitUID, &t.ApiaryID, &t.On, &t.ToldOn)
			return t, err
		})
		return err
	})
}
