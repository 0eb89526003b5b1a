package owed

import (
	"time"

	"pryday/scheduler"
)

// sendMargin is how long before the end of a local day its mail is owed at
// the latest, so that two ticks of five minutes fall into the day whatever
// the hour asked for and whatever the clock does that night.
const sendMargin = 15 * time.Minute

// SendInstant returns when the mail of a local day is owed from: when the
// local clock shows the minute, or, on a day on which it never does, as soon
// as the clock has jumped over it; at the latest 15 minutes before the
// local day ends. The instant lies in the local day d wherever d exists.
func SendInstant(d scheduler.Date, minute scheduler.ClockTime, loc *time.Location) time.Time {
	send := d.At(int(minute), loc)
	// time.Date leaves open on which side of a jump it puts a time that does
	// not exist.
	switch clock := scheduler.ClockTime(send.Hour()*60 + send.Minute()); {
	case clock == minute:
	case scheduler.DateOf(send) < d, scheduler.DateOf(send) == d && clock < minute:
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
func dayEnd(d scheduler.Date, loc *time.Location) time.Time {
	end := (d + 1).At(0, loc)
	// A day that begins with a jump of the clock, or does not exist at all,
	// starts elsewhere than time.Date says: look the instant up.
	if scheduler.DateOf(end) == d+1 && scheduler.DateOf(end.Add(-time.Second)) == d {
		return end
	}
	lo, hi := end.Add(-30*time.Hour), end.Add(30*time.Hour)
	for hi.Sub(lo) > time.Second {
		mid := lo.Add(hi.Sub(lo) / 2)
		if scheduler.DateOf(mid) > d {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi.Truncate(time.Second)
}
