package store

import (
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// rulesThen are the rules that held when something began.
type rulesThen struct {
	version int
	rules   scheduler.Rules
}

// keptRates finds the apiaries whose last plan, by the rules that hold, left rates to go on from.
func (tx *Tx) keptRates(ctx context.Context) (map[int64]bool, error) {
	ids, err := tx.ids(ctx, `SELECT id FROM apiary WHERE rates_from IS NOT NULL AND planned_rules = (SELECT max(version) FROM rules)`)
	kept := make(map[int64]bool, len(ids))
	for _, id := range ids {
		kept[id] = true
	}
	return kept, tx.wrap(err, "list the apiaries with kept rates")
}

// read reads what planning apiaries takes. Where nothing happened since the last plan,
// that left the rates, and only late openings are read.
func (r *clubRun) read(ctx context.Context, tx *Tx, apiaries []int64) (*loading, *scheduler.Club, scheduler.KnownRates, error) {
	sc := scope{apiaries: apiaries, openings: effective, since: r.today - remembered, computed: true}
	if slices.ContainsFunc(apiaries, func(id int64) bool { return r.kept[id] }) {
		sc.openings, sc.openingsSince = late, scheduler.OpeningsSince(&r.rules.rules, r.today)
	}
	l, err := tx.load(ctx, sc)
	if err != nil {
		return nil, nil, nil, err
	}
	c := l.assemble()
	if sc.openings == effective {
		return l, c, nil, nil
	}
	saved := map[int64]scheduler.SavedRates{}
	for id, p := range l.planned {
		if p.rules == l.rules && p.rules == r.rules.version {
			saved[id] = scheduler.SavedRates{On: p.on, Sources: p.ratesFrom}
		}
	}
	known := scheduler.StillKnown(c, saved, l.states, r.today)
	rest := slices.DeleteFunc(slices.Clone(apiaries), func(id int64) bool { _, is := known[id]; return is })
	return l, c, known, tx.addHistory(ctx, l, c, rest)
}

// addHistory reads all openings of the boxes of apiaries into a club that has only
// late ones.
func (tx *Tx) addHistory(ctx context.Context, l *loading, c *scheduler.Club, apiaries []int64) error {
	if len(apiaries) == 0 {
		return nil
	}
	l.openings = nil
	var b pgx.Batch
	l.queueOpenings(&b, scope{apiaries: apiaries, openings: effective})
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return tx.wrap(err, "read the openings")
	}
	l.addOpenings(boxIndex(c))
	return nil
}

// ratesFrom says for each apiary that was planned what its rates came from.
func (l *loading) ratesFrom(plan *scheduler.Plan, apiaries []int64, today scheduler.Date) []*int64 {
	from := scheduler.RateSources(&l.club, plan.Past, plan.Boxes, today)
	out := make([]*int64, len(apiaries))
	for i, id := range apiaries {
		if n := from[id]; n != 0 {
			out[i] = &n
		}
	}
	return out
}

// others are the apiaries that were read and not planned.
func (l *loading) others(planned []int64) (ids []int64) {
	for i := range l.club.Apiaries {
		if id := l.club.Apiaries[i].ID; !slices.Contains(planned, id) {
			ids = append(ids, id)
		}
	}
	return ids
}
