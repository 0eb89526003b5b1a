package owed

import (
	"slices"
	"testing"
	"time"

	"pryday/scheduler"
)

// TestOnlyTheQuestion: while a visit waits for an answer, those who are asked
// hear of no later visit of its boxes. Whoever took that one does, and whoever
// was not asked; and all do once the days to answer in are over.
func TestOnlyTheQuestion(t *testing.T) {
	last := day(t, "2027-06-01")
	for _, tc := range []struct {
		name   string
		after  scheduler.Date // days after the unanswered visit
		next   scheduler.Visit
		status scheduler.VisitStatus
		want   bool // told of the next one
	}{
		{"the same boxes later", 5, scheduler.Visit{On: last + 12, Boxes: []scheduler.VisitBox{{BoxID: 6}}}, scheduler.Unanswered, false},
		{"who took it is told", 5, scheduler.Visit{On: last + 12, Boxes: []scheduler.VisitBox{{BoxID: 6}}, Taken: []int64{2}}, scheduler.Unanswered, true},
		{"other boxes", 5, scheduler.Visit{On: last + 12, Boxes: []scheduler.VisitBox{{BoxID: 7}}}, scheduler.Unanswered, true},
		{"a nearer visit, whose boxes stand under it", 5, scheduler.Visit{On: last + 6, Boxes: []scheduler.VisitBox{{BoxID: 6}, {BoxID: 7}}}, scheduler.Unanswered, true},
		{"given up", 8, scheduler.Visit{On: last + 12, Boxes: []scheduler.VisitBox{{BoxID: 6}}}, scheduler.Missed, true},
		{"the first was another's", 5, scheduler.Visit{On: last + 12, Boxes: []scheduler.VisitBox{{BoxID: 6}}, Who: []int64{3}}, scheduler.Unanswered, true},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c := mailClub()
			v := tc.next
			v.ID, v.UID, v.ApiaryID, v.Status = 8, "next", 4, scheduler.Confirmed
			if v.Who == nil {
				v.Who = []int64{2}
			}
			c.Visits = []scheduler.Visit{{
				ID: 7, UID: "last", ApiaryID: 4, On: last, Status: tc.status, Who: []int64{2}, Boxes: []scheduler.VisitBox{{BoxID: 6}},
			}}
			before := Before{Told: []Told{{MemberID: 2, Kind: scheduler.AskMessage, VisitUID: "last", ToldOn: last + 1}}}
			told := false
			for _, m := range Decide(c, &scheduler.Plan{Visits: []scheduler.Visit{v}}, (last+tc.after).At(12*60, time.UTC), before) {
				told = told || slices.ContainsFunc(m.Items, func(it Item) bool { return it.VisitUID == "next" })
			}
			if told != tc.want {
				t.Errorf("told of the next visit: %v, want %v", told, tc.want)
			}
		})
	}
}

// TestWeekliesOfTwoClubs: an organiser of several clubs who says nothing gets no
// more mails in a month than one of a single club.
func TestWeekliesOfTwoClubs(t *testing.T) {
	today := day(t, "2027-06-30")
	for _, tc := range []struct {
		name   string
		mails  int
		others int // that are no weekly ones
		said   bool
		late   bool // boxes are long overdue, and nobody was silent
		leads  int  // clubs
		want   bool
	}{
		{"seven in a month", 7, 0, false, false, 2, true},
		{"eight", 8, 0, false, false, 2, false},
		{"eight, some of them others", 8, 3, false, false, 2, false},
		{"eight, more of them others than who says nothing gets", 8, 4, false, false, 2, true},
		{"eight, and the organiser goes on visits", 8, 0, true, false, 2, true},
		{"three, about overdue boxes", 3, 1, false, true, 2, true},
		{"four, about overdue boxes: the others are for silence", 4, 1, false, true, 2, false},
		{"seven, of one club, about overdue boxes", 7, 1, false, true, 0, true},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c := mailClub()
			for i := range scheduler.Date(2) {
				if tc.late {
					break
				}
				c.Visits = append(c.Visits, scheduler.Visit{ID: int64(i + 1), UID: string(rune('a' + i)), ApiaryID: 4, On: today - 12 - 10*i, Status: scheduler.Missed, Who: []int64{2}})
			}
			if tc.said {
				c.Apiaries = append(c.Apiaries, scheduler.Apiary{ID: 5, Name: "Quarry"})
				c.Visits = append(c.Visits, scheduler.Visit{ID: 9, UID: "q", ApiaryID: 5, On: today - 3, Status: scheduler.Done, Who: []int64{1}, Taken: []int64{1}})
			}
			p := &scheduler.Plan{Boxes: []scheduler.BoxState{{BoxID: 6, ApiaryID: 4, Due: today - 40, Overdue: true}}}
			before := Before{Mail: map[int64][]Mailed{0: nil}, Leads: map[int64]int{0: tc.leads}}
			for i := range tc.mails {
				before.Mail[0] = append(before.Mail[0], Mailed{On: today - 29 + scheduler.Date(3*i), ClubID: 3, Weekly: i >= tc.others})
			}
			got := false
			for _, m := range Decide(c, p, today.At(12*60, time.UTC), before) {
				got = got || m.MemberID == 1 && m.Kind == scheduler.EscalateMessage
			}
			if got != tc.want {
				t.Errorf("a weekly mail: %v, want %v", got, tc.want)
			}
		})
	}
}
