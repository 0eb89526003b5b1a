package notify

import (
	"math"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// longestQuiet bounds what a change that raises no version can be late by.
// Until then nothing new is owed by a club before a member's hour comes, the day
// changes, or something that people see does. Reading the records of every club
// every minute would be most of the work of a large installation.
const longestQuiet = time.Hour

// nextHour returns when the next mail of a club's day is owed from, after an
// instant; the zero time when something else comes first that matters: the club's
// next day, for which it must be planned.
func nextHour(c *scheduler.Club, after time.Time) (hour, day time.Time) {
	day = (c.Today(after) + 1).At(0, c.Zone())
	for i := range c.Members {
		m := &c.Members[i]
		loc, minute, today := c.ZoneOf(m), c.SendAtOf(m), c.TodayOf(m, after)
		for _, d := range []scheduler.Date{today, today + 1} {
			if t := owed.SendInstant(d, minute, loc); t.After(after) && t.Before(day) && (hour.IsZero() || t.Before(hour)) {
				hour = t
			}
		}
	}
	return hour, day
}

// isQuiet reports whether a club need not be decided for at an instant. A rest
// longer than any is another clock's.
func isQuiet(c store.ClubVersion, now time.Time) bool {
	return now.Before(c.QuietUntil) && c.QuietUntil.Sub(now) <= longestQuiet
}

// Where there are many clubs, many have the same hour. What each owes then is
// decided some minutes before, a few clubs a minute, and delivered from the hour
// on. What changes in between counts as changed after the hour, so a small
// installation decides at the hour itself.
const (
	longestAhead = 10 * time.Minute
	aheadOfEach  = 600 * time.Millisecond // so that a thousand clubs take all of it
	leastAhead   = time.Minute            // is not worth spreading
)

// aheadOf returns how long before an hour it is decided what a club owes then,
// with so many clubs in the installation.
func aheadOf(club int64, clubs int) time.Duration {
	all := min(time.Duration(clubs)*aheadOfEach, longestAhead)
	if all < leastAhead {
		return 0
	}
	_, share := math.Modf(float64(club) * math.Phi) // even, however the ids lie
	return time.Duration(share * float64(all))
}
