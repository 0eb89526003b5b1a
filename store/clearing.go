package store

import (
	"context"
	"fmt"
	"time"

	"pryday/scheduler"
)

// For how many days it is kept what happened. A club's records (openings,
// visits, rules) are kept as long as the club is; so is what a member was last
// told of overdue boxes, and when it was last decided, of which there is one row
// each. The session library clears signed-in browsers, and the job engine its
// jobs.
const (
	// MessagesKept counts from the day that a message was owed on. A year and
	// some weeks, so that this spring's mails can be held against last spring's.
	// Deciding looks back keysKept days.
	MessagesKept = 400
	// ToldKept counts from the last of three days: the visit's, the day that was
	// told, and the day on which it was. Planning remembers visits as long.
	ToldKept = remembered
	// TokensKept counts from the end of a mailed address. So long whoever follows
	// it reads that it was used or is too old, and not that there is none.
	TokensKept = 30
	// SignInsKept counts from when a sign-in was last used: longer than sessions
	// last.
	SignInsKept = 120

	// AuditKeptYears is as long as anybody may ask who changed what. The database
	// holds it and the two before too: what is younger the serving role cannot take
	// away.
	AuditKeptYears = 4
)

// clearAtOnce is how many rows go in one transaction: few, so that nobody waits
// for it.
const clearAtOnce = 500

// Cleared counts the rows that were taken away.
type Cleared struct{ Messages, Told, Audit, Sources, Tokens, Shown, Moves, Forecasts, Photos, Uploads, SignIns int }

// Clear takes away what has been kept for its time, in small transactions. Days
// of messages and of what was told are those of civil; all else goes by the
// database's clock. It may run in several daemons at once, and at any time again.
func (s *Store) Clear(ctx context.Context, civil time.Time) (Cleared, error) {
	var all Cleared
	// Mailed addresses, those that signed in and those that changed an address.
	if err := s.clearPersonal(ctx, `SELECT clear_tokens($1)`, &all.Tokens); err != nil {
		return all, fmt.Errorf("clear old mailed addresses: %w", err)
	}
	if err := s.clearPersonal(ctx, `SELECT clear_sign_ins($1)`, &all.SignIns); err != nil {
		return all, fmt.Errorf("clear old sign-ins: %w", err)
	}
	ids, err := s.ClubIDs(ctx)
	if err != nil {
		return all, err
	}
	today := scheduler.DateOf(civil.UTC())
	for _, club := range ids {
		for _, part := range []struct {
			count *int
			take  func(*Tx) (int, error)
		}{
			{&all.Messages, func(tx *Tx) (int, error) { return tx.clearMessages(ctx, today-MessagesKept) }},
			{&all.Told, func(tx *Tx) (int, error) { return tx.clearTold(ctx, today-ToldKept) }},
			{&all.Shown, func(tx *Tx) (int, error) { return tx.clearShown(ctx, today-ShownKept) }},
			{&all.Moves, func(tx *Tx) (int, error) { return tx.clearMoves(ctx, today-MovesKept) }},
			{&all.Forecasts, func(tx *Tx) (int, error) { return tx.clearForecasts(ctx, today-ForecastsKept) }},
			{&all.Photos, func(tx *Tx) (int, error) { return tx.clearPhotos(ctx) }},
			{&all.Uploads, func(tx *Tx) (int, error) { return tx.clearUploads(ctx) }},
			{&all.Audit, func(tx *Tx) (int, error) { return tx.clearAudit(ctx) }},
			{&all.Sources, func(tx *Tx) (int, error) { return tx.clearAuditSources(ctx) }},
		} {
			for more := true; more; {
				var n int
				err := s.InClub(ctx, club, func(tx *Tx) (err error) { n, err = part.take(tx); return err })
				if err != nil {
					return all, err
				}
				*part.count += n
				more = n == clearAtOnce
			}
		}
	}
	return all, nil
}

// clearMessages takes away messages owed on days before since. One that still
// waits to go out stays.
func (tx *Tx) clearMessages(ctx context.Context, since scheduler.Date) (int, error) {
	tag, err := tx.tx.Exec(ctx, `
		DELETE FROM message WHERE id = ANY(ARRAY(
			SELECT id FROM message WHERE on_day < $1 AND state <> 'owed' ORDER BY on_day LIMIT $2 FOR UPDATE SKIP LOCKED))`,
		since, clearAtOnce)
	return int(tag.RowsAffected()), tx.wrap(err, "clear the messages before %s", since)
}

// clearTold takes away what was told of visits that are over, where all of it
// lies before since.
func (tx *Tx) clearTold(ctx context.Context, since scheduler.Date) (int, error) {
	tag, err := tx.tx.Exec(ctx, `
		DELETE FROM told t USING (
			SELECT o.member_id, o.visit_id FROM told o JOIN visit v ON v.club_id = o.club_id AND v.id = o.visit_id
			 WHERE v.on_day < $1 AND v.status NOT IN ('tentative', 'confirmed')
			   AND o.told_on < $1 AND (o.on_day IS NULL OR o.on_day < $1)
			 LIMIT $2 FOR UPDATE OF o SKIP LOCKED) old
		 WHERE t.member_id = old.member_id AND t.visit_id = old.visit_id`,
		since, clearAtOnce)
	return int(tag.RowsAffected()), tx.wrap(err, "clear what was told before %s", since)
}

func (tx *Tx) clearAudit(ctx context.Context) (n int, err error) {
	err = tx.tx.QueryRow(ctx, `SELECT clear_audit($1)`, clearAtOnce).Scan(&n)
	return n, tx.wrap(err, "clear the audit trail")
}

// clearAuditSources takes away where changes came from, after SignInsKept days.
func (tx *Tx) clearAuditSources(ctx context.Context) (n int, err error) {
	err = tx.tx.QueryRow(ctx, `SELECT clear_audit_sources($1)`, clearAtOnce).Scan(&n)
	return n, tx.wrap(err, "clear where changes came from")
}

// clearPersonal takes away rows without a club by a function that says how many.
func (s *Store) clearPersonal(ctx context.Context, call string, count *int) error {
	for more := true; more; {
		var n int
		if err := s.pool.QueryRow(ctx, call, clearAtOnce).Scan(&n); err != nil {
			return err
		}
		*count += n
		more = n >= clearAtOnce
	}
	return nil
}
