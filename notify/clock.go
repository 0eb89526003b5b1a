package notify

import "time"

// Clock tells the time. It is a seam: what is owed depends on the hour, and
// the demonstration lives on a day of its own.
type Clock interface {
	// Now is the real instant. Tokens, retries and the Date of a mail use it.
	Now() time.Time
	// Civil is the instant that decides which day it is and what is owed. It
	// shows the same time of day as Now, some whole days away.
	Civil() time.Time
}

// RealClock is the computer's clock; both its readings are the same.
type RealClock struct{}

// Now returns the current time.
func (RealClock) Now() time.Time { return time.Now() }

// Civil returns the current time.
func (RealClock) Civil() time.Time { return time.Now() }

// DayShiftedClock is the computer's clock with its calendar some days away.
type DayShiftedClock struct {
	Days int // added to today; negative for the past
}

// Now returns the current time.
func (DayShiftedClock) Now() time.Time { return time.Now() }

// Civil returns the current time of day on the shifted day. The shift is in
// UTC, so a local hour is off by one where a clock change lies in between.
func (c DayShiftedClock) Civil() time.Time { return time.Now().UTC().AddDate(0, 0, c.Days) }
