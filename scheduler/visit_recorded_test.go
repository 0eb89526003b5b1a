package scheduler

import (
	"reflect"
	"slices"
	"testing"
)

// TestVisitsThatAreOver goes through a visit on a Saturday with two boxes.
func TestVisitsThatAreOver(t *testing.T) {
	sat := date("2027-05-15")
	on := func(d Date) Opening {
		return Opening{ID: "new", On: d, Joint: Light, Frames: NotTried, Scraped: ScrapedAll}
	}
	tests := []struct {
		name   string
		today  Date
		opened []Date // per box; zero for not
		was    VisitStatus
		want   VisitStatus // in Past; empty for none
		stands bool        // on its day in Visits
	}{
		{"to come", sat - 3, []Date{0, 0}, Confirmed, "", true},
		{"today, nothing opened yet", sat, []Date{0, 0}, Confirmed, "", true},
		{"today, one box of two opened", sat, []Date{sat, 0}, Confirmed, "", true},
		{"today, both boxes opened", sat, []Date{sat, sat}, Confirmed, Done, false},
		{"both boxes opened the day before", sat - 1, []Date{sat - 1, sat - 1}, Confirmed, Done, false},
		{"both boxes opened two days before", sat, []Date{sat - 2, sat - 2}, Confirmed, Done, false},
		{"both boxes opened a week before", sat - 7, []Date{sat - 7, sat - 7}, Confirmed, "", false},
		{"the day after, one box opened", sat + 1, []Date{sat, 0}, Confirmed, Done, false},
		{"the day after, nothing written down yet", sat + 1, []Date{0, 0}, Confirmed, Unanswered, false},
		{"the same of a tentative one", sat + 1, []Date{0, 0}, Tentative, Unanswered, false},
		{"unanswered, nobody says a word", sat + 5, []Date{0, 0}, Unanswered, "", false},
		{"unanswered on the last day for it", sat + 7, []Date{0, 0}, Unanswered, "", false},
		{"unanswered for answer_days", sat + 8, []Date{0, 0}, Unanswered, Missed, false},
		{"unanswered, written down in time", sat + 5, []Date{sat, 0}, Unanswered, Done, false},
		{"missed, written down late", sat + 9, []Date{sat, sat}, Missed, Done, false},
		{"missed, written down thirty days later", sat + 30, []Date{sat, sat}, Missed, Done, false},
		{"missed, written down later still", sat + 31, []Date{sat, sat}, Missed, "", false},
		{"missed, nothing written down", sat + 9, []Date{0, 0}, Missed, "", false},
		{"missed, opened another week", sat + 9, []Date{sat + 7, sat + 7}, Missed, "", false},
		{"cancelled stays cancelled", sat + 1, []Date{sat, sat}, Cancelled, "", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			old := []Opening{opened("2026-09-01", Loose)}
			c := stand(date("2026-05-01"), old, old)
			for i, d := range tt.opened {
				if d != 0 {
					box := &c.Apiaries[0].Hives[i].Boxes[0]
					box.Openings = append([]Opening{}, append(old, on(d))...)
				}
			}
			c.Visits = []Visit{{
				ID: 7, UID: "u", ApiaryID: 5, On: sat, Status: tt.was, Sequence: 4,
				Boxes: []VisitBox{{BoxID: 1, Due: sat}, {BoxID: 2, Due: sat}},
			}}
			p := PlanClub(c, tt.today)
			got := VisitStatus("")
			for _, v := range p.Past {
				if v.ID != 7 || v.On != sat || v.Sequence != 5 {
					t.Errorf("over: %+v", v)
				}
				got = v.Status
			}
			if got != tt.want {
				t.Errorf("it is %q, want %q", got, tt.want)
			}
			stands := false
			for _, v := range p.Visits {
				if v.ID == 7 {
					stands = v.On == sat
				}
				if tt.today > sat && tt.today <= sat+nearDays && tt.was == Confirmed && got == "" && v.On <= sat+nearDays {
					t.Errorf("a visit on %s, before it is clear whether the last one was made", v.On)
				}
			}
			if stands != tt.stands {
				t.Errorf("it stands on its day: %v, want %v\n%s", stands, tt.stands, show(c, p))
			}
		})
	}
}

// TestOpeningsThatDoNotCountMakeNoVisit: taken back, or corrected to another
// day.
func TestOpeningsThatDoNotCountMakeNoVisit(t *testing.T) {
	sat := date("2027-05-15")
	for name, correction := range map[string]Opening{
		"void":        {ID: "c", Supersedes: "new", Void: true, On: sat},
		"another day": {ID: "c", Supersedes: "new", On: sat - 9, Joint: Light, Frames: NotTried},
	} {
		for _, corrected := range []bool{false, true} {
			c := stand(date("2026-05-01"), []Opening{opened("2026-09-01", Loose), {ID: "new", On: sat, Joint: Light, Frames: NotTried}})
			want := Done
			if corrected {
				box := &c.Apiaries[0].Hives[0].Boxes[0]
				box.Openings, want = append(box.Openings, correction), Unanswered
			}
			c.Visits = []Visit{{ID: 7, ApiaryID: 5, On: sat, Status: Confirmed, Boxes: []VisitBox{{BoxID: 1, Due: sat}}}}
			if past := PlanClub(c, sat+3).Past; len(past) != 1 || past[0].Status != want {
				t.Errorf("%s, corrected %t: %+v, want it %s", name, corrected, past, want)
			}
		}
	}
}

// TestAVisitInHandStays: whoever stands there and has opened one box is not
// told that the visit is off, though its other box need not be opened yet.
func TestAVisitInHandStays(t *testing.T) {
	sat := date("2027-05-15")
	for _, begun := range []bool{false, true} {
		c := stand(date("2026-05-01"), []Opening{opened("2026-09-01", Loose)}, []Opening{opened("2027-05-05", Loose)})
		if box := &c.Apiaries[0].Hives[0].Boxes[0]; begun {
			box.Openings = append(box.Openings, Opening{ID: "new", On: sat, Joint: Light, Frames: NotTried, Scraped: ScrapedAll})
		} else {
			box.Openings[0].On = sat - 3 // and nothing is left to do
		}
		c.Visits = []Visit{{ID: 7, ApiaryID: 5, On: sat, Status: Confirmed, Boxes: []VisitBox{{BoxID: 1, Due: sat}, {BoxID: 2, Due: sat}}}}
		p := PlanClub(c, sat)
		stays := len(p.Visits) > 0 && p.Visits[0].ID == 7 && p.Visits[0].On == sat
		if stays != begun {
			t.Errorf("begun %t: the plan is\n%s", begun, show(c, p))
		}
	}
}

// TestAVisitTheDayAfterStays has two visits on following days, the first of
// which nobody has written down yet.
func TestAVisitTheDayAfterStays(t *testing.T) {
	sat := date("2027-04-24")
	for _, pinned := range []bool{false, true} {
		old := []Opening{opened("2026-09-01", Loose)}
		c := stand(date("2026-05-01"), old, old)
		c.Visits = []Visit{
			{ID: 7, ApiaryID: 5, On: sat, Status: Confirmed, Boxes: []VisitBox{{BoxID: 1, Due: sat + 10}}},
			{ID: 8, ApiaryID: 5, On: sat + 1, Status: Confirmed, Pinned: pinned, Boxes: []VisitBox{{BoxID: 2, Due: sat + 10}}},
		}
		c.Rules.HoldHours = 3
		p := PlanClub(c, sat+1)
		if v := p.Visits[0]; v.ID != 8 || v.On != sat+1 || !v.Lists(2) {
			t.Errorf("pinned %v: the plan is\n%s", pinned, show(c, p))
		}
	}
}

// TestWhoseOpenings has two visits on following days, the first of boxes 1 and 2, the
// second of 3; box 4 is on neither.
func TestWhoseOpenings(t *testing.T) {
	sat := date("2027-05-15")
	type openedOn map[int64]Date
	for _, tt := range []struct {
		name   string
		second Date // the day of the second visit
		opened openedOn
		done   map[int64][]int64 // visits that are done, and their boxes
	}{
		{"only the boxes of the first", sat + 1, openedOn{1: sat, 2: sat}, map[int64][]int64{7: {1, 2}}},
		{"only the box of the second", sat + 1, openedOn{3: sat + 1}, map[int64][]int64{8: {3}}},
		{"that one a day early", sat + 1, openedOn{3: sat}, map[int64][]int64{8: {3}}},
		{"all on one day", sat + 1, openedOn{1: sat, 2: sat, 3: sat}, map[int64][]int64{7: {1, 2}, 8: {3}}},
		{"a box that no visit lists, beside the first's", sat + 1, openedOn{1: sat, 4: sat}, map[int64][]int64{7: {1, 2, 4}}},
		{"that box, beside the second's, on the first's day", sat + 1, openedOn{3: sat, 4: sat}, map[int64][]int64{8: {3, 4}}},
		{"that box alone, on the second's day", sat + 1, openedOn{4: sat + 1}, map[int64][]int64{8: {3, 4}}},
		{"that box alone, between the two", sat + 2, openedOn{4: sat + 1}, map[int64][]int64{7: {1, 2, 4}}},
		{"the day after, as the first's other box", sat + 2, openedOn{1: sat, 2: sat + 1}, map[int64][]int64{7: {1, 2}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			old := []Opening{opened("2026-09-01", Loose)}
			c := stand(date("2026-05-01"), old, old, old, old)
			for id, on := range tt.opened {
				box := &c.Apiaries[0].Hives[id-1].Boxes[0]
				box.Openings = append([]Opening{}, append(old, Opening{ID: "new", On: on, Joint: Light, Frames: NotTried})...)
			}
			c.Visits = []Visit{
				{ID: 7, ApiaryID: 5, On: sat, Status: Confirmed, Boxes: []VisitBox{{BoxID: 1, Due: sat}, {BoxID: 2, Due: sat}}},
				{ID: 8, ApiaryID: 5, On: tt.second, Status: Confirmed, Boxes: []VisitBox{{BoxID: 3, Due: sat}}},
			}
			got := map[int64][]int64{}
			for _, v := range PlanClub(c, sat+4).Past {
				if v.Status == Done {
					for _, b := range v.Boxes {
						got[v.ID] = append(got[v.ID], b.BoxID)
					}
				}
			}
			if !reflect.DeepEqual(got, tt.done) {
				t.Errorf("done %v, want %v", got, tt.done)
			}
		})
	}
}

// TestRecordingBoxByBox writes down the boxes of a visit one after the other, the
// last of them on the next morning; a plan is made and kept after each.
func TestRecordingBoxByBox(t *testing.T) {
	sat := date("2027-05-15")
	old := []Opening{opened("2026-09-01", Firm)}
	c := stand(date("2026-05-01"), old, old, old, old)
	c.Visits = []Visit{{ID: 7, UID: "u", ApiaryID: 5, On: sat, Status: Confirmed, Boxes: []VisitBox{
		{BoxID: 1, Due: sat}, {BoxID: 2, Due: sat}, {BoxID: 3, Due: sat},
	}}}
	for id, today := range []Date{sat, sat, sat, sat + 1} {
		box := &c.Apiaries[0].Hives[id].Boxes[0]
		box.Openings = append(slices.Clone(old), Opening{ID: "new", On: sat, Joint: Light, Frames: NotTried, Scraped: ScrapedAll})
		remember(c, PlanClub(c, today))
	}
	for _, v := range c.Visits {
		if v.ID != 7 {
			continue
		}
		var boxes []int64
		for _, b := range v.Boxes {
			boxes = append(boxes, b.BoxID)
		}
		if v.Status != Done || !slices.Equal(boxes, []int64{1, 2, 3, 4}) {
			t.Errorf("the visit is %s with boxes %v, want done with all four", v.Status, boxes)
		}
		return
	}
	t.Error("the visit is gone")
}

// TestADoneVisitTakesInWhatIsWrittenDownLater: its list says what was opened that day,
// and a plan made again without news leaves it alone.
func TestADoneVisitTakesInWhatIsWrittenDownLater(t *testing.T) {
	sat := date("2027-05-15")
	for _, later := range []bool{false, true} {
		found := []Opening{opened("2026-09-01", Loose), opened("2027-05-15", Light)}
		third := found
		if !later {
			third = found[:1]
		}
		c := stand(date("2026-05-01"), found, found, third)
		c.Visits = []Visit{{ID: 7, ApiaryID: 5, On: sat, Status: Done, Boxes: []VisitBox{{BoxID: 1, Due: sat}, {BoxID: 2, Due: sat}}}}
		past := PlanClub(c, sat+1).Past
		if !later {
			if len(past) != 0 {
				t.Errorf("nothing was written down later, and it changes: %+v", past)
			}
			continue
		}
		if len(past) != 1 || past[0].Status != Done || len(past[0].Boxes) != 3 || !past[0].Lists(3) {
			t.Errorf("the third box was written down later: %+v", past)
		}
	}
}
