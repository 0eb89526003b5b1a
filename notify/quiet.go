package notify

import (
	"time"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// quietSpell is how long a club need not be looked at: nothing new is owed before a
// member's hour comes, the day changes, or something that people see does.
// Reading the records of every club every five minutes would be most of the
// work of a large installation.
type quietSpell struct {
	version int64 // of what people see
	until   time.Time
}

// longestQuiet bounds what a change that raises no version can be late by.
const longestQuiet = time.Hour

func quietUntil(c *scheduler.Club, now time.Time, version int64) *quietSpell {
	n := &quietSpell{version: version, until: now.Add(longestQuiet)}
	earlier := func(t time.Time) {
		if t.After(now) && t.Before(n.until) {
			n.until = t
		}
	}
	earlier((c.Today(now) + 1).At(0, c.Zone()))
	for i := range c.Members {
		m := &c.Members[i]
		loc, minute, today := c.ZoneOf(m), c.SendAtOf(m), c.TodayOf(m, now)
		earlier(owed.SendInstant(today, minute, loc))
		earlier(owed.SendInstant(today+1, minute, loc))
	}
	return n
}

// isQuiet reports whether a club need not be decided for now.
func (s *Service) isQuiet(c store.ClubVersion) bool {
	s.mu.Lock()
	n := s.quiet[c.ID]
	s.mu.Unlock()
	return n != nil && n.version == c.Feed && s.clock.Civil().Before(n.until)
}
