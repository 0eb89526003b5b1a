package scheduler

import (
	"fmt"
	"time"
)

// Date is a civil date: a day in the proleptic Gregorian calendar without an
// hour and without a zone. It counts days, 1 being 0001-01-01, so that adding
// days is plain addition and nothing depends on how long a day lasted. The
// zero Date means "no date".
type Date int32

// daysToUnixEpoch is the Date of 1970-01-01.
const daysToUnixEpoch = 719163

// MinDate and MaxDate bound the days that a record may carry, however it comes
// in: by a form, a mailed address, a document or a list. Old notebooks are
// written down from their first page on and records taken over from elsewhere
// come back out as they went in, so that no fewer days would do everywhere; no
// box can be older, since hives that come apart in boxes with movable frames
// are of 1852 (L. L. Langstroth, US patent 9,300, from memory), and a wrong
// century is caught.
const (
	MinDate = Date(657072) // 1800-01-01
	MaxDate = Date(803533) // 2200-12-31
)

// NewDate returns the date of a year, month and day of the month. Months and
// days out of their range are normalised as time.Date does.
func NewDate(year int, month time.Month, day int) Date {
	return Date(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix()/86400 + daysToUnixEpoch)
}

// DateOf returns the civil date of an instant in that instant's own location.
func DateOf(t time.Time) Date { return NewDate(t.Date()) }

// ParseDate reads a date written as 2006-01-02, from 1800-01-01 to 2200-12-31.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return 0, fmt.Errorf("%q is not a date; write it as 2027-05-31", s)
	}
	d := DateOf(t)
	if d < MinDate || d > MaxDate {
		return 0, fmt.Errorf("%q is out of range; dates run from %s to %s", s, MinDate, MaxDate)
	}
	return d, nil
}

// Recordable reports whether d may be the day of something done, recorded on
// today: not before MinDate and not still to come.
func (d Date) Recordable(today Date) bool { return MinDate <= d && d <= today }

// IsZero reports whether d means "no date".
func (d Date) IsZero() bool { return d == 0 }

// Civil returns the year, month and day of the month.
func (d Date) Civil() (year int, month time.Month, day int) { return d.utc().Date() }

// Year returns the year of d.
func (d Date) Year() int { return d.utc().Year() }

// Weekday returns the day of the week of d.
func (d Date) Weekday() time.Weekday { return time.Weekday(((int(d) % 7) + 7) % 7) }

// At returns the instant at which d's local clock in loc shows the given
// minute of the day. Where the clock jumps over that minute it is the instant
// at which the minutes after the jump have passed, as time.Date defines it.
func (d Date) At(minute int, loc *time.Location) time.Time {
	y, m, day := d.Civil()
	return time.Date(y, m, day, minute/60, minute%60, 0, 0, loc)
}

// Format formats d with a layout of package time.
func (d Date) Format(layout string) string { return d.utc().Format(layout) }

// String returns d as 2006-01-02, or the empty string for the zero Date.
func (d Date) String() string {
	if d == 0 {
		return ""
	}
	return d.Format(time.DateOnly)
}

// MarshalText writes d as String does.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads a date as ParseDate does; an empty text is the zero Date.
func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = 0
		return nil
	}
	v, err := ParseDate(string(b))
	if err != nil {
		return err
	}
	*d = v
	return nil
}

func (d Date) utc() time.Time {
	return time.Unix((int64(d)-daysToUnixEpoch)*86400, 0).UTC()
}
