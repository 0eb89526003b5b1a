package store

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"pryday/scheduler"
)

// FeedLink is a link with what its calendar hangs on, all of one moment.
type FeedLink struct {
	Link
	Version  int64          // the club's feed version
	Whole    int64          // that of the last change that was not of certain apiaries alone
	Changed  []int64        // the apiaries whose entries in calendars have changed since the version asked about; not nil
	Language string         // of whose it is, or was
	Zone     *time.Location // in which its days begin
}

// ClubOfLink finds the club of a link by its token: ErrNotFound for one that
// was never given out.
func (s *Store) ClubOfLink(ctx context.Context, token string) (int64, error) {
	var club *int64
	if err := s.pool.QueryRow(ctx, `SELECT club_of_link($1)`, hashToken(token)).Scan(&club); err != nil {
		return 0, fmt.Errorf("find a calendar address: %w", err)
	}
	if club == nil {
		return 0, fmt.Errorf("find a calendar address: %w", ErrNotFound)
	}
	return *club, nil
}

// FeedLink reads a link by its token, revoked and replaced ones too, with what has
// changed since a feed version.
func (tx *Tx) FeedLink(ctx context.Context, token string, since int64) (*FeedLink, error) {
	const which = `WHERE id = link_of_token($1)`
	var links []Link
	var member scheduler.Member
	l, c := &FeedLink{}, &scheduler.Club{}
	var b pgx.Batch
	b.Queue(selectLinks+which, hashToken(token)).Query(func(rows pgx.Rows) (err error) {
		links, err = pgx.CollectRows(rows, scanLink)
		return err
	})
	b.Queue(`
		SELECT c.feed_version, c.feed_whole, coalesce(m.id, 0), coalesce(m.timezone, ''), coalesce(m.language, l.language)
		  FROM (SELECT member_id, language FROM calendar_link `+which+`) l CROSS JOIN club c LEFT JOIN member m ON m.id = l.member_id`,
		hashToken(token)).Query(func(rows pgx.Rows) error {
		_, err := pgx.ForEachRow(rows, []any{&l.Version, &l.Whole, &member.ID, &member.Timezone, &l.Language}, func() error { return nil })
		return err
	})
	b.Queue(`SELECT id FROM apiary WHERE feed_version > $1 ORDER BY id`, since).Query(func(rows pgx.Rows) (err error) {
		l.Changed, err = collectIDs(rows)
		l.Changed = orEmpty(l.Changed)
		return err
	})
	// To the calendar of one apiary the club has no other.
	queueZones(&b, c, `(SELECT member_id FROM calendar_link `+which+`)`, `(SELECT apiary_id FROM calendar_link `+which+`)`, hashToken(token))
	err := tx.tx.SendBatch(ctx, &b).Close()
	if err == nil && len(links) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, tx.wrap(err, "read a calendar address")
	}
	l.Link, l.Zone = links[0], c.ZoneOf(&member)
	return l, nil
}

// FeedWindow says which visits a calendar may hold.
type FeedWindow struct {
	Today          scheduler.Date
	From           scheduler.Date // the first day
	TentativeUntil scheduler.Date // tentative and cancelled visits after it are left out, unless the link asks for them
	Among          []int64        // visits at these apiaries alone; nil for all
}

// StandSomewhere reports whether any of some boxes stands on a hive.
func (tx *Tx) StandSomewhere(ctx context.Context, boxes []int64) (yes bool, err error) {
	err = tx.tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM box WHERE id = ANY($1) AND hive_id IS NOT NULL)`, boxes).Scan(&yes)
	return yes, tx.wrap(err, "look for boxes %v", boxes)
}

// The most visits that are read for a calendar: more than fit into one that
// clients still take.
const (
	FeedAhead  = 1500 // from today on, the nearest
	FeedBehind = 500  // before today, the latest
)

// FeedVisits reads the visits that a link shows, by day and without their
// boxes, and reports whether there were more than a calendar can hold. Every visit shows in the link of
// the club, in that of its apiary and in those of the members who go.
func (tx *Tx) FeedVisits(ctx context.Context, link *Link, w FeedWindow) (visits []VisitRecord, more bool, err error) {
	shown := `w.on_day >= $1 AND CASE w.status
		WHEN 'tentative' THEN NOT $2 AND ($3 OR w.on_day <= $4)
		WHEN 'cancelled' THEN w.cancelled_until >= $5 AND ($3 OR w.on_day <= $4) ELSE true END`
	args := []any{w.From, link.ConfirmedOnly, link.Far, w.TentativeUntil, w.Today}
	switch link.Kind {
	case ApiaryLink:
		shown, args = shown+` AND w.apiary_id = $6`, append(args, link.ApiaryID)
	case MemberLink:
		shown, args = shown+` AND w.id = ANY(ARRAY(SELECT visit_id FROM visit_member WHERE member_id = $6 AND said <> 'cannot'))`, append(args, link.MemberID)
	default:
		shown += ` AND w.apiary_id = ` + anyApiary
	}
	if w.Among != nil {
		args = append(args, w.Among)
		shown += fmt.Sprintf(` AND w.apiary_id = ANY($%d)`, len(args))
	}
	which := fmt.Sprintf(` WHERE v.id IN (
		(SELECT w.id FROM visit w WHERE w.on_day >= $5 AND %[1]s ORDER BY w.on_day, w.id LIMIT %[2]d)
		UNION ALL
		(SELECT w.id FROM visit w WHERE w.on_day < $5 AND %[1]s ORDER BY w.on_day DESC, w.id LIMIT %[3]d))`,
		shown, FeedAhead, FeedBehind)
	rows, err := tx.tx.Query(ctx, selectVisits+which+byDay, args...)
	if err == nil {
		visits, err = appendVisits([]VisitRecord{}, rows)
	}
	ahead := 0
	for i := range visits {
		if visits[i].On >= w.Today {
			ahead++
		}
	}
	return visits, ahead == FeedAhead, tx.wrap(err, "read the visits of calendar address %d", link.ID)
}

// FeedClub reads of the club what calendar entries of visits are written
// from: the visits' boxes into them, and those opened; members, rules, and the apiaries of the
// visits with their stacks; and what a link last showed of the visits. The
// boxes at apiaries of open visits come with the last opening that counts, if
// it has anything to tell (a condition, a gap, left shut), and with those
// since today, no others.
func (tx *Tx) FeedClub(ctx context.Context, link int64, visits []VisitRecord, today scheduler.Date) (_ *scheduler.Club, shown map[int64]ShownEntry, err error) {
	apiaries, open, done := []int64{}, []int64{}, []int64{} // nil would read all
	for i := range visits {
		if visits[i].Status == scheduler.Done {
			done = append(done, visits[i].ID)
		}
		apiaries = append(apiaries, visits[i].ApiaryID)
		if visits[i].Status.Open() {
			open = append(open, visits[i].ApiaryID)
		}
	}
	unique := func(ids []int64) []int64 { slices.Sort(ids); return slices.Compact(ids) }
	apiaries, open = unique(apiaries), unique(open)
	last := tx.tx.last
	tx.tx.last = last && len(open) == 0
	var openings []pgtype.UUID
	// Boxes by the ids of the visits, so as not to choose those twice.
	l, err := tx.load(ctx, scope{apiaries: apiaries, openings: noOpenings, since: scheduler.MaxDate}, func(b *pgx.Batch) {
		queueBoxesOf(b, &visits, `ANY($1)`, visitIDs(visits))
		queueShown(b, &shown, link, visits)
		if len(open) > 0 {
			queueLastOpenings(b, &openings, open, today)
		}
		if len(done) > 0 {
			queueOpened(b, visits, done)
		}
	})
	if err != nil {
		return nil, nil, err
	}
	tx.tx.last = last
	if err := tx.lastOpenings(ctx, l, openings); err != nil {
		return nil, nil, tx.wrap(err, "read the last openings")
	}
	return l.assemble(), shown, nil
}

// queueOpened reads which boxes of done visits were opened on or near their
// days, into the visits.
func queueOpened(b *pgx.Batch, visits []VisitRecord, done []int64) {
	const theirs = `ANY(ARRAY(SELECT box_id FROM visit_box WHERE visit_id = ANY($1)))`
	b.Queue(`
		SELECT v.id, vb.box_id FROM visit v JOIN visit_box vb ON vb.club_id = v.club_id AND vb.visit_id = v.id
		 WHERE v.id = ANY($1) AND EXISTS (
			SELECT FROM opening o
			 WHERE o.club_id = vb.club_id AND o.box_id = vb.box_id AND o.on_day BETWEEN v.on_day - 2 AND v.on_day + 2
			   AND NOT o.left_shut AND `+counts(theirs)+`)
		 ORDER BY v.id, vb.n`, done).Query(func(rows pgx.Rows) error {
		at := make(map[int64]*VisitRecord, len(done))
		for i := range visits {
			at[visits[i].ID] = &visits[i]
		}
		var visit, box int64
		_, err := pgx.ForEachRow(rows, []any{&visit, &box}, func() error {
			at[visit].Opened = append(at[visit].Opened, box)
			return nil
		})
		return err
	})
}

func queueLastOpenings(b *pgx.Batch, into *[]pgtype.UUID, apiaries []int64, today scheduler.Date) {
	ofBox := `o.club_id = b.club_id AND o.box_id = b.id AND ` + counts(boxesAt)
	b.Queue(`
		SELECT last.id FROM hive h JOIN box b ON b.club_id = h.club_id AND b.hive_id = h.id
		  CROSS JOIN LATERAL (
			(SELECT id FROM (
				SELECT o.id, o.condition, o.left_shut FROM opening o WHERE `+ofBox+` AND o.on_day < $2
				 ORDER BY `+decidesFirst+` LIMIT 1) x
			  WHERE x.condition <> '{}' OR x.left_shut OR EXISTS (SELECT FROM gap g WHERE g.club_id = b.club_id AND g.opening_id = x.id))
			UNION ALL
			(SELECT o.id FROM opening o WHERE `+ofBox+` AND o.on_day >= $2)) last
		 WHERE h.apiary_id = ANY($1)`, apiaries, today).Query(func(rows pgx.Rows) (err error) {
		*into, err = pgx.CollectRows(rows, pgx.RowTo[pgtype.UUID])
		return err
	})
}

func (tx *Tx) lastOpenings(ctx context.Context, l *loading, ids []pgtype.UUID) error {
	if len(ids) == 0 {
		return nil
	}
	var b pgx.Batch
	l.queueOpeningsWhere(&b, `o.id = ANY($1)`, standsAt, ids)
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return err
	}
	for i := range l.openings { // what they corrected was not read
		l.openings[i].opening.Supersedes = ""
	}
	return nil
}
