package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// What a search lists of each kind, and how many of the newest notes it looks
// through, so that it takes no longer in a club of any size.
const (
	FoundMost   = 20
	NotesSearch = 2000
)

// FoundBox is a box by its mark.
type FoundBox struct {
	SpareBox     // its place where it stands on no hive
	Hive, Apiary string
	Exact        bool // the mark is what was asked for, but for its case
}

// FoundName is a hive, an apiary or a member by name.
type FoundName struct {
	ID      int64
	Name    string
	Apiary  string // of a hive
	Retired bool   // of a hive
	Exact   bool
}

// FoundNote is an opening of which a word was written.
type FoundNote struct {
	BoxID int64
	Box   string
	On    scheduler.Date
	Note  string
}

// Found is what a search finds: of each kind at most FoundMost.
type Found struct {
	Club     *scheduler.Club // with its first apiary alone, whose day is the club's
	Boxes    []FoundBox      // whose mark begins so, exact ones first
	Hives    []FoundName     // whose name begins so, exact ones first
	Apiaries []FoundName     // whose name has it, like those of members
	Members  []FoundName
	Notes    []FoundNote // of the newest NotesSearch, the newest first
}

// Find looks for what somebody typed, in whatever case, as a whole: no
// character of it means anything but itself.
func (tx *Tx) Find(ctx context.Context, typed string) (*Found, error) {
	f, l := &Found{}, &loading{}
	var b pgx.Batch
	l.queueClub(&b)
	b.Queue(selectApiaries + `ORDER BY id LIMIT 1`).Query(func(rows pgx.Rows) (err error) {
		l.club.Apiaries, err = collectApiaries(nil, rows)
		return err
	})
	queue(&b, &f.Boxes, findBoxes, typed, FoundMost)
	queue(&b, &f.Hives, findHives, typed, FoundMost)
	queue(&b, &f.Apiaries, `SELECT id, name, '' AS apiary, false AS retired, `+isExact("name")+` FROM apiary WHERE `+has("name")+` ORDER BY exact DESC, name, id LIMIT $2`, typed, FoundMost)
	queue(&b, &f.Members, `SELECT id, name, '' AS apiary, false AS retired, `+isExact("name")+` FROM member WHERE `+has("name")+` ORDER BY exact DESC, name, id LIMIT $2`, typed, FoundMost)
	queue(&b, &f.Notes, findNotes, typed, FoundMost, NotesSearch)
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, tx.wrap(err, "find what was typed")
	}
	f.Club = l.assemble()
	return f, nil
}

func has(column string) string { return `position(lower($1) IN lower(` + column + `)) > 0` }

func isExact(column string) string { return `lower(` + column + `) = lower($1) AS exact` }

// The limit tells the planner how few a function finds.
const findBoxes = `
	SELECT b.id, b.name, b.kind, coalesce(h.name, '') AS hive, coalesce(a.name, '') AS apiary, m.exact,
	       coalesce(p.place, CASE WHEN h.id IS NULL THEN 'store' ELSE 'hive' END) AS "where", coalesce(p.lent_to, '') AS lent_to, p.until_day AS until
	  FROM (SELECT * FROM boxes_marked($1, $2) LIMIT $2) m
	  JOIN box b ON b.id = m.id
	  LEFT JOIN hive h ON h.club_id = b.club_id AND h.id = b.hive_id
	  LEFT JOIN apiary a ON a.club_id = h.club_id AND a.id = h.apiary_id
	  LEFT JOIN LATERAL (
	       SELECT place, lent_to, until_day FROM box_place p
	        WHERE p.club_id = b.club_id AND p.box_id = b.id AND b.hive_id IS NULL ORDER BY p.n DESC LIMIT 1) p ON true
	 ORDER BY m.exact DESC, lower(b.name), b.id`

const findHives = `
	SELECT h.id, h.name, a.name AS apiary, h.retired_on IS NOT NULL AS retired, m.exact
	  FROM (SELECT * FROM hives_named($1, $2) LIMIT $2) m
	  JOIN hive h ON h.id = m.id
	  JOIN apiary a ON a.club_id = h.club_id AND a.id = h.apiary_id
	 ORDER BY m.exact DESC, h.retired_on IS NOT NULL, lower(h.name), h.id`

// findNotes leaves out openings that do not count: a note goes along with the
// opening that corrects its own.
var findNotes = `
	SELECT x.id AS box_id, x.name AS box, o.on_day AS on, o.note
	  FROM (SELECT * FROM opening WHERE note <> '' ORDER BY on_day DESC, seq DESC LIMIT $3) o
	  JOIN box x ON x.club_id = o.club_id AND x.id = o.box_id
	 WHERE ` + has("o.note") + ` AND ` + counts(`o.box_id`) + `
	 ORDER BY o.on_day DESC, o.seq DESC LIMIT $2`
