package notify

import (
	"context"
	"sync"
	"time"

	"pryday/scheduler"
	"pryday/store"
)

// deskLife is how long the records of a club lie ready for the next message.
// Many messages of one club go out in the same minute, and reading its records
// anew for each would cost more than everything else.
const cacheLife = 5 * time.Second

// recordsCache keeps the records of the clubs whose mail is going out.
type recordsCache struct {
	mu    sync.Mutex
	clubs map[int64]*clubRecords
}

// clubRecords are one club's records, read at one moment. Nobody changes them.
type clubRecords struct {
	read    sync.Mutex
	at      time.Time
	version int64
	club    *scheduler.Club
	plan    *scheduler.Plan
	members map[int64]*scheduler.Member
	visits  map[string]*scheduler.Visit
	refused map[int64]string // members whose address a server refused, with its words

	subscribed map[int64]bool // members whose calendar asks for the visits
}

// of returns a club's records and its plan from the civil day of now on, at most deskLife old and never older than the
// last change of what a calendar shows.
func (d *recordsCache) get(ctx context.Context, tx *store.Tx, now time.Time) (*clubRecords, error) {
	d.mu.Lock()
	if d.clubs == nil {
		d.clubs = map[int64]*clubRecords{}
	}
	for id, p := range d.clubs {
		if id != tx.ClubID() && p.read.TryLock() {
			if time.Since(p.at) > cacheLife {
				delete(d.clubs, id)
			}
			p.read.Unlock()
		}
	}
	slot := d.clubs[tx.ClubID()]
	if slot == nil {
		slot = &clubRecords{}
		d.clubs[tx.ClubID()] = slot
	}
	d.mu.Unlock()

	version, err := tx.FeedVersion(ctx)
	if err != nil {
		return nil, err
	}
	slot.read.Lock()
	defer slot.read.Unlock()
	if slot.club == nil || slot.version != version || time.Since(slot.at) > cacheLife {
		fresh := clubRecords{at: time.Now(), version: version}
		if fresh.club, err = tx.Club(ctx); err != nil {
			return nil, err
		}
		if fresh.plan, err = tx.SavedPlan(ctx, clubToday(fresh.club, now)); err != nil {
			return nil, err
		}
		if fresh.refused, err = tx.RefusedMembers(ctx); err != nil {
			return nil, err
		}
		if fresh.subscribed, err = tx.Subscribers(ctx); err != nil {
			return nil, err
		}
		fresh.members = make(map[int64]*scheduler.Member, len(fresh.club.Members))
		for i := range fresh.club.Members {
			fresh.members[fresh.club.Members[i].ID] = &fresh.club.Members[i]
		}
		fresh.visits = visitsByUID(fresh.club, fresh.plan)
		slot.at, slot.version, slot.club, slot.plan, slot.members, slot.visits, slot.refused, slot.subscribed =
			fresh.at, fresh.version, fresh.club, fresh.plan, fresh.members, fresh.visits, fresh.refused, fresh.subscribed
	}
	return &clubRecords{
		club: slot.club, plan: slot.plan, members: slot.members, visits: slot.visits, refused: slot.refused, subscribed: slot.subscribed,
	}, nil
}

// clear forgets a club's records, so that the next message reads them anew.
func (d *recordsCache) forget(club int64) {
	d.mu.Lock()
	delete(d.clubs, club)
	d.mu.Unlock()
}
