package notify

import "time"

// Clock tells the time. It is a seam: what is owed depends on the hour, and
// the demonstration lives on a day of its own.
type Clock interface {
	// Now is the real instant. Tokens, retries and the Date of a mail use it.
	Now() time.Time
	// Civil is the instant that decides which day it is and what is owed. It
	// runs as fast as Now, and is as far away from it at any time.
	Civil() time.Time
}

// RealClock is the computer's clock; both its readings are the same.
type RealClock struct{}

// Now returns the current time.
func (RealClock) Now() time.Time { return time.Now() }

// Civil returns the current time.
func (RealClock) Civil() time.Time { return time.Now() }

// ShiftedClock is the computer's clock with the civil time some way off.
type ShiftedClock struct {
	By time.Duration // added to now; negative for the past
}

// Now returns the current time.
func (ShiftedClock) Now() time.Time { return time.Now() }

// Civil returns the shifted time.
func (c ShiftedClock) Civil() time.Time { return time.Now().Add(c.By) }
