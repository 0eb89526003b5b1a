package season

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// againDays is within how many days of its day a visit that came to nothing
// may not come back under another identity.
const againDays = 7

// ledger notes what becomes of visits and mails, from outside.
type ledger struct {
	from, until scheduler.Date
	today       scheduler.Date
	lives       map[string]*life // by the visit's uid
	order       []string         // as they came up
	closed      map[int64]string // by box: the last visit of it that came to nothing
	remade      map[string]string
	returned    map[string]string
	taps        int
	mails       []mailed
}

// life is what was seen of one visit.
type life struct {
	store.VisitRecord
	club     int64
	promised bool // was confirmed
	moved    int  // by planning, while people counted on it
	put      int  // by people
	dropped  bool // by planning, while people counted on it
	story    []string

	unanswered scheduler.Period // Until is the first day on which it was not any more; zero while it is
	took       []int64          // whoever ever said that they go
	word       scheduler.Date   // the day on which somebody first said something of it, or did it
}

// mailed is one mail that arrived.
type mailed struct {
	club    int64
	id      string
	key     string
	kind    scheduler.MessageKind
	member  int64
	address string
	on      scheduler.Date
	free    bool
	items   []owed.Item
	state   string
	closed  string // why it was not sent
}

func newLedger(from scheduler.Date) *ledger {
	return &ledger{from: from, lives: map[string]*life{}, closed: map[int64]string{}, remade: map[string]string{}, returned: map[string]string{}}
}

// look compares every visit with what was seen of it before.
func (l *ledger) look(w *town) {
	w.Helper()
	l.today = w.today()
	for _, club := range w.clubs {
		var now []store.VisitRecord
		w.in(club, func(ctx context.Context, tx *store.Tx) (err error) {
			now, err = tx.Visits(ctx, store.VisitFilter{From: w.today() - 40})
			return err
		})
		for _, v := range now {
			l.see(club, v)
		}
		for _, v := range now {
			l.compare(&v)
		}
	}
}

func (l *ledger) see(club int64, v store.VisitRecord) {
	x := l.lives[v.UID]
	if x == nil {
		x = &life{VisitRecord: v, club: club}
		l.lives[v.UID] = x
		l.order = append(l.order, v.UID)
	}
	was := x.VisitRecord
	x.VisitRecord = v
	x.promised = x.promised || v.Status == scheduler.Confirmed
	if now := fmt.Sprint(v.On, " ", v.Status, " ", len(v.Boxes)); len(x.story) == 0 || x.story[len(x.story)-1][12:] != now {
		x.story = append(x.story, l.today.String()+": "+now)
	}
	for _, m := range v.Taken {
		if !slices.Contains(x.took, m) {
			x.took = append(x.took, m)
		}
	}
	if x.word == 0 && (len(v.Taken)+len(v.Refused) > 0 || v.Status == scheduler.Done) {
		x.word = l.today
	}
	switch {
	case v.Status == scheduler.Unanswered && x.unanswered.From == 0:
		x.unanswered.From = l.today
	case v.Status != scheduler.Unanswered && x.unanswered.From != 0 && x.unanswered.Until == 0:
		x.unanswered.Until = l.today
	}
	switch {
	case was.On != v.On && v.Pinned:
		x.put++
	case was.On != v.On && was.Status == scheduler.Confirmed:
		x.moved++
	}
	if was.Status == scheduler.Confirmed && v.Status == scheduler.Cancelled && v.OffUntil == 0 {
		x.dropped = true
	}
	for _, b := range v.Boxes {
		switch {
		case v.Status == scheduler.Unanswered, x.dropped, v.Status == scheduler.Cancelled && v.OffUntil > 0:
			l.closed[b.BoxID] = v.UID
		case v.Status == scheduler.Done && was.Status != scheduler.Done:
			delete(l.closed, b.BoxID)
		}
	}
}

// compare finds boxes of a visit to come that are on one which came to nothing
// some days before.
func (l *ledger) compare(v *store.VisitRecord) {
	if !v.Status.Open() {
		return
	}
	for _, b := range v.Boxes {
		uid := l.closed[b.BoxID]
		if uid == "" || uid == v.UID || b.Reason == scheduler.BecauseAbove {
			continue
		}
		old := l.lives[uid]
		if v.On < old.On || v.On > old.On+againDays {
			continue
		}
		says := fmt.Sprintf("box %d of %s (%s) is on %s (%s) again", b.BoxID, old.On, old.Status, v.On, v.Status)
		if old.dropped {
			l.returned[uid+v.UID] = says
		} else {
			l.remade[uid+v.UID] = says
		}
	}
}

// close reads the mails, when the season is over.
func (l *ledger) close(w *town) {
	w.Helper()
	l.until = w.today()
	rows, err := w.owner.Query(w.Context(), `
		SELECT club_id, message_id, key, kind, member_id, address, on_day::text, free, items::text, state, reply FROM message ORDER BY on_day, id`)
	if err == nil {
		l.mails, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (m mailed, err error) {
			var on, items string
			if err = row.Scan(&m.club, &m.id, &m.key, &m.kind, &m.member, &m.address, &on, &m.free, &items, &m.state, &m.closed); err == nil {
				err = json.Unmarshal([]byte(items), &m.items)
			}
			if err == nil {
				m.on, err = scheduler.ParseDate(on)
			}
			return m, err
		})
	}
	if err != nil {
		w.Fatal(err)
	}
}

// in runs something in a club.
func (w *town) in(club int64, do func(context.Context, *store.Tx) error) {
	w.Helper()
	if err := w.store.InSnapshot(w.Context(), club, func(tx *store.Tx) error { return do(w.Context(), tx) }); err != nil {
		w.Fatal(err)
	}
}

// visitOf reads one visit as it is now.
func (w *town) visitOf(club int64, uid string) (v *store.VisitRecord) {
	w.Helper()
	w.in(club, func(ctx context.Context, tx *store.Tx) (err error) {
		v, err = tx.VisitByUID(ctx, uid)
		return err
	})
	return v
}

// mine are the visits of today that a person said to go on.
func (p *person) mine() (out []store.VisitRecord) {
	p.Helper()
	for _, club := range p.clubs {
		p.in(club, func(ctx context.Context, tx *store.Tx) error {
			members, err := tx.Members(ctx)
			if err != nil {
				return err
			}
			i := slices.IndexFunc(members, func(m scheduler.Member) bool { return m.Email == p.address })
			if i < 0 {
				return nil
			}
			visits, err := tx.Visits(ctx, store.VisitFilter{From: p.today(), Until: p.today()})
			for _, v := range visits {
				if v.Status.Open() && v.IsTakenBy(members[i].ID) {
					out = append(out, v)
				}
			}
			return err
		})
	}
	return out
}
