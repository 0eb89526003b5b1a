package owed

import (
	"slices"
	"testing"
	"time"

	"pryday/scheduler"
)

// TestNobodyHasTime: of a visit for which nobody has time, organisers hear once
// a week and keepers nothing, but for those who were told of its day.
func TestNobodyHasTime(t *testing.T) {
	names := map[int64]string{1: "organiser", 2: "keeper", 3: "other"}
	for _, tt := range []struct {
		name string
		on   string
		told []Told
		want []string
	}{
		{"near", "2027-05-20", nil, []string{"05-12 organiser: nobody-has-time", "05-19 organiser: nobody-has-time"}},
		{"too far away to hear of it yet", "2027-07-30", nil, []string{}},
		{
			"the keeper was told of another day", "2027-05-20",
			[]Told{{MemberID: 2, Kind: scheduler.DigestMessage, VisitUID: "a", On: day(t, "2027-05-18"), ToldOn: day(t, "2027-05-11")}},
			[]string{
				"05-12 organiser: nobody-has-time", "05-12 keeper: visit-moved 05-20 was 05-18", "05-13 keeper: days-before 05-20",
				"05-19 organiser: nobody-has-time", "05-19 keeper: days-before 05-20",
			},
		},
	} {
		c, b := mailClub(), newMailbox()
		b.before.Told = tt.told
		p := &scheduler.Plan{Visits: []scheduler.Visit{{
			UID: "a", ApiaryID: 4, On: day(t, tt.on), Status: scheduler.Confirmed, NoTime: true, Boxes: []scheduler.VisitBox{{BoxID: 6}},
		}}}
		for now := time.Date(2027, 5, 12, 23, 0, 0, 0, time.UTC); now.Before(time.Date(2027, 5, 21, 0, 0, 0, 0, time.UTC)); now = now.Add(time.Hour) {
			b.tick(t, c, p, now)
		}
		if got := said(b.sent, names); !slices.Equal(got, tt.want) {
			t.Errorf("%s:\n%q\nwant\n%q", tt.name, got, tt.want)
		}
	}
}

// TestNobodyWasAskedIsNoSilence: visits that nobody was asked to make leave
// nobody silent.
func TestNobodyWasAskedIsNoSilence(t *testing.T) {
	for _, noTime := range []bool{false, true} {
		c, b := mailClub(), newMailbox()
		for i, on := range []string{"2027-04-01", "2027-04-20"} {
			c.Visits = append(c.Visits, scheduler.Visit{UID: "old" + string(rune('a'+i)), ApiaryID: 4, On: day(t, on), Status: scheduler.Missed, NoTime: noTime})
		}
		p := &scheduler.Plan{Visits: []scheduler.Visit{{UID: "next", ApiaryID: 4, On: day(t, "2027-06-20"), Status: scheduler.Confirmed, Who: []int64{2}}}}
		b.tick(t, c, p, time.Date(2027, 5, 12, 23, 0, 0, 0, time.UTC))
		b.tick(t, c, p, time.Date(2027, 5, 13, 9, 0, 0, 0, time.UTC))
		if silent := len(b.sent) > 0; silent == noTime {
			t.Errorf("no time %v: organisers hear of silence: %v", noTime, silent)
		}
	}
}
