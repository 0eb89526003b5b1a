package backup

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestKeep(t *testing.T) {
	t.Parallel()
	day := func(s string) time.Time {
		at, err := time.Parse("2006-01-02 15:04", s)
		if err != nil {
			t.Fatal(err)
		}
		return at
	}
	nights := func(last string, n int) (out []time.Time) {
		for i := range n {
			out = append(out, day(last).AddDate(0, 0, -i))
		}
		return out
	}
	for _, c := range []struct {
		name string
		made []time.Time
		keep []string
	}{
		{"none", nil, nil},
		{"one", nights("2027-05-04 03:17", 1), []string{"2027-05-04 03:17"}},
		{"a week stays whole", nights("2027-05-09 03:17", 7), []string{
			"2027-05-03 03:17", "2027-05-04 03:17", "2027-05-05 03:17", "2027-05-06 03:17", "2027-05-07 03:17", "2027-05-08 03:17", "2027-05-09 03:17",
		}},
		{"several of a day: the last", []time.Time{day("2027-05-04 03:17"), day("2027-05-04 21:00"), day("2027-05-04 09:00")}, []string{"2027-05-04 21:00"}},
		// 2027-05-09 is a Sunday. Weeks end on the 9th and 2nd of May, 25th and 18th of
		// April; months on the 9th of May and 30th of April.
		{"40 nights", nights("2027-05-09 03:17", 40), []string{
			"2027-03-31 03:17", "2027-04-18 03:17", "2027-04-25 03:17", "2027-04-30 03:17", "2027-05-02 03:17",
			"2027-05-03 03:17", "2027-05-04 03:17", "2027-05-05 03:17", "2027-05-06 03:17", "2027-05-07 03:17", "2027-05-08 03:17", "2027-05-09 03:17",
		}},
		{"off for a year: what there was", append(nights("2027-05-04 03:17", 1), day("2025-02-01 03:17"), day("2025-02-02 03:17"), day("2024-11-03 03:17")), []string{
			"2024-11-03 03:17", "2025-02-01 03:17", "2025-02-02 03:17", "2027-05-04 03:17",
		}},
		{"the turn of the year is one week", []time.Time{day("2026-12-31 03:17"), day("2027-01-01 03:17")}, []string{"2026-12-31 03:17", "2027-01-01 03:17"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []string
			for _, at := range Keep(c.made) {
				got = append(got, at.Format("2006-01-02 15:04"))
			}
			if !slices.Equal(got, c.keep) {
				t.Errorf("kept %v\nwant %v", got, c.keep)
			}
		})
	}
}

// Night after night, 13 months long: there are never more than 23, always the
// last 7, one of each of the last 12 months, and what was kept stays kept when it
// is asked again.
func TestKeepNightAfterNight(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		at := time.Date(2026, 1, rapid.IntRange(1, 365).Draw(t, "first"), 3, 17, 0, 0, time.UTC)
		missed := rapid.SliceOfN(rapid.IntRange(0, 400), 0, 60).Draw(t, "missed")
		var there []time.Time
		for n := range 400 {
			if !slices.Contains(missed, n) {
				there = Keep(append(there, at.AddDate(0, 0, n)))
			}
		}
		if len(there) > 23 {
			t.Fatalf("%d stay", len(there))
		}
		months := map[int]bool{}
		for _, b := range there {
			months[b.Year()*12+int(b.Month())] = true
		}
		if len(months) < 12 {
			t.Fatalf("%d months: %v", len(months), there)
		}
		if again := Keep(there); !slices.Equal(again, there) {
			t.Fatalf("asked again, %v became %v", there, again)
		}
	})
}
