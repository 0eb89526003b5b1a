package owed

import (
	"testing"
	"time"

	"pryday/scheduler"
)

// TestUnwritten: whoever was there is asked once, in the mail of a morning after
// the visit, whether the boxes without a word were opened too.
func TestUnwritten(t *testing.T) {
	on := day(t, "2027-06-10")
	for _, tc := range []struct {
		name   string
		today  scheduler.Date
		change func(c *scheduler.Club, p *scheduler.Plan, b *Before)
		member int64
		want   bool
	}{
		{"the next morning", on + 1, nil, 2, true},
		{"not on the day itself", on, nil, 2, false},
		{"not who was not there", on + 1, nil, 3, false},
		{"some days later, when there was no mail before", on + 4, nil, 2, true},
		{"once", on + 2, func(_ *scheduler.Club, _ *scheduler.Plan, b *Before) {
			b.Told = []Told{{MemberID: 2, Kind: scheduler.AskMessage, VisitUID: "v", On: on, ToldOn: on + 1}}
		}, 2, false},
		{"not when nothing is left to ask", on + 1, func(_ *scheduler.Club, p *scheduler.Plan, _ *Before) { p.Unwritten = nil }, 2, false},
		{"not while the member hears nothing", on + 1, func(c *scheduler.Club, _ *scheduler.Plan, _ *Before) { c.Member(2).Prefs.PausedUntil = on + 5 }, 2, false},
		{"not when the week is full", on + 1, func(c *scheduler.Club, _ *scheduler.Plan, b *Before) {
			b.Mail = map[int64][]Mailed{0: {{On: on, ClubID: 1}, {On: on - 1, ClubID: 1}, {On: on - 2, ClubID: 1}}}
		}, 2, false},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c := mailClub()
			c.Visits = []scheduler.Visit{{ID: 7, UID: "v", ApiaryID: 4, On: on, Status: scheduler.Done, Who: []int64{2, 3}, Boxes: []scheduler.VisitBox{{BoxID: 6}, {BoxID: 8}}}}
			p := &scheduler.Plan{Today: tc.today, Unwritten: map[int64]scheduler.Unwritten{7: {Boxes: []int64{8}, There: []int64{2}, On: on}}}
			before := Before{}
			if tc.change != nil {
				tc.change(c, p, &before)
			}
			var got *Item
			for _, m := range Decide(c, p, tc.today.At(12*60, time.UTC), before) {
				for i := range m.Items {
					if m.MemberID == tc.member && m.Items[i].Because == BecauseUnwritten {
						got = &m.Items[i]
					}
				}
			}
			if (got != nil) != tc.want {
				t.Fatalf("asked: %+v, want %v", got, tc.want)
			}
			if got != nil && (got.Kind != scheduler.AskMessage || got.VisitUID != "v" || len(got.BoxIDs) != 1 || got.BoxIDs[0] != 8) {
				t.Errorf("asked %+v", got)
			}
		})
	}
}

// TestUnwrittenBoxesAreNotOverdueMail: a box that is asked about is in no mail
// about overdue boxes.
func TestUnwrittenBoxesAreNotOverdueMail(t *testing.T) {
	on := day(t, "2027-06-10")
	c := mailClub()
	c.Visits = []scheduler.Visit{{ID: 7, UID: "v", ApiaryID: 4, On: on, Status: scheduler.Done, Who: []int64{2}, Boxes: []scheduler.VisitBox{{BoxID: 6}}}}
	for _, asked := range []bool{false, true} {
		p := &scheduler.Plan{Boxes: []scheduler.BoxState{{BoxID: 6, ApiaryID: 4, Due: on - 9, Overdue: true}}}
		if asked {
			p.Unwritten = map[int64]scheduler.Unwritten{7: {Boxes: []int64{6}, There: []int64{2}, On: on}}
		}
		overdue := false
		for _, m := range Decide(c, p, (on+2).At(12*60, time.UTC), Before{}) {
			for _, it := range m.Items {
				overdue = overdue || it.Kind == scheduler.OverdueMessage
			}
		}
		if overdue == asked {
			t.Errorf("asked about: %v, and in a mail about overdue boxes: %v", asked, overdue)
		}
	}
}
