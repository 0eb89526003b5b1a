package store

import (
	"strings"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// queueOpeningInserts adds openings in their order, with their gaps.
func (tx *Tx) queueOpeningInserts(b *pgx.Batch, openings []BoxOpening) {
	n := len(openings)
	id, supersedes, scraped, condition, note := make([]string, n), make([]*string, n), make([]string, n), make([]string, n), make([]string, n)
	box, by := make([]int64, n), make([]int64, n)
	on := make([]scheduler.Date, n)
	joint, frames := make([]int16, n), make([]int16, n)
	shut, void, another := make([]bool, n), make([]bool, n), make([]bool, n)
	opener, openerName := make([]int64, n), make([]string, n)
	for i := range openings {
		o := &openings[i].Opening
		id[i], box[i], by[i], on[i] = o.ID, openings[i].BoxID, o.By, o.On
		joint[i], frames[i], shut[i], void[i] = int16(o.Joint), int16(o.Frames), o.LeftShut, o.Void
		scraped[i], condition[i], note[i] = string(o.Scraped), joinConditions(o.Condition), o.Note
		if o.Opener != nil {
			another[i], opener[i], openerName[i] = true, o.Opener.Member, o.Opener.Name
		}
		if o.Supersedes != "" {
			supersedes[i] = &o.Supersedes
		}
	}
	b.Queue(`
		INSERT INTO opening (club_id, id, box_id, on_day, joint, frames, left_shut, scraped, condition, note, by_member, supersedes, void, somebody_else,
		                     opened_by_member, opened_by_name)
		SELECT $1::bigint, u.id, u.box, u.on_day, u.joint, u.frames, u.shut, u.scraped, string_to_array(u.condition, ','),
		       u.note, nullif(u.by, 0), u.supersedes, u.void, u.another, nullif(u.opener, 0), u.opener_name
		  FROM unnest($2::uuid[], $3::bigint[], $4::date[], $5::smallint[], $6::smallint[], $7::bool[], $8::text[], $9::text[],
		              $10::text[], $11::bigint[], $12::uuid[], $13::bool[], $14::bool[], $15::bigint[], $16::text[])
		       WITH ORDINALITY AS u(id, box, on_day, joint, frames, shut, scraped, condition, note, by, supersedes, void, another, opener, opener_name, n)
		 ORDER BY u.n`,
		tx.club, id, box, on, joint, frames, shut, scraped, condition, note, by, supersedes, void, another, opener, openerName)
	tx.queueGaps(b, openings)
	tx.queueForecastsOf(b, openings)
}

// queueForecastsOf adds what was said of openings: what came with them, and of
// others that they correct what holds for these too.
func (tx *Tx) queueForecastsOf(b *pgx.Batch, openings []BoxOpening) {
	var said []forecastRow
	var corrections []string
	for i := range openings {
		o := &openings[i].Opening
		switch {
		case o.Said != nil:
			said = append(said, forecastRow{o.ID, *o.Said})
		case o.Supersedes != "":
			corrections = append(corrections, o.ID)
		}
	}
	tx.queueForecastInserts(b, said)
	tx.queueForecastCopies(b, corrections)
}

func joinConditions(conditions []scheduler.Condition) string {
	words := make([]string, len(conditions))
	for i, c := range conditions {
		words[i] = string(c)
	}
	return strings.Join(words, ",")
}

func (tx *Tx) queueGaps(b *pgx.Batch, openings []BoxOpening) {
	var id, at, peg []string
	var n []int
	var mm []float64
	for _, o := range openings {
		for i, g := range o.Opening.Gaps {
			id, n, at = append(id, o.Opening.ID), append(n, i+1), append(at, string(g.At))
			mm, peg = append(mm, g.MM), append(peg, string(g.Peg))
		}
	}
	if len(id) > 0 {
		b.Queue(`
			INSERT INTO gap (club_id, opening_id, n, at, mm, peg)
			SELECT $1::bigint, u.* FROM unnest($2::uuid[], $3::int[], $4::text[], $5::float8[], $6::text[]) u`,
			tx.club, id, n, at, mm, peg)
	}
}
