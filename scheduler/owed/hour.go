package owed

import (
	"time"

	"pryday/scheduler"
)

// hour is where a member's day stands at an instant: whether its mail has come.
type hour struct {
	zone   *time.Location
	minute scheduler.ClockTime
	today  scheduler.Date
	come   bool // the day's mail is to be decided
	inTime bool // for the first time
	missed bool // on days before nobody may have decided
}

func hourOf(c *scheduler.Club, m *scheduler.Member, now, since time.Time) hour {
	h := hour{zone: c.ZoneOf(m), minute: c.SendAtOf(m), today: c.TodayOf(m, now)}
	send := SendInstant(h.today, h.minute, h.zone)
	h.come, h.inTime = !now.Before(send), since.Before(send)
	h.missed = !since.IsZero() && scheduler.DateOf(since.In(h.zone)) < h.today
	return h
}

// Comes reports whether Decide would look at a club's visits and boxes at an
// instant. Before anybody's hour it need not be given any. The club may be
// without them here.
func Comes(c *scheduler.Club, now, since time.Time) bool {
	for i := range c.Members {
		if h := hourOf(c, &c.Members[i], now, since); h.come || h.missed {
			return true
		}
	}
	return false
}

// Reach returns the first and the last day of visits that Decide has something
// to tell of though nobody was told of them: others, but for those that wait
// for an answer or were called off, matter only for being there. The club may
// be without visits here.
func Reach(c *scheduler.Club, now, since time.Time) (first, last scheduler.Date) {
	ahead := max(c.Rules.NoticeDays, changeDays)
	for i := range c.Members {
		for _, days := range c.DaysBeforeOf(&c.Members[i]) {
			ahead = max(ahead, days)
		}
	}
	// Members' days differ from that of UTC by one at most.
	today := scheduler.DateOf(now.UTC())
	first, last = today-1, today+scheduler.Date(ahead)+1
	if !since.IsZero() {
		first = max(min(first, scheduler.DateOf(since.UTC())-1), today-lookBackDays-1)
	}
	return first, last
}
