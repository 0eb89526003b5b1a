package scheduler

import (
	"errors"
	"fmt"
)

// VisitEvent is something that happens to a visit.
type VisitEvent string

// The events. Planning makes the first four, the calendar the next two, the
// records one, and people the rest.
const (
	VisitNears     VisitEvent = "nears"      // within the notice days, or the next one of its apiary
	VisitRecedes   VisitEvent = "recedes"    // planning moved it beyond the notice days
	VisitReplanned VisitEvent = "replanned"  // another day, other boxes or other people, in the same state
	VisitDropped   VisitEvent = "dropped"    // planning has no use for it any more
	VisitDayOver   VisitEvent = "day-over"   // its day passed and nobody wrote anything down
	VisitGivenUp   VisitEvent = "given-up"   // answer_days passed and nobody said what became of it
	VisitFound     VisitEvent = "found"      // openings of its apiary were recorded on or near its day
	VisitTaken     VisitEvent = "taken"      // somebody said that they go
	VisitHandedOff VisitEvent = "handed-off" // somebody said that they cannot
	VisitMoved     VisitEvent = "moved"      // a person put it on a day that is still to come
	VisitFinished  VisitEvent = "finished"   // a person said that it was made
	VisitCalledOff VisitEvent = "called-off" // a person took it out, until a day
	VisitReopened  VisitEvent = "reopened"   // that was taken back
)

// ErrVisitOver is what Happen answers to an event that a visit in its state
// cannot see any more.
var ErrVisitOver = errors.New("not in this state of a visit")

// visitLife is the whole life of a visit: the state that each event leads to,
// by the state in which it finds the visit. An event that a row does not name
// cannot happen there. A confirmed visit is taken while somebody has said that
// they go (Visit.Taken), which planning then leaves alone; the state is one.
var visitLife = map[VisitStatus]map[VisitEvent]VisitStatus{
	Tentative: {
		VisitNears: Confirmed, VisitReplanned: Tentative, VisitDropped: Cancelled, VisitDayOver: Unanswered, VisitFound: Done,
		VisitTaken: Confirmed, VisitHandedOff: Tentative, VisitMoved: Confirmed, VisitFinished: Done, VisitCalledOff: Cancelled,
	},
	Confirmed: {
		VisitRecedes: Tentative, VisitReplanned: Confirmed, VisitDropped: Cancelled, VisitDayOver: Unanswered, VisitFound: Done,
		VisitTaken: Confirmed, VisitHandedOff: Confirmed, VisitMoved: Confirmed, VisitFinished: Done, VisitCalledOff: Cancelled,
	},
	Unanswered: {
		VisitGivenUp: Missed, VisitFound: Done,
		VisitHandedOff: Unanswered, VisitMoved: Confirmed, VisitFinished: Done, VisitCalledOff: Cancelled,
	},
	Missed:    {VisitFound: Done, VisitFinished: Done},
	Cancelled: {VisitReopened: Confirmed},
	Done:      {VisitFound: Done},
}

// Happen lets an event happen to v and raises its sequence. It returns
// ErrVisitOver, and changes nothing, where the event cannot happen in v's
// state.
func (v *Visit) Happen(e VisitEvent) error {
	to, ok := visitLife[v.Status][e]
	if !ok {
		return fmt.Errorf("%s a %s visit: %w", e, v.Status, ErrVisitOver)
	}
	if e == VisitReopened && v.OffFrom != "" {
		to = v.OffFrom
	}
	if e == VisitCalledOff {
		v.OffFrom = v.Status
		if v.Status == Unanswered {
			v.OffFrom = ""
		}
	}
	if to != Cancelled {
		v.OffFrom, v.OffUntil = "", 0
	}
	v.Status = to
	v.Sequence++
	return nil
}

// happen is Happen for events that planning knows to fit.
func (v *Visit) happen(e VisitEvent) {
	if err := v.Happen(e); err != nil {
		panic(err) // a mistake in the planner; its tests play through every state
	}
}

// May reports whether an event can happen to v.
func (v *Visit) May(e VisitEvent) bool {
	_, ok := visitLife[v.Status][e]
	return ok
}

// Take puts a member among those who go, as one who said so.
func (v *Visit) Take(member int64) error {
	if v.IsTakenBy(member) {
		return nil
	}
	if err := v.Happen(VisitTaken); err != nil {
		return err
	}
	v.Who, v.NoTime = with(v.Who, member), false
	v.Taken, v.Refused = with(v.Taken, member), withoutMember(v.Refused, member)
	return nil
}

// HandOff takes a member off those who go. Whoever refused stays refused:
// planning does not put the member on this visit again.
func (v *Visit) HandOff(member int64) error {
	if v.HasRefused(member) {
		return nil
	}
	if err := v.Happen(VisitHandedOff); err != nil {
		return err
	}
	v.Who, v.Taken = withoutMember(v.Who, member), withoutMember(v.Taken, member)
	v.Refused = with(v.Refused, member)
	return nil
}

// SayWho says who goes, in this order, on behalf of all of them: they count as
// having said so, and whoever was on it and is not any more as having refused.
func (v *Visit) SayWho(members []int64) error {
	event := VisitTaken
	if len(members) == 0 {
		event = VisitHandedOff
	}
	if err := v.Happen(event); err != nil {
		return err
	}
	for _, id := range v.Who {
		v.Refused = with(v.Refused, id)
	}
	for _, id := range members {
		v.Refused = withoutMember(v.Refused, id)
	}
	v.Who, v.Taken, v.NoTime = clone(members), clone(members), false
	return nil
}

// Move puts v on a day, to stay there.
func (v *Visit) Move(to Date) error {
	if err := v.Happen(VisitMoved); err != nil {
		return err
	}
	v.On, v.Pinned = to, true
	return nil
}

// CallOff takes v out; its boxes are left alone until a day, unless a hard
// limit falls first. Everything else about v stays for Happen(VisitReopened).
func (v *Visit) CallOff(until Date) error {
	if err := v.Happen(VisitCalledOff); err != nil {
		return err
	}
	v.OffUntil = until
	return nil
}

// IsTaken reports whether somebody said that they go. Planning leaves such a
// visit on its day; it may propose another, see BetterDay.
func (v *Visit) IsTaken() bool { return len(v.Taken) > 0 }

// IsTakenBy reports whether a member said that they go.
func (v *Visit) IsTakenBy(member int64) bool { return has(v.Taken, member) }

// HasRefused reports whether a member said that they cannot go.
func (v *Visit) HasRefused(member int64) bool { return has(v.Refused, member) }

// staysPut reports whether only a person moves v.
func (v *Visit) staysPut() bool { return v.Pinned || len(v.NotBoxes) > 0 || v.IsTaken() }
