package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// MovesKept is for how many days it is known what a change of rules moved.
// Whoever goes back to the rules of before later than that gets the days that
// planning chooses.
const MovesKept = 90

// ruledAnew reports whether an apiary was last planned by other rules than
// those that hold: what its next plan moves is due to their change.
func (l *loading) ruledAnew(apiary int64) bool {
	before := l.planned[apiary].rules
	return before != 0 && before < l.rules
}

// planBack plans apiaries by a plan that may be made several times. By rules that held before, what the ones between had
// moved goes back; it tells what became of each such visit.
func (tx *Tx) planBack(ctx context.Context, l *loading, c *scheduler.Club, apiaries []int64, today scheduler.Date, plan func(*scheduler.Club) *scheduler.Plan) (*scheduler.Plan, map[int64]scheduler.PutBack, error) {
	var visits []int64
	if l.restores != 0 {
		planned := map[int64]bool{}
		for _, id := range apiaries {
			planned[id] = l.ruledAnew(id)
		}
		for i := range c.Visits {
			if v := &c.Visits[i]; planned[v.ApiaryID] {
				visits = append(visits, v.ID)
			}
		}
	}
	if len(visits) == 0 {
		return plan(c), nil, nil
	}
	moves, err := tx.moves(ctx, l.restores, `visit_id = ANY($2)`, visits)
	if err != nil {
		return nil, nil, err
	}
	p, became := scheduler.PlanBack(c, moves, today, plan)
	return p, became, nil
}

// MovesBack reads the moves that some rules would take back if they came to
// hold: none unless an earlier version had the same.
func (tx *Tx) MovesBack(ctx context.Context, r *scheduler.Rules) ([]scheduler.VisitMove, error) {
	all, err := tx.RulesVersions(ctx)
	if err != nil {
		return nil, err
	}
	restores := sameRules(all, r)
	if restores == 0 || restores == all[0].Version {
		return nil, nil
	}
	return tx.moves(ctx, restores, `true`)
}

// moves reads what versions after one moved of visits that had been planned by
// it or by one after it, the last moves first.
func (tx *Tx) moves(ctx context.Context, after int, which string, args ...any) ([]scheduler.VisitMove, error) {
	rows, err := tx.tx.Query(ctx, `
		SELECT visit_id, was_day, was_status, was_sequence, on_day, sequence FROM visit_move
		 WHERE rules_version > $1 AND rules_before >= $1 AND `+which+` ORDER BY rules_version DESC, visit_id`, append([]any{after}, args...)...)
	if err != nil {
		return nil, tx.wrap(err, "read what changes of rules moved")
	}
	moves, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (m scheduler.VisitMove, err error) {
		err = row.Scan(&m.VisitID, &m.Was.On, &m.Was.Status, &m.Was.Sequence, &m.Now.On, &m.Now.Sequence)
		return m, err
	})
	return moves, tx.wrap(err, "read what changes of rules moved")
}

// queueMoves notes what the first plan by new rules moved or took out, and what
// became of what it should have put back. A visit that planning alters later,
// and leaves on its day, still stands where the change left it.
func (tx *Tx) queueMoves(b *pgx.Batch, l *loading, r *Replanned, became map[int64]scheduler.PutBack, today scheduler.Date) {
	var m moveColumns
	noted := map[int64]bool{}
	note := func(was, now *scheduler.Visit) {
		if l.ruledAnew(now.ApiaryID) && !noted[now.ID] {
			noted[now.ID] = true
			m.add(was, now, l.planned[now.ApiaryID].rules, became[now.ID])
		}
	}
	var id []int64
	var was, now []int
	for i := range r.Changed {
		ch := &r.Changed[i]
		if ch.Old.On != ch.New.On || became[ch.New.ID] != "" {
			note(&ch.Old, &ch.New)
			continue
		}
		id, was, now = append(id, ch.New.ID), append(was, ch.Old.Sequence), append(now, ch.New.Sequence)
	}
	for i := range r.Cancelled {
		if v := &r.Cancelled[i]; l.visit(v.ID) != nil {
			note(l.visit(v.ID), v)
		}
	}
	for i := range l.club.Visits {
		if v := &l.club.Visits[i]; became[v.ID] != "" {
			note(v, v)
		}
	}
	if len(id) > 0 {
		b.Queue(`
			UPDATE visit_move m SET sequence = u.now FROM unnest($1::bigint[], $2::int[], $3::int[]) AS u(id, was, now)
			 WHERE m.visit_id = u.id AND m.sequence = u.was`, id, was, now)
	}
	if len(m.visit) > 0 {
		b.Queue(`
			INSERT INTO visit_move (club_id, rules_version, moved_on, visit_id, rules_before, was_day, was_status, was_sequence, on_day, sequence, back)
			SELECT $1::bigint, $2::int, $3::date, u.* FROM unnest($4::bigint[], $5::int[], $6::date[], $7::text[], $8::int[], $9::date[], $10::int[], $11::text[]) u`,
			tx.club, l.rules, today, m.visit, m.before, m.wasOn, m.wasStatus, m.wasSequence, m.on, m.sequence, m.back)
	}
}

// moveColumns holds moves column by column, as unnest takes them.
type moveColumns struct {
	visit                         []int64
	before, wasSequence, sequence []int
	wasOn, on                     []scheduler.Date
	wasStatus, back               []string
}

func (m *moveColumns) add(was, now *scheduler.Visit, before int, back scheduler.PutBack) {
	m.visit, m.before, m.back = append(m.visit, now.ID), append(m.before, before), append(m.back, string(back))
	m.wasOn, m.wasStatus, m.wasSequence = append(m.wasOn, was.On), append(m.wasStatus, string(was.Status)), append(m.wasSequence, was.Sequence)
	m.on, m.sequence = append(m.on, now.On), append(m.sequence, now.Sequence)
}

// visit returns a visit as it was read, or nil.
func (l *loading) visit(id int64) *scheduler.Visit {
	for i := range l.club.Visits {
		if l.club.Visits[i].ID == id {
			return &l.club.Visits[i]
		}
	}
	return nil
}

// PutBacks counts, of the visits that a version of the rules was to put back,
// what became of them: nothing unless an earlier one had the same rules.
func (tx *Tx) PutBacks(ctx context.Context, version int) (map[scheduler.PutBack]int, error) {
	rows, err := tx.tx.Query(ctx, `SELECT back, count(*) FROM visit_move WHERE rules_version = $1 AND back <> '' GROUP BY back`, version)
	if err != nil {
		return nil, tx.wrap(err, "count what version %d of the rules put back", version)
	}
	out := map[scheduler.PutBack]int{}
	var back scheduler.PutBack
	var n int
	_, err = pgx.ForEachRow(rows, []any{&back, &n}, func() error { out[back] = n; return nil })
	return out, tx.wrap(err, "count what version %d of the rules put back", version)
}

// clearMoves takes away what changes of rules moved before a day.
func (tx *Tx) clearMoves(ctx context.Context, since scheduler.Date) (int, error) {
	tag, err := tx.tx.Exec(ctx, `
		DELETE FROM visit_move m USING (
			SELECT visit_id, rules_version FROM visit_move WHERE moved_on < $1 LIMIT $2 FOR UPDATE SKIP LOCKED) old
		 WHERE m.visit_id = old.visit_id AND m.rules_version = old.rules_version`, since, clearAtOnce)
	return int(tag.RowsAffected()), tx.wrap(err, "clear what rules moved before %s", since)
}
