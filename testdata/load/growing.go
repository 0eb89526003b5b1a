package main

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"pryday/scheduler"
	"pryday/store"
)

const (
	grownOpening = "an opening recorded beside all that is kept"
	grownTick    = "a tick in which nothing is owed, beside all that is kept"
	grownClear   = "slowest opening while a day's clearing runs"
)

// kept are the statements that fill the tables that grow with what is there
// after years: for every opening what was said of it and a line of the trail,
// for every member a mail a week of the last 401 days, and what they were told
// of each visit that is over. The trail's chain is made up: nothing verifies it.
func kept() []filling {
	on := today.At(0, time.UTC)
	return []filling{
		{`INSERT INTO forecast (club_id, opening_id, made_on, hard, stuck, model_hard, model_stuck, openings, rules_version)
		  SELECT club_id, id, on_day, .2, .05, .2, .05, 3, 1 FROM opening WHERE on_day < $1 ON CONFLICT DO NOTHING`, []any{on}},
		{`INSERT INTO message (club_id, key, kind, member_id, address, on_day, message_id, state, owed_at, sent_at, attempts, last_attempt_at)
		  SELECT m.club_id, 'kept/' || m.id || '/' || d::date, 'digest', m.id, 'member@club.example', d::date, 'kept-' || m.id || '-' || d::date || '@association.example',
		         'sent', d, d, 1, d
		    FROM member m, generate_series($1::timestamptz - interval '401 days', $1::timestamptz - interval '2 days', interval '7 days') d`, []any{on}},
		{`INSERT INTO told (club_id, member_id, visit_id, about, kind, on_day, told_on)
		  SELECT v.club_id, k.member_id, v.id, '', 'day', v.on_day, v.on_day - 1
		    FROM visit v JOIN apiary_keeper k ON k.club_id = v.club_id AND k.apiary_id = v.apiary_id WHERE v.on_day < $1 ON CONFLICT DO NOTHING`, []any{on}},
		{`ALTER TABLE audit DISABLE TRIGGER USER`, nil},
		{`INSERT INTO audit (club_id, at, member_id, action, subject, number, salt, seal, hash)
		  SELECT o.club_id, $2::timestamptz - ($1::date - o.on_day) * interval '1 day', o.by_member, 'record openings', 'Meadow',
		         coalesce(c.number, 0) + row_number() OVER (PARTITION BY o.club_id ORDER BY o.on_day, o.seq),
		         '\x00', decode(repeat('00', 32), 'hex'), decode(repeat('00', 32), 'hex')
		    FROM opening o LEFT JOIN audit_chain c ON c.club_id = o.club_id WHERE o.on_day < $1`, []any{on, time.Now()}},
		{`ALTER TABLE audit ENABLE TRIGGER USER`, nil},
		{`INSERT INTO audit_chain AS c (club_id, number, hash) SELECT club_id, max(number), decode(repeat('00', 32), 'hex') FROM audit GROUP BY club_id
		  ON CONFLICT (club_id) DO UPDATE SET number = excluded.number`, nil},
	}
}

// filling is a statement with its arguments.
type filling struct {
	sql  string
	args []any
}

// growing measures the same work before and after the tables that grow are
// filled, and what clearing a day of them does to whoever records meanwhile.
func growing(ctx context.Context, b *bed, t *table) error {
	if !t.wants(grownOpening, grownTick, grownClear) {
		return nil
	}
	boxes := b.boxesOfHives()
	const batch = 300
	before, err := b.record(ctx, boxes, batch)
	if err != nil {
		return err
	}
	tickBefore, err := b.idleTick(ctx)
	if err != nil {
		return err
	}
	began := time.Now()
	for _, f := range kept() {
		if _, err := b.owner.Exec(ctx, f.sql, f.args...); err != nil {
			return fmt.Errorf("fill what is kept: %w", err)
		}
	}
	if err := b.tidy(ctx); err != nil {
		return err
	}
	var rows int
	if err := b.owner.QueryRow(ctx, `
		SELECT sum(n_live_tup) FROM pg_stat_user_tables WHERE relname IN ('opening', 'message', 'told', 'audit', 'forecast')`).Scan(&rows); err != nil {
		return err
	}
	fmt.Printf("%s rows of what grows in %s\n", grouped(rows), secondsOf(time.Since(began)))

	after, err := b.record(ctx, boxes, batch)
	if err != nil {
		return err
	}
	tickAfter, err := b.idleTick(ctx)
	if err != nil {
		return err
	}
	ratio := func(a, b time.Duration) float64 { return a.Seconds() / b.Seconds() }
	t.add(row{
		what: grownOpening, against: "before they were there", got: ratio(middle(after), middle(before)), unit: "x", limit: 1.25,
		note: fmt.Sprintf("medians of %d: %s to %s; %s rows in what grows", batch, millis(middle(before)), millis(middle(after)), grouped(rows)),
	})
	t.add(row{
		what: grownTick, against: "before they were there", got: ratio(tickAfter, tickBefore), unit: "x", limit: 1.25,
		note: fmt.Sprintf("%s to %s", millis(tickBefore), millis(tickAfter)),
	})
	return clearing(ctx, b, t, boxes)
}

// clearing takes away what is a day too old while others record.
func clearing(ctx context.Context, b *bed, t *table, boxes func() (club, box int64)) error {
	var took []time.Duration
	var wrong error
	done := make(chan struct{})
	var recording sync.WaitGroup
	recording.Go(func() {
		for wrong == nil {
			select {
			case <-done:
				return
			default:
			}
			var one []time.Duration
			one, wrong = b.record(ctx, boxes, 1)
			took = append(took, one...)
		}
	})
	began := time.Now()
	cleared, err := b.store.Clear(ctx, today.At(0, time.UTC))
	spent := time.Since(began)
	close(done)
	recording.Wait()
	if err != nil {
		return err
	}
	if wrong != nil {
		return wrong
	}
	if cleared.Messages == 0 {
		return fmt.Errorf("clearing took nothing away: %+v", cleared)
	}
	t.add(row{
		what: grownClear, against: fmt.Sprintf("%d recorded meanwhile", len(took)), got: float64(slices.Max(took).Microseconds()) / 1000, unit: "ms", limit: 100,
		note: fmt.Sprintf("half within %s; %s rows cleared in %s", millis(middle(took)), grouped(cleared.Messages+cleared.Told+cleared.Audit+cleared.Forecasts), secondsOf(spent)),
	})
	return nil
}

// boxesOfHives gives one box after another, of another club each time.
func (b *bed) boxesOfHives() func() (club, box int64) {
	n := 0
	return func() (int64, int64) {
		c := &b.clubs[n%len(b.clubs)]
		turn := n / len(b.clubs)
		n++
		return c.id, c.box(turn%c.apiaries, turn/c.apiaries%hivesEach, turn/c.apiaries/hivesEach%boxesEach)
	}
}

// record writes down openings one by one, as somebody at a hive does, each with
// its line in the trail, and times each.
func (b *bed) record(ctx context.Context, boxes func() (club, box int64), n int) ([]time.Duration, error) {
	took := make([]time.Duration, 0, n)
	for range n {
		club, box := boxes()
		began := time.Now()
		err := b.store.InClub(ctx, club, func(tx *store.Tx) error {
			_, err := tx.RecordOpening(ctx, box, scheduler.Opening{On: today, Joint: scheduler.Firm, Frames: scheduler.NotTried}, today)
			if err == nil {
				err = tx.Audit(ctx, store.AuditEntry{Action: "record openings", Subject: "Meadow"})
			}
			return err
		})
		if err != nil {
			return nil, err
		}
		took = append(took, time.Since(began))
	}
	return took, nil
}

// idleTick is the median of ticks after those that recording asks for.
func (b *bed) idleTick(ctx context.Context) (time.Duration, error) {
	if _, err := b.notify.Tick(ctx); err != nil {
		return 0, err
	}
	var took []time.Duration
	for range 9 {
		began := time.Now()
		if _, err := b.notify.TickWhereNeeded(ctx); err != nil {
			return 0, err
		}
		took = append(took, time.Since(began))
	}
	return middle(took), nil
}

func middle(of []time.Duration) time.Duration {
	sorted := slices.Sorted(slices.Values(of))
	return sorted[len(sorted)/2]
}

func millis(d time.Duration) string {
	return fmt.Sprintf("%.3g ms", float64(d.Microseconds())/1000)
}
