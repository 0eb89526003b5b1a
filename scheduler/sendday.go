package scheduler

import (
	"sync"
	"time"
)

// sendMargin is how long before the end of a local day its mail is owed at
// the latest, so that two ticks of five minutes fall into the day whatever
// the hour asked for and whatever the clock does that night.
const sendMargin = 15 * time.Minute

// SendInstant returns when the mail of a local day is owed from: when the
// local clock shows the minute, or, on a day on which it never does, as soon
// as the clock has jumped over it; at the latest 15 minutes before the
// local day ends. The instant lies in the local day d wherever d exists.
func SendInstant(d Date, minute ClockTime, loc *time.Location) time.Time {
	send := d.At(int(minute), loc)
	// time.Date leaves open on which side of a jump it puts a time that does
	// not exist.
	switch clock := ClockTime(send.Hour()*60 + send.Minute()); {
	case clock == minute:
	case DateOf(send) < d, DateOf(send) == d && clock < minute:
		_, send = send.ZoneBounds()
	default:
		send, _ = send.ZoneBounds()
	}
	if last := dayEnd(d, loc).Add(-sendMargin); send.After(last) {
		return last
	}
	return send
}

// dayEnd returns the instant at which the local date first passes d.
func dayEnd(d Date, loc *time.Location) time.Time {
	end := (d + 1).At(0, loc)
	// A day that begins with a jump of the clock, or does not exist at all,
	// starts elsewhere than time.Date says: look the instant up.
	if DateOf(end) == d+1 && DateOf(end.Add(-time.Second)) == d {
		return end
	}
	lo, hi := end.Add(-30*time.Hour), end.Add(30*time.Hour)
	for hi.Sub(lo) > time.Second {
		mid := lo.Add(hi.Sub(lo) / 2)
		if DateOf(mid) > d {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi.Truncate(time.Second)
}

// MemberLocation returns the zone in which a member's days begin: the
// member's own, else that of the first apiary that the member looks after,
// else of the club's first apiary, else UTC. A name that is no IANA zone
// counts as none.
func MemberLocation(c *Club, m *Member) *time.Location {
	if loc := zone(m.Timezone); loc != nil {
		return loc
	}
	for _, own := range []bool{true, false} {
		for i := range c.Apiaries {
			a := &c.Apiaries[i]
			if own && !contains(a.Keepers, m.ID) {
				continue
			}
			if loc := zone(a.Timezone); loc != nil {
				return loc
			}
		}
	}
	return time.UTC
}

// zones keeps zones once read: reading one costs more than all that is
// decided with it, and a name always means the same zone.
var zones sync.Map

func zone(name string) *time.Location {
	if name == "" || name == "Local" {
		return nil
	}
	if loc, ok := zones.Load(name); ok {
		return loc.(*time.Location)
	}
	loc, err := time.LoadLocation(name)
	if err != nil {
		loc = nil
	}
	zones.Store(name, loc)
	return loc
}

func contains(ids []int64, id int64) bool {
	for _, v := range ids {
		if v == id {
			return true
		}
	}
	return false
}
