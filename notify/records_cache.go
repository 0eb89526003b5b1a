package notify

import (
	"context"
	"sync"
	"time"

	"pryday/store"
)

// cacheLife is how long the records of a club lie ready for the next message.
// Many messages of one club go out in the same minute, and reading its records
// anew for each would cost more than everything else.
const cacheLife = 5 * time.Second

// recordsCache keeps the records of the clubs whose mail is going out.
type recordsCache struct {
	mu    sync.Mutex
	clubs map[int64]*cachedRecords
}

// cachedRecords are one club's records and when they were read.
type cachedRecords struct {
	reading sync.Mutex // held by whoever reads them; the others wait for it
	at      time.Time
	version int64 // of what people see
	records *clubRecords
}

// get returns the records of a message's club and its plan from the civil day
// of now on: at most cacheLife old, and never older than the message or than
// the last change of what a calendar shows.
func (d *recordsCache) get(ctx context.Context, tx *store.Tx, m *store.Message, now time.Time) (*clubRecords, error) {
	slot := d.slot(tx.ClubID())
	version, err := tx.FeedVersion(ctx)
	if err != nil {
		return nil, err
	}
	slot.reading.Lock()
	defer slot.reading.Unlock()
	if slot.knows(m) && slot.version == version && time.Since(slot.at) <= cacheLife {
		return slot.records, nil
	}
	at := time.Now()
	fresh, err := readClubRecords(ctx, tx, now)
	if err != nil {
		return nil, err
	}
	slot.at, slot.version, slot.records = at, version, fresh
	return fresh, nil
}

// knows reports whether the records are read and know what the message came
// from. Another machine's clock may be behind: whom the message goes to tells
// as well, and somebody just invited is on no calendar yet.
func (c *cachedRecords) knows(m *store.Message) bool {
	return c.records != nil && !c.at.Before(m.OwedAt) && c.records.members[m.MemberID] != nil
}

// slot finds the place of a club, and clears those of others that are old.
func (d *recordsCache) slot(club int64) *cachedRecords {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.clubs == nil {
		d.clubs = map[int64]*cachedRecords{}
	}
	for id, c := range d.clubs {
		if id != club && c.reading.TryLock() {
			if time.Since(c.at) > cacheLife {
				delete(d.clubs, id)
			}
			c.reading.Unlock()
		}
	}
	c := d.clubs[club]
	if c == nil {
		c = &cachedRecords{}
		d.clubs[club] = c
	}
	return c
}

// forget drops a club's records, so that the next message reads them anew.
func (d *recordsCache) forget(club int64) {
	d.mu.Lock()
	delete(d.clubs, club)
	d.mu.Unlock()
}
