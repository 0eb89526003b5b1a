package scheduler

import (
	"fmt"
	"time"
)

// String returns the time of day as 07:00.
func (c ClockTime) String() string { return fmt.Sprintf("%02d:%02d", int(c)/60, int(c)%60) }

// ParseClockTime reads a time of day written as 07:00, from 00:00 to 23:59.
func ParseClockTime(s string) (ClockTime, error) {
	t, err := time.Parse("15:04", s)
	if err != nil || len(s) != len("15:04") {
		return 0, fmt.Errorf(`%q is not a time of day; write it as "07:00"`, s)
	}
	return ClockTime(t.Hour()*60 + t.Minute()), nil
}

// String returns m as 04-18, month first.
func (m MonthDay) String() string { return fmt.Sprintf("%02d-%02d", int(m.Month), m.Day) }

// ParseMonthDay reads a day of the year written as 04-18, month first.
func ParseMonthDay(s string) (MonthDay, error) {
	t, err := time.Parse(time.DateOnly, "2024-"+s) // a leap year, so that 02-29 is a day
	if err != nil {
		return MonthDay{}, fmt.Errorf(`%q is not a day of the year; write it as "04-18", month first`, s)
	}
	return MonthDay{t.Month(), t.Day()}, nil
}

func (m MonthDay) valid() bool {
	_, err := ParseMonthDay(m.String())
	return err == nil
}
