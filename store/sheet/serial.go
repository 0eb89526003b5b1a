package sheet

import "time"

// serialOf returns the number that a workbook keeps for a day written as
// 2027-05-31: the days since the end of 1899 (ECMA-376 part 1, 18.17.4). Before
// March 1900 workbooks count a day that never was, and the day stays text.
func serialOf(s string) (int, bool) {
	if len(s) != len(time.DateOnly) {
		return 0, false
	}
	day, err := time.Parse(time.DateOnly, s)
	if err != nil || day.Before(time.Date(1900, 3, 1, 0, 0, 0, 0, time.UTC)) {
		return 0, false
	}
	return int(day.Unix()/86400 - time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).Unix()/86400), true
}
