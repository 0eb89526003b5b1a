package store

// counts is the condition under which an opening o of some boxes counts: it is
// neither taken back nor corrected. It says in SQL what scheduler.Effective
// says, and a test holds the two together; no other query decides it. The
// boxes are a term for box_id to equal, ANY of a fixed array: which openings
// of theirs were corrected is then found once, and they are few.
func counts(boxes string) string {
	return `NOT o.void AND o.id <> ALL(ARRAY(
		SELECT c.supersedes FROM opening c WHERE c.box_id = ` + boxes + ` AND c.supersedes IS NOT NULL))`
}

// standsAt is where an opening o that counts stands among those of its box on
// one day: a correction stands where the opening that it corrects stood.
const standsAt = `CASE WHEN o.supersedes IS NULL THEN o.seq ELSE (
		WITH RECURSIVE chain(supersedes, seq) AS (
			SELECT o.supersedes, o.seq
			UNION
			SELECT c.supersedes, c.seq FROM chain JOIN opening c ON c.club_id = o.club_id AND c.id = chain.supersedes)
		SELECT seq FROM chain WHERE supersedes IS NULL) END`

// decidesFirst orders openings o of a box that count, the latest day first and
// of each day the one that decides, as scheduler.Box.LastOpening has it.
const decidesFirst = `o.on_day DESC, o.left_shut, greatest(o.joint, o.frames) DESC,
	CASE WHEN o.scraped = 'all' THEN 0 WHEN o.scraped = '' AND greatest(o.joint, o.frames) < 0 THEN 1 WHEN o.scraped = 'part' THEN 2 ELSE 3 END DESC,
	o.id DESC`

// openedBy is the member who made an opening o, or NULL.
const openedBy = `CASE WHEN o.somebody_else THEN o.opened_by_member ELSE o.by_member END`

// boxesAt are the boxes that stand at apiaries $1.
const boxesAt = `ANY(ARRAY(SELECT id FROM box WHERE hive_id = ANY(` + hivesOf + `)))`
