package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// anyApiary leads to what a club has by way of its apiaries: no index lists
// hives, boxes or visits by club, and a query that names nothing else would
// read those of every club to find its own.
const anyApiary = `ANY(ARRAY(SELECT id FROM apiary))`

// selectApiaries reads what collectApiaries takes.
const selectApiaries = `
	SELECT id, name, latitude, longitude, elevation_m, timezone, travel_hours, season_shift_days, weekdays, access_notes, trip,
	       region, first_pollen, supers_on, supers_off
	  FROM apiary `

type keeperRow struct{ ApiaryID, MemberID int64 }

type hiveRow struct {
	ID        int64
	ApiaryID  int64
	Name      string
	BeeSpace  scheduler.BeeSpace
	Requeened []scheduler.Date
	RetiredOn scheduler.Date
}

func (r *hiveRow) hive() scheduler.Hive {
	return scheduler.Hive{
		ID: r.ID, Name: r.Name, BeeSpace: r.BeeSpace,
		Requeened: orNil(r.Requeened), RetiredOn: r.RetiredOn,
	}
}

type periodRow struct {
	Kind                       string
	HiveID, ApiaryID, MemberID int64
	FromDay, UntilDay          scheduler.Date
	Reason                     string
	AfterWhat                  scheduler.Fate
}

func (l *loading) queueApiaries(b *pgx.Batch, sc scope) {
	periods := `SELECT kind, coalesce(hive_id, 0) AS hive_id, coalesce(apiary_id, 0) AS apiary_id,
		coalesce(member_id, 0) AS member_id, from_day, until_day, reason, after_what FROM leave_alone `
	hives := `SELECT id, apiary_id, name, bee_space, requeened, retired_on FROM hive `
	l.queueSomeApiaries(b, sc.apiaries)
	l.queueKeepers(b, `ANY($1)`, sc.apiaries)
	queue(b, &l.hives, hives+`WHERE apiary_id = ANY($1) ORDER BY id`, sc.apiaries)
	queue(b, &l.periods, periods+`
		WHERE member_id = ANY(ARRAY(SELECT id FROM member)) OR apiary_id = ANY($1)
		   OR hive_id = ANY(`+hivesOf+`)
		ORDER BY from_day, id`, sc.apiaries)
}

// queueKeepers reads who looks after certain apiaries. Like those, they are many.
func (l *loading) queueKeepers(b *pgx.Batch, apiaries string, args ...any) {
	b.Queue(`SELECT apiary_id, member_id FROM apiary_keeper WHERE apiary_id = `+apiaries+` ORDER BY apiary_id, position`, args...).
		Query(func(rows pgx.Rows) error {
			var k keeperRow
			_, err := pgx.ForEachRow(rows, []any{&k.ApiaryID, &k.MemberID}, func() error { l.keepers = append(l.keepers, k); return nil })
			return err
		})
}

// queueSomeApiaries reads what is said of the places alone.
func (l *loading) queueSomeApiaries(b *pgx.Batch, ids []int64) {
	b.Queue(selectApiaries+`WHERE id = ANY($1) ORDER BY id`, ids).Query(func(rows pgx.Rows) (err error) {
		l.club.Apiaries, err = collectApiaries(nil, rows)
		return err
	})
}

// SeasonSeen reads those apiaries of the club at which days of the season were
// observed, without their hives and people.
func (tx *Tx) SeasonSeen(ctx context.Context) ([]scheduler.Apiary, error) {
	rows, err := tx.tx.Query(ctx, selectApiaries+`WHERE first_pollen <> '{}' OR supers_on <> '{}' OR supers_off <> '{}' ORDER BY id`)
	if err != nil {
		return nil, tx.wrap(err, "read the days observed")
	}
	out, err := collectApiaries(nil, rows)
	return out, tx.wrap(err, "read the days observed")
}

// collectApiaries appends what selectApiaries gives. It scans every row into the same
// apiary: there are hundreds, and a page may be about a few of them.
func collectApiaries(into []scheduler.Apiary, rows pgx.Rows) ([]scheduler.Apiary, error) {
	var a scheduler.Apiary
	var weekdays int16
	seen := make([][]scheduler.Date, len(scheduler.SeasonEvents))
	_, err := pgx.ForEachRow(rows, []any{
		&a.ID, &a.Name, &a.Latitude, &a.Longitude, &a.ElevationM, &a.Timezone, &a.TravelHours,
		&a.SeasonShiftDays, &weekdays, &a.AccessNotes, &a.Trip,
		&a.Region, &seen[0], &seen[1], &seen[2],
	}, func() error {
		next := a
		next.Weekdays = scheduler.WeekdaySet(weekdays)
		for i, event := range scheduler.SeasonEvents {
			for _, on := range seen[i] {
				next.Seen = append(next.Seen, scheduler.SeasonDay{Event: event, On: on})
			}
		}
		into = append(into, next)
		return nil
	})
	return into, err
}

func (l *loading) addPeriods(apiaryAt map[int64]int, hives map[int64]*scheduler.Hive) {
	memberAt := make(map[int64]int, len(l.club.Members))
	for i := range l.club.Members {
		memberAt[l.club.Members[i].ID] = i
	}
	for _, r := range l.periods {
		p := scheduler.Period{From: r.FromDay, Until: r.UntilDay, Reason: r.Reason, After: r.AfterWhat}
		switch {
		case r.HiveID != 0:
			if h := hives[r.HiveID]; h != nil {
				h.LeaveAlone = append(h.LeaveAlone, p)
			}
		case r.MemberID != 0:
			if i, ok := memberAt[r.MemberID]; ok {
				l.club.Members[i].NoGo = append(l.club.Members[i].NoGo, p)
			}
		default:
			i, ok := apiaryAt[r.ApiaryID]
			if !ok {
				continue
			}
			a := &l.club.Apiaries[i]
			if r.Kind == "standstill" {
				a.Standstill = append(a.Standstill, p)
			} else {
				a.NoGo = append(a.NoGo, p)
			}
		}
	}
}

// orNil makes an empty array what a record without any has.
func orNil[T any](s []T) []T {
	if len(s) == 0 {
		return nil
	}
	return s
}
