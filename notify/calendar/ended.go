package calendar

import (
	"time"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// Ended is a calendar address that shows no visits any more.
type Ended struct {
	Name     string // of the calendar
	Language string
	UID      string // that no other calendar has
	On       scheduler.Date
	At       time.Time // when it ended
	Page     string    // where the reader's calendar addresses are; empty for who left the club
}

// Replaced is the last feed of an address that was replaced: one event that
// says so and where the new address is found.
func Replaced(e Ended) Feed {
	return e.feed("replaced", text.New("calendar.replaced"), text.New("calendar.replaced-text", e.Page))
}

// Withdrawn is the last feed of an address that was withdrawn.
func Withdrawn(e Ended) Feed {
	return e.feed("withdrawn", text.New("calendar.withdrawn"), text.New("calendar.withdrawn-text", e.Page))
}

// LeftBehind is the last feed of an address of a member who left the club.
func LeftBehind(e Ended) Feed {
	return e.feed("withdrawn", text.New("calendar.withdrawn"), text.New("calendar.left-text"))
}

// ApiaryRemoved is the last feed of an address of an apiary that was removed.
func ApiaryRemoved(e Ended) Feed {
	return e.feed("withdrawn", text.New("calendar.withdrawn"), text.New("calendar.no-apiary-text", e.Page))
}

func (e *Ended) feed(how string, summary, description text.Text) Feed {
	say := text.In(e.Language, "")
	return Feed{Name: e.Name, Events: []Event{{
		UID: how + "-" + e.UID, On: e.On, ChangedAt: e.At, Status: Confirmed, URL: e.Page,
		Summary: say.Tell(summary), Description: say.Tell(description),
	}}}
}
