package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// ForecastsKept is for how many days it is kept what was said of an opening
// before it was made: five years. Older ones were made by other rules and for
// other colonies, and the odds are corrected by what is true now.
const ForecastsKept = 5 * 365

// forecastRow is what was said of one opening.
type forecastRow struct {
	id       string // of the opening
	forecast scheduler.Forecast
}

const forecastColumns = `f.opening_id::text, f.made_on, f.hard, f.stuck, f.model_hard, f.model_stuck, f.openings,
	coalesce(f.rules_version, 0), f.recalibrated_on`

func (r *forecastRow) targets() []any {
	f := &r.forecast
	return []any{&r.id, &f.MadeOn, &f.Hard, &f.Stuck, &f.ModelHard, &f.ModelStuck, &f.Openings, &f.Rules, &f.Recalibrated}
}

// queueForecasts reads what was said of the openings of which a term is true.
func (l *loading) queueForecasts(b *pgx.Batch, where string, args ...any) {
	b.Queue(`SELECT `+forecastColumns+` FROM forecast f JOIN opening o ON o.club_id = f.club_id AND o.id = f.opening_id
		WHERE `+where, args...).Query(func(rows pgx.Rows) error {
		l.forecasts = map[string]*scheduler.Forecast{}
		var r forecastRow
		_, err := pgx.ForEachRow(rows, r.targets(), func() error {
			f := r.forecast
			l.forecasts[r.id] = &f
			return nil
		})
		return err
	})
}

// foretell writes down what was said of openings before they were made: what
// the plan says of the records as they stood until now. A box of which no plan
// ever said anything has none.
func (tx *Tx) foretell(l *loading, c *scheduler.Club, before map[int64][]scheduler.Opening, fresh []BoxOpening, today scheduler.Date) {
	boxes := boxIndex(c)
	now, opened := map[int64][]scheduler.Opening{}, map[int64][]scheduler.Opening{}
	planned := l.statesByBox()
	for _, o := range fresh {
		b := boxes[o.BoxID]
		if b == nil {
			continue
		}
		if _, done := now[b.ID]; !done {
			now[b.ID], b.Openings = b.Openings, scheduler.Effective(before[b.ID])
		}
		if _, was := planned[b.ID]; was {
			opened[b.ID] = append(opened[b.ID], o.Opening)
		}
	}
	said := scheduler.Foretell(c, opened, today)
	for id, all := range now {
		boxes[id].Openings = all
	}
	rows := make([]forecastRow, 0, len(said))
	for _, o := range fresh {
		if f, ok := said[o.Opening.ID]; ok {
			f.Rules = l.rules
			rows = append(rows, forecastRow{o.Opening.ID, f})
		}
	}
	var b pgx.Batch
	tx.queueForecastInserts(&b, rows)
	tx.laterAll(&b, "write down what was said of %d openings", len(rows))
}

func (tx *Tx) queueForecastInserts(b *pgx.Batch, rows []forecastRow) {
	n := len(rows)
	if n == 0 {
		return
	}
	id, made, recalibrated := make([]string, n), make([]scheduler.Date, n), make([]scheduler.Date, n)
	hard, stuck, modelHard, modelStuck := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	openings, rules := make([]int, n), make([]int, n)
	for i := range rows {
		f := &rows[i].forecast
		id[i], made[i], recalibrated[i] = rows[i].id, f.MadeOn, f.Recalibrated
		hard[i], stuck[i], modelHard[i], modelStuck[i] = f.Hard, f.Stuck, f.ModelHard, f.ModelStuck
		openings[i], rules[i] = f.Openings, f.Rules
	}
	b.Queue(`
		INSERT INTO forecast (club_id, opening_id, made_on, hard, stuck, model_hard, model_stuck, openings, rules_version, recalibrated_on)
		SELECT $1::bigint, u.id, u.made, u.hard, u.stuck, u.model_hard, u.model_stuck, u.openings, nullif(u.rules, 0), u.recalibrated
		  FROM unnest($2::uuid[], $3::date[], $4::float8[], $5::float8[], $6::float8[], $7::float8[], $8::int[], $9::int[], $10::date[])
		       AS u(id, made, hard, stuck, model_hard, model_stuck, openings, rules, recalibrated)`,
		tx.club, id, made, hard, stuck, modelHard, modelStuck, openings, rules, recalibrated)
}

// queueForecastCopies lets what was said of openings hold for corrections of
// them, by their ids, that leave the day as it was and do not take them back.
func (tx *Tx) queueForecastCopies(b *pgx.Batch, corrections []string) {
	if len(corrections) == 0 {
		return
	}
	b.Queue(`
		INSERT INTO forecast (club_id, opening_id, made_on, hard, stuck, model_hard, model_stuck, openings, rules_version, recalibrated_on)
		SELECT f.club_id, o.id, f.made_on, f.hard, f.stuck, f.model_hard, f.model_stuck, f.openings, f.rules_version, f.recalibrated_on
		  FROM opening o
		  JOIN opening was ON was.club_id = o.club_id AND was.id = o.supersedes
		  JOIN forecast f ON f.club_id = was.club_id AND f.opening_id = was.id
		 WHERE o.id = ANY($1::uuid[]) AND o.on_day = was.on_day AND NOT o.void
		ON CONFLICT DO NOTHING`, corrections)
}

// Outcomes reads what was said of the openings that count, and what was found, by
// day.
func (tx *Tx) Outcomes(ctx context.Context) ([]scheduler.Outcome, error) {
	rows, err := tx.tx.Query(ctx, `
		SELECT `+forecastColumns+`, o.on_day, greatest(o.joint, o.frames)
		  FROM forecast f JOIN opening o ON o.club_id = f.club_id AND o.id = f.opening_id
		 WHERE `+counts(`o.box_id`)+` ORDER BY o.on_day, o.seq`)
	if err != nil {
		return nil, tx.wrap(err, "read what was said of openings")
	}
	var out []scheduler.Outcome
	var r forecastRow
	var o scheduler.Outcome
	_, err = pgx.ForEachRow(rows, append(r.targets(), &o.On, &o.Found), func() error {
		o.Forecast = r.forecast
		out = append(out, o)
		return nil
	})
	return out, tx.wrap(err, "read what was said of openings")
}

// clearForecasts takes away what was said on days before since.
func (tx *Tx) clearForecasts(ctx context.Context, since scheduler.Date) (int, error) {
	tag, err := tx.tx.Exec(ctx, `
		DELETE FROM forecast WHERE opening_id = ANY(ARRAY(
			SELECT opening_id FROM forecast WHERE made_on < $1 ORDER BY made_on LIMIT $2))`,
		since, clearAtOnce)
	return int(tag.RowsAffected()), tx.wrap(err, "clear what was said before %s", since)
}
